"""What the models say is what the migrations make."""

from io import StringIO

import pytest
from django.core.management import call_command


@pytest.mark.django_db
def test_no_model_has_changed_without_its_migration() -> None:
    said = StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, verbosity=3, stdout=said)
    except SystemExit:
        pytest.fail(f"Run manage.py makemigrations. These operations are missing:\n{said.getvalue()}")
