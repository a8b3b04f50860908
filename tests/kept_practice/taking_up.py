"""The kept practice in empty tables, to be played on up to a day."""

from datetime import date

from django.conf import settings

from training.demo.kept import Kept
from training.demo.scenario import read_scenario
from training.demo.setting_up import Cast
from training.rules.library import read_library


def kept() -> Kept:
    return Kept.read(settings.DEMO_DIR, settings.LIBRARY_DIR)


def taken_up(last: date) -> Cast:
    scenario = read_scenario(settings.DEMO_DIR / "practice.yaml", last)
    return kept().take_up(scenario, read_library(settings.LIBRARY_DIR))[0]
