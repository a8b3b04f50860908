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
        address.name, kwargs={part: argument(part, made, site, person) for part, made in address.parts.items()}
    )


def argument(part: str, converter: Any, site: Site, person: Person) -> Any:
    if part == "site":
        return site.code
    if part in ("day", "on", "first", "last"):
        return site.register_start.isoformat() if not hasattr(converter, "to_url") else site.register_start
    row = person if part == "person" else row_named(part, site, person)
    if isinstance(converter, IntConverter | UUIDConverter):
        return row.pk
    return next((getattr(row, name) for name in SHORT_NAMES if hasattr(row, name)), row.pk)


def row_named(part: str, site: Site, person: Person) -> Model:
    """A row of the model that the part is named after: the person's own where rows name people, else one of the site."""
    wanted = part.removesuffix("_id").removesuffix("_pk").replace("_", "")
    model = next((each for each in apps.get_models() if each._meta.model_name == wanted), None)
    if model is None:
        raise NoArgument(f"An address has a part <{part}>, and no model is called so. Name it after its model.")
    rows = model._default_manager.order_by("pk")
    columns = {field.name for field in model._meta.get_fields()}
    for narrower in ({"person": person, "site": site}, {"person": person}, {"site": site}, {}):
        if set(narrower) <= columns and (row := rows.filter(**narrower).first()):
            return row
    raise NoArgument(f"No {model._meta.verbose_name} stands in the practice, and an address with <{part}> needs one.")


def row_of_other_site(address: Address, here: Site, there: Site, person: Person) -> str | None:
    """The address at `here` with a row that belongs to `there`; None where no part names a row with a site of its own."""
    found = {"site": here.code}
    theirs = False
    for part, made in address.parts.items():
        if part == "site":
            continue
        if part in ("day", "on", "first", "last"):
            found[part] = argument(part, made, here, person)
            continue
        row = person if part == "person" else other_row(part, there)
        if row is None:
            return None
        theirs = theirs or part == "person" or hasattr(row, "site_id")
        found[part] = row.pk if isinstance(made, IntConverter | UUIDConverter) else argument(part, made, there, person)
    return reverse(address.name, kwargs=found) if theirs else None


def other_row(part: str, there: Site) -> Model | None:
    """A row of the model at the other site, or any row where the model has no site."""
    wanted = part.removesuffix("_id").removesuffix("_pk").replace("_", "")
    model = next((each for each in apps.get_models() if each._meta.model_name == wanted), None)
    if model is None:
        return None
    rows = model._default_manager.order_by("pk")
    has_site = "site" in {field.name for field in model._meta.get_fields()}
    return rows.filter(site=there).first() if has_site else rows.first()
