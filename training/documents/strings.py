"""Words as the file of a document holds them."""

from functools import lru_cache


@lru_cache(maxsize=4096)  # page 12, page 13
def text_string(words: str) -> str:
    """A text string of the file: as letters where they are plain, else in hex."""
    if words.isascii() and words.isprintable() and not set(words) & set("()\\"):
        return f"({words})"
    return f"<FEFF{words.encode('utf-16-be').hex().upper()}>"
