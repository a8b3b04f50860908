"""The stop rules of the library: the same few reasons on every unit, one tap each."""

from functools import cache
from pathlib import Path

from django.conf import settings
from ruamel.yaml import YAML

from clinic.rules.stops import StopRule, StopRules


@cache
def stop_rules() -> StopRules:
    """Read once. Raises OSError or KeyError where the library is not in its place: it belongs to the installation."""
    found = YAML(typ="safe").load(Path(settings.BASE_DIR) / "fixtures" / "library" / "stop_rules.yaml")
    rules = tuple(StopRule(rule["number"], rule["title"], rule["says"]) for rule in found["rules"])
    return StopRules(found["says"], tuple(found["acts"]), found["then"], rules)
