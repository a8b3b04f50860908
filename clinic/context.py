"""What every page shows: who asks, where, and which of the six pages is open."""

from typing import Any

from django.http import HttpRequest


def who_asks(request: HttpRequest) -> dict[str, Any]:
    allowed, site = getattr(request, "allowed", None), getattr(request, "site", None)
    if allowed is None:
        return {"me": None, "site": None, "sites": [], "may": set(), "today": None, "section": ""}
    return {
        "me": allowed.person,
        "site": site or next(iter(allowed.sites), None),
        "sites": allowed.sites,
        "may": allowed.words(site) if site else set(),
        "today": getattr(request, "today", None),
        "section": section_of(request),
    }


def section_of(request: HttpRequest) -> str:
    """The page of the rail that the address belongs to: its first word after the site."""
    words = request.path.strip("/").split("/")
    return words[1] if len(words) > 1 else ""
