"""The threads of `serve` that look whether something is due."""

import logging
from threading import Event

import pytest

from clinic import background


def test_a_look_that_fails_is_said_and_does_not_end_the_thread(caplog: pytest.LogCaptureFixture) -> None:
    looks, twice = [], Event()

    def look() -> None:
        looks.append(len(looks))
        if len(looks) == 1:
            raise OSError("The disk is full.")
        twice.set()

    with caplog.at_level(logging.ERROR):
        stop = background.every(0.01, look, "made up")
        assert twice.wait(20)
        stop.set()
    assert "A look of the thread made up failed" in caplog.text


def test_a_thread_that_is_stopped_looks_no_more() -> None:
    seen, stopped = [], Event()
    stopped.set()
    background.go_on(0.01, lambda: seen.append(1), "made up", stopped)
    assert seen == []


def test_a_look_that_is_done_ends_the_thread() -> None:
    seen = []

    def look() -> object:
        seen.append(1)
        return background.DONE

    assert background.every(0.01, look, "made up").wait(20)
    assert seen == [1]
