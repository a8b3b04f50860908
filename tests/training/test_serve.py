"""Behind a proxy the register believes the proxy, and nobody else, about where a visitor is and whether they came by HTTPS."""

import threading
import urllib.request
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from waitress import create_server

from training.management.commands.serve import trusted

FORWARDED = {"X-Forwarded-For": "203.0.113.9", "X-Forwarded-Proto": "https"}


def says_who_came(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    start("200 OK", [])
    return [f"{environ['REMOTE_ADDR']} {environ['wsgi.url_scheme']}".encode()]


@contextmanager
def served(**believed: Any) -> Iterator[str]:
    server = create_server(says_who_came, host="127.0.0.1", port=0, **believed)
    threading.Thread(target=server.run, daemon=True).start()
    yield f"http://127.0.0.1:{server.effective_port}/"
    server.close()


@pytest.mark.parametrize(
    ("behind", "proxy", "came"),
    [
        (True, "127.0.0.1", "203.0.113.9 https"),
        (True, "192.0.2.1", "127.0.0.1 http"),
        (False, "127.0.0.1", "127.0.0.1 http"),
    ],
)
def test_only_the_proxy_says_where_a_visitor_is(settings: Any, behind: bool, proxy: str, came: str) -> None:
    settings.BEHIND_PROXY = behind
    with served(**trusted(proxy)) as url:
        asked = urllib.request.Request(url, headers=FORWARDED)
        with urllib.request.urlopen(asked) as answer:
            assert answer.read().decode() == came
