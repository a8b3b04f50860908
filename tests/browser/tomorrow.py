"""Serves an existing register as if it were tomorrow: `python -m tests.browser.tomorrow`. Prints its address.

Only tests can do this: the product itself has no way to turn its clock.
"""

import os
from datetime import UTC, datetime, timedelta

import django
import time_machine
from django.core.management import call_command

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    django.setup()
    with time_machine.travel(datetime.now(UTC) + timedelta(days=1), tick=True):
        call_command("serve", port=0)
