"""A misspelt template variable fails the test that draws the page.

Django draws `string_if_invalid` where a variable does not resolve. This one raises as soon as it is drawn, and is false
when it is only asked about, so that `{% if maybe %}` keeps its meaning.
"""


class MisspeltVariable(AssertionError):
    """A template draws a variable that its page does not give it."""


class Misspelt(str):
    """Takes the place of the unresolved variable. Django formats it with `%` and the variable's name."""

    __slots__ = ()

    def __mod__(self, variable: object) -> str:
        raise MisspeltVariable(f"A template draws {{{{ {variable} }}}}, which its page does not give it.")

    def __str__(self) -> str:
        raise MisspeltVariable("A template draws the answer of a method that needs arguments.")

    def __contains__(self, part: object) -> bool:
        return part == "%s"


MARKER = Misspelt("misspelt: %s")
