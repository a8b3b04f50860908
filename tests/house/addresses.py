"""Every address of the register, read from the URL resolver, with arguments found for each by the names of its parts."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import Model
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.urls.converters import IntConverter, UUIDConverter

from clinic.models import Person, Site

# Columns that stand in an address where a row is not named by its key, in the order they are tried.
SHORT_NAMES = ("code", "number", "sign_in_name", "name")


@dataclass(frozen=True, slots=True)
class Address:
    """One address: its name for `reverse`, the parts it is made of, and who its door opens for (None: no door)."""

    name: str
    parts: dict[str, Any]
    view: Callable[..., Any]

    @property
    def any_of(self) -> frozenset[Any] | None:
        return getattr(self.view, "any_of", None)

    @property
    def at_site(self) -> bool:
        return "site" in self.parts


class NoArgument(LookupError):
    """There is no row to stand in an address. Add one of that kind to the practice that the walk goes through."""


def addresses(
    patterns: Iterable[Any] | None = None, spaces: tuple[str, ...] = (), parts: Any = None
) -> Iterator[Address]:
    """Every named address below these patterns, nested ones too."""
    for each in get_resolver().url_patterns if patterns is None else patterns:
        inner = (parts or {}) | each.pattern.converters
        if isinstance(each, URLResolver):
            yield from addresses(each.url_patterns, (*spaces, each.namespace) if each.namespace else spaces, inner)
        elif isinstance(each, URLPattern):
            yield Address(":".join((*spaces, each.name or f"without a name: {each.pattern}")), inner, each.callback)


def link(address: Address, site: Site, person: Person) -> str:
    """The address with a row of the site for each of its parts; pages about a person are opened on `person`."""
    return reverse(
        address.name,
        kwargs={part: argument(part, made, site, person, address.name) for part, made in address.parts.items()},
    )


def argument(part: str, converter: Any, site: Site, person: Person, address: str) -> Any:
    if part == "site":
        return site.code
    if part in ("day", "on", "first", "last"):
        return site.register_start.isoformat() if not hasattr(converter, "to_url") else site.register_start
    row = person if part == "person" else row_named(part, site, person, address)
    if isinstance(converter, IntConverter | UUIDConverter):
        return row.pk
    return next((getattr(row, name) for name in SHORT_NAMES if hasattr(row, name)), row.pk)


# Parts that are not named after their model, and rows that must fit the others of their address.
ALIASES = {"code": "procedure", "fact": "observation"}
FITTING: dict[str, dict[str, Any]] = {
    "procedure": {"code": "P03"},
    "upkeep_task": {"code": "U01"},
    "equipment": {"kind": "milling unit"},
    "knowledge_result": {"version__procedure__code": "P03"},
}
BY_ADDRESS: dict[str, dict[str, dict[str, Any]]] = {
    "clinic:load": {"equipment": {"kind": "steriliser"}},
    "training:certificate": {"issue": {"document": "certificate"}},
    "training:binder": {"issue": {"document": "binder"}},
    "training:binder_pass": {"issue": {"document": "binder"}},
    "training:binder_pack": {"issue": {"document": "binder"}},
    "training:binder_pdf": {"issue": {"document": "binder"}},
}


def model_named(part: str) -> type[Model] | None:
    wanted = ALIASES.get(part, part).removesuffix("_id").removesuffix("_pk").replace("_", "")
    return next((each for each in apps.get_models() if each._meta.model_name == wanted), None)


def row_named(part: str, site: Site, person: Person, address: str) -> Model:
    """A row of the model that the part is named after: the person's own where rows name people, else one of the site."""
    model = model_named(part)
    if model is None:
        raise NoArgument(f"An address has a part <{part}>, and no model is called so. Name it after its model.")
    fitting = BY_ADDRESS.get(address, {}).get(part) or FITTING.get(ALIASES.get(part, part), {})
    rows = model._default_manager.filter(**fitting).order_by("pk")
    columns = {field.name for field in model._meta.get_fields()}
    for narrower in ({"person": person, "site": site}, {"person": person}, {"site": site}, {}):
        if set(narrower) <= columns and (row := rows.filter(**narrower).first()):
            return row
    raise NoArgument(f"No {model._meta.verbose_name} stands in the practice, and an address with <{part}> needs one.")


def row_of_other_site(address: Address, here: Site, there: Site, person: Person) -> str | None:
    """The address at `here` with a row that belongs to `there`; None where no part names a row of that site."""
    found: dict[str, Any] = {"site": here.code}
    theirs = False
    for part, made in address.parts.items():
        if part != "site":
            row = person if part == "person" else (model_named(part) and row_named(part, there, person, address.name))
            theirs = theirs or row is person or getattr(row, "site_id", None) == there.pk
            found[part] = argument(part, made, there, person, address.name)
    return reverse(address.name, kwargs=found) if theirs else None
