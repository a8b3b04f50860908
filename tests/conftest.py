"""The test house's doors: one command for two databases, and the fixtures every room may use."""

import gc

import pytest

from tests import databases


def pytest_addoption(parser: pytest.Parser) -> None:
    databases.add_options(parser)


def pytest_configure(config: pytest.Config) -> None:
    gc.set_threshold(100_000, 50, 100)  # as manage.py does
    databases.configure(config)
    config.addinivalue_line("markers", "browser: drives the real server with Chromium")
    if config.pluginmanager.hasplugin("django"):  # rules alone run without it: -p no:django
        config.pluginmanager.import_plugin("tests.fixtures")
        config.pluginmanager.import_plugin("tests.scenes")


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end of the run: nobody needs to look through it for garbage."""
    gc.collect()
    gc.freeze()
