"""The test house's doors: one command for two databases, and the fixtures every room may use."""

import pytest

from tests import databases


def pytest_addoption(parser: pytest.Parser) -> None:
    databases.add_options(parser)


def pytest_configure(config: pytest.Config) -> None:
    databases.configure(config)
    config.addinivalue_line("markers", "browser: drives the real server with Chromium")
    if config.pluginmanager.hasplugin("django"):  # rules alone run without it: -p no:django
        config.pluginmanager.import_plugin("tests.fixtures")
        config.pluginmanager.import_plugin("tests.scenes")
