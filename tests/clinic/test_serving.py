"""Slow connections, and many from one place, do not keep the others waiting. On loopback, against the server itself."""

import socket
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from time import monotonic, sleep
from typing import Any

import pytest
from waitress import create_server

from clinic.photos import MOST_BYTES
from clinic.serving import LIMITS, OPEN, SHARE, BehindProxy, Connection

SLOW = 150
WHOLE = b"GET / HTTP/1.1\r\nHost: here\r\nConnection: close\r\n\r\n"
HALF = b"GET / HTTP/1.1\r\nHost: he"
OTHER = "127.0.0.2"  # somebody else on the same loopback
pytestmark = pytest.mark.one_database


def answers(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    start("200 OK", [("Content-Length", "2")])
    return [b"ok"]


@contextmanager
def served(kind: type[Connection] = Connection, **more: Any) -> Iterator[int]:
    server = create_server(answers, host="127.0.0.1", port=0, **(LIMITS | more))
    server.channel_class = kind
    threading.Thread(target=server.run, daemon=True).start()
    yield int(server.effective_port)
    server.close()


@contextmanager
def connected(port: int, start: str = "127.0.0.1") -> Iterator[socket.socket]:
    with socket.create_connection(("127.0.0.1", port), timeout=20, source_address=(start, 0)) as line:
        yield line


def answer(port: int, sent: bytes = WHOLE, start: str = OTHER) -> bytes:
    with connected(port, start) as line:
        line.sendall(sent)
        return line.recv(4096)


def is_closed(line: socket.socket) -> bool:
    try:
        return line.recv(1) == b""
    except ConnectionResetError:
        return True


def until(line: socket.socket, last: bytes) -> bool:
    """Whether an answer comes, in however many pieces, that ends so. The line gives up after twenty seconds."""
    got = b""
    while not got.endswith(last):
        piece = line.recv(4096)
        if not piece:
            return False
        got += piece
    return True


def opened(stack: ExitStack, port: int, many: int, sent: bytes = HALF) -> list[socket.socket]:
    lines = [stack.enter_context(connected(port)) for _ in range(many)]
    for line in lines:
        line.sendall(sent)
    return lines


def comes_soon(ask: Callable[[], bytes]) -> Iterator[bool]:
    """Whether it answers, asked anew until it does: a closed line is noticed when the server comes by."""
    for _ in range(50):
        with suppress(ConnectionResetError):  # refused once more
            yield ask().startswith(b"HTTP/1.1 200 OK")
        sleep(0.1)


@pytest.mark.parametrize("kind", [Connection, BehindProxy])
def test_a_hundred_and_fifty_slow_connections_keep_nobody_waiting(kind: type[Connection]) -> None:
    """A server that lets in a hundred at a time answered nobody else while they were there."""
    with served(kind) as port, ExitStack() as stack:
        opened(stack, port, SLOW, b"")
        begun = monotonic()
        assert [answer(port)[:15] for _ in range(5)] == [b"HTTP/1.1 200 OK"] * 5
        assert monotonic() - begun < 25  # less than the silence after which a connection is closed


def test_a_hundred_and_fifty_requests_that_never_end_keep_nobody_waiting() -> None:
    with served(BehindProxy) as port, ExitStack() as stack:
        opened(stack, port, SLOW)
        assert answer(port).startswith(b"HTTP/1.1 200 OK")


def test_one_address_has_its_share_and_others_have_the_rest() -> None:
    class Few(Connection):
        share = 5

    with served(Few) as port, ExitStack() as stack:
        first = opened(stack, port, 5)
        assert is_closed(opened(stack, port, 1, b"")[0])
        assert answer(port).startswith(b"HTTP/1.1 200 OK")
        first.pop().close()
        assert any(comes_soon(lambda: answer(port, start="127.0.0.1")))


def test_a_silent_connection_is_closed() -> None:
    with served(channel_timeout=1, cleanup_interval=1) as port, connected(port) as line:
        assert is_closed(line)


def test_a_request_that_drips_is_closed_although_it_is_never_silent() -> None:
    class Hurried(Connection):
        arrives_within = 1.0

    with served(Hurried) as port, connected(port) as line, pytest.raises(OSError):
        for _ in range(50):
            line.sendall(b"G")
            sleep(0.1)


def test_a_request_in_time_may_be_followed_by_another_later() -> None:
    class Hurried(Connection):
        arrives_within = 1.0

    both = WHOLE.replace(b"close", b"keep-alive")
    with served(Hurried) as port, connected(port) as line:
        for _ in range(3):
            line.sendall(both)
            assert until(line, b"ok")
            sleep(0.6)


def test_what_no_form_sends_is_refused_by_its_length_alone() -> None:
    too_long = f"POST / HTTP/1.1\r\nHost: here\r\nContent-Length: {MOST_BYTES + 4_000_000}\r\n\r\n".encode()
    with served() as port:
        assert answer(port, too_long).startswith(b"HTTP/1.1 413")
        assert answer(port, b"GET / HTTP/1.1\r\nX: " + b"x" * 70_000).startswith(b"HTTP/1.0 431")


def test_the_limits_leave_room_for_others() -> None:
    assert SHARE * 3 < OPEN < 1000 and LIMITS["max_request_body_size"] > MOST_BYTES
