"""The stop rules of the library: the same few reasons on every unit, one tap each."""

from functools import cache
from pathlib import Path

from django.conf import settings

from clinic.rules.stops import StopRule, StopRules
from clinic.rules.yaml_text import read_yaml


@cache
def stop_rules() -> StopRules:
    """Read once. Raises OSError or KeyError where the library is not in its place: it belongs to the installation."""
    place = Path(settings.BASE_DIR) / "fixtures" / "library" / "stop_rules.yaml"
    found = read_yaml(place.read_text(encoding="utf-8"))
    rules = tuple(StopRule(rule["number"], rule["title"], rule["says"]) for rule in found["rules"])
    return StopRules(found["says"], tuple(found["acts"]), found["then"], rules)
