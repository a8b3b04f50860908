"""What a page must have, whoever made it."""

import re


def faults(html: str) -> list[str]:
    """What a page lacks of one h1 with words and a title with words. A part drawn alone (htmx) is no page."""
    if "<html" not in html:
        return []
    headings = re.findall(r"<h1\b[^>]*>(.*?)</h1>", html, re.S)
    title = re.search(r"<title>\s*\S.*?</title>", html, re.S)
    words = [heading for heading in headings if re.sub(r"<[^>]+>|\s", "", heading)]
    return [f"{len(words)} h1 with words"] * (len(words) != 1) + ["no title"] * (title is None)
