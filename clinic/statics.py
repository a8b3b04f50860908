"""Styles, scripts and pictures under names that hold their digest, so that a browser keeps each for good and asks for none
again. `collect` makes them when a server starts; where nobody collected, as in a test, they go by their plain names.
"""

from django.core.management import call_command
from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedWhereCollected(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    manifest_strict = False

    def stored_name(self, name: str) -> str:
        found: str = super().stored_name(name) if self.hashed_files else name
        return found


def collect() -> None:
    """Before the application is made: it looks once, at its start, at what there is. Older files stay for open pages."""
    call_command("collectstatic", interactive=False, verbosity=0)
