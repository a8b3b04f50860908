"""What a page must have, whoever made it."""

import re
from html.parser import HTMLParser

NOT_TYPED = {"hidden", "submit", "button", "password", "file"}
SIGNED_IN = "data-locks-in"  # the bar that says when the tablet locks


def faults(html: str) -> list[str]:
    """What a page lacks of one h1 with words and a title with words, and forms that would lose what is typed. A part drawn
    alone is no page."""
    if "<html" not in html:
        return []
    headings = re.findall(r"<h1\b[^>]*>(.*?)</h1>", html, re.S)
    title = re.search(r"<title>\s*\S.*?</title>", html, re.S)
    words = [heading for heading in headings if re.sub(r"<[^>]+>|\s", "", heading)]
    found = [f"{len(words)} h1 with words"] * (len(words) != 1) + ["no title"] * (title is None)
    return found + ["a form that is typed into and not kept"] * (is_typed_into(html) and not is_kept(html))


def is_kept(html: str) -> bool:
    """Whether the tablet keeps what is typed here (kept_form.js); nothing is kept for a stranger."""
    return SIGNED_IN not in html or all(part in html for part in ('id="entry"', 'id="kept-notice"', "kept_form"))


def is_typed_into(html: str) -> bool:
    forms = Forms()
    forms.feed(html)
    return any(form["typed"] and not form["unkept"] for form in forms.found)


class Forms(HTMLParser):
    """Each form that is sent: whether somebody types or ticks in it, and whether it says that it is not to be kept."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[dict[str, bool]] = []
        self.here: dict[str, bool] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        if tag == "form" and (known.get("method") or "").lower() == "post":
            self.here = {"typed": False, "unkept": "data-unkept" in known or "target" in known}
            self.found.append(self.here)
        elif self.here and tag in ("textarea", "select", "input") and known.get("name"):
            self.here["typed"] |= (known.get("type") or "text") not in NOT_TYPED

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.here = None
