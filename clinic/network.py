"""Where the served register is reached: whether its port is free, and this computer's own names and addresses."""

import errno
import socket
from contextlib import suppress
from ipaddress import ip_address

from django.conf import settings
from django.core.management.base import CommandError
from django.http import HttpRequest
from django.http.request import split_domain_port

EVERYWHERE = ("0.0.0.0", "::", "")
LAST_PORT = 65535
# RFC 5737: an address for examples. Nothing is sent: asked is only by which of its own this computer would reach it.
SOMEWHERE_ELSE = ("192.0.2.1", 9)


def refuse_taken_port(host: str, port: int) -> None:
    """CommandError where something else answers at the port, with the next one that is free, or where this computer cannot
    serve there at all. 0 is any free one."""
    try:
        taken = bool(port) and not is_free(host, port)
    except OSError as wrong:
        raise CommandError(f"This computer cannot serve at {host}, port {port}: {wrong.strerror}.") from wrong
    if taken:
        free = next((each for each in range(port + 1, min(port + 100, LAST_PORT) + 1) if is_free(host, each)), None)
        offer = f" {free} is free: start with --port {free}." if free else " Choose another with --port."
        raise CommandError(f"Port {port} of {host} is taken, perhaps by a register that runs already.{offer}")


def is_free(host: str, port: int) -> bool:
    """OSError where this computer has no such address, or does not let this user have the port."""
    family, kind, _, _, where = socket.getaddrinfo(
        host or None, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
    )[0]
    with socket.socket(family, kind) as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # as the server does: one that just stopped is gone
        try:
            tried.bind(where)
        except OSError as wrong:
            if wrong.errno == errno.EADDRINUSE:
                return False
            raise
    return True


def own_names(host: str) -> list[str]:
    """By what tablets and phones reach this computer where it serves on `host`: its address on the network first, then its
    name. Only itself, where it serves nobody else."""
    if host not in EVERYWHERE:
        return [host]
    found = [address for address in own_addresses() if not ip_address(address).is_loopback]
    name = socket.gethostname()
    return [*found, *([name] if name and name != "localhost" else [])]


def own_addresses() -> list[str]:
    """This computer's addresses (IPv4), the one that leads to other networks first; empty without a network."""
    found: list[str] = []
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asks:
        asks.connect(SOMEWHERE_ELSE)
        found.append(asks.getsockname()[0])
    with suppress(OSError):
        rows = socket.getaddrinfo(socket.gethostname(), None, family=socket.AF_INET, type=socket.SOCK_STREAM)
        found += [str(row[4][0]) for row in rows]
    return list(dict.fromkeys(found))


HERE_ONLY = (
    "This address opens on this computer only, and by which one others reach it cannot be known. Start the register with "
    "serve --host 0.0.0.0, or set MILLROOM_HOSTS to the name that they use; then open this page by that address."
)


def for_others(request: HttpRequest, path: str) -> tuple[str, str]:
    """The address of a page as tablets and phones reach it, and what to do where that cannot be known; empty where it can.
    Whoever asks from this computer itself is given the first other name that the register answers to."""
    name, port = split_domain_port(request.get_host())
    if not is_this_computer(name):
        return request.build_absolute_uri(path), ""
    others = [each for each in settings.ALLOWED_HOSTS if each[:1] not in "*." and not is_this_computer(each)]
    if not others:
        return request.build_absolute_uri(path), HERE_ONLY
    at = others[0] if settings.BEHIND_PROXY or not port else f"{others[0]}:{port}"
    return f"{request.scheme}://{at}{path}", ""


def is_this_computer(name: str) -> bool:
    """Whether only the computer itself gets anywhere by the name."""
    with suppress(ValueError):
        return ip_address(name.strip("[]")).is_loopback
    return name == "localhost"
