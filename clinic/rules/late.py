"""A library that is loaded when it is first asked, for what few pages ask and every start would pay."""

from importlib import import_module
from typing import Any


class Late:
    """Stands for the module of this dotted name, which a contract of imports cannot see: name it at the top of a module."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, attribute: str) -> Any:
        return getattr(import_module(self._name), attribute)
