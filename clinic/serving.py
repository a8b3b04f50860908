"""What the server lets a connection take, so that slow ones, or many from one place, do not starve the others.

Connections wait in one loop and cost a thread only once the whole request has arrived. So what has to be limited is how
many are open, how many of them from one address, how long one may be silent, and how long a request may take to arrive.
"""

from time import monotonic
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel

from clinic.photos import MOST_BYTES

OPEN = 500  # connections at a time: a practice of fifty devices opens at most six from each
SHARE = 100  # of them from one address
ARRIVES_WITHIN = 120  # seconds for a whole request: a photo of 12 MB over 1 Mbit/s
LIMITS: dict[str, Any] = {
    "connection_limit": OPEN,
    "asyncore_use_poll": True,  # the other way of waiting ends at 1,024 open files
    "channel_timeout": 30,  # seconds of silence
    "cleanup_interval": 5,
    "max_request_header_size": 65_536,
    "max_request_body_size": MOST_BYTES + 4_000_000,
}


class Connection(HTTPChannel):  # type: ignore[misc]
    """Closed where its address holds its share already, or where a request drips in for too long."""

    share: int | None = SHARE
    arrives_within: float = ARRIVES_WITHIN
    began: float | None = None

    def __init__(self, server: Any, sock: Any, addr: Any, adj: Adjustments, map: Any = None) -> None:
        super().__init__(server, sock, addr, adj, map=map)
        same = sum(each.addr[0] == addr[0] for each in server.active_channels.values())
        self.will_close = self.share is not None and same > self.share

    def received(self, data: bytes) -> bool:
        took = bool(super().received(data))
        if self.request is None:
            self.began = None
        elif self.began is None:
            self.began = monotonic()
        return took

    def readable(self) -> bool:
        """Asked of each connection once a second at least."""
        if self.began is not None and monotonic() - self.began > self.arrives_within:
            self.will_close = True
        return bool(super().readable())


class BehindProxy(Connection):
    """Every connection comes from the proxy, which shares out what it lets in."""

    share = None
