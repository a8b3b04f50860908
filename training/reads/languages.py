"""Languages by name."""

from django.utils.translation import get_language_info


def language_words(code: str) -> str:
    """The language's English name; what stands there where it is no code that has one."""
    try:
        return get_language_info(code)["name"] if code else ""
    except KeyError:
        return code
