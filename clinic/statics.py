"""Styles, scripts and pictures under names that hold their digest, so that a browser keeps each for good and asks for none
again. `serve` collects them when it starts. Any other process goes by the plain names: what an older version collected is
never taken for today's.
"""

from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.urls import get_script_prefix
from whitenoise.storage import CompressedManifestStaticFilesStorage

COLLECTED: set[str] = set()
"""Folders into which this process collected."""


class HashedWhereCollected(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    manifest_strict = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.urls: dict[tuple[Any, ...], str] = {}

    def url(self, name: str, force: bool = False) -> str:
        """Put together once: a page names the same drawing for each of its rows."""
        collected = str(settings.STATIC_ROOT) in COLLECTED
        known = (name, force, get_script_prefix(), settings.DEBUG, collected)
        if known not in self.urls:
            self.urls[known] = super().url(name, force)
        return self.urls[known]

    def stored_name(self, name: str) -> str:
        """The plain name where there is no other: it is found all the same, and kept for a minute only."""
        known = str(settings.STATIC_ROOT) in COLLECTED and self.hash_key(self.clean_name(name)) in self.hashed_files
        found: str = super().stored_name(name) if known else name
        return found


def collect() -> None:
    """Before the application is made: it looks once, at its start, at what there is. Older files stay for open pages."""
    call_command("collectstatic", interactive=False, verbosity=0)
    COLLECTED.add(str(settings.STATIC_ROOT))
