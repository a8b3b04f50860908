"""`manage.py serve`: the register on one computer, for everybody on its network."""

from argparse import ArgumentParser
from io import StringIO
from typing import Any

import segno
from django.conf import settings
from waitress import create_server

from clinic import background, backup_worker
from clinic.actions import checkpoints
from clinic.commands import ExampleCommand
from clinic.network import EVERYWHERE, own_names, refuse_taken_port
from clinic.rules.late import Late
from clinic.serving import LIMITS, BehindProxy, Connection
from clinic.start import refuse_wrong_clock, shut
from clinic.statics import collect
from training.binder_worker import in_the_background

wsgi = Late("clinic.wsgi")  # made after what it serves is collected

EXAMPLE = """example:
  manage.py serve --host 0.0.0.0 --port 8000

exit codes: 0 stopped by the user · 1 the port is taken, the clock is wrong, or the arguments are wrong"""


class Command(ExampleCommand):
    help = "Serve the register (waitress, no further parts needed)."
    example = EXAMPLE

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="127.0.0.1: this computer only; 0.0.0.0: the network")
        parser.add_argument("--port", type=int, default=8000, help="0: any free one")
        parser.add_argument("--threads", type=int, default=6)
        parser.add_argument(
            "--proxy",
            default="127.0.0.1",
            help="address of the proxy in front, believed where MILLROOM_BEHIND_PROXY is yes",
        )
        parser.add_argument(
            "--no-worker",
            action="store_true",
            help="leave binders to “manage.py worker”, checkpoints to “manage.py seals send”, copies to “manage.py backup”",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        refuse_wrong_clock()
        refuse_taken_port(options["host"], options["port"])
        shut(settings.VAR_DIR)
        collect()
        server = create_server(
            wsgi.application,
            host=options["host"],
            port=options["port"],
            threads=options["threads"],
            **LIMITS,
            **trusted(options["proxy"]),
        )
        server.channel_class = BehindProxy if settings.BEHIND_PROXY else Connection
        self.say_where(options["host"], server.effective_port)
        if not options["no_worker"]:
            in_the_background()
            background.every(checkpoints.PAUSE, checkpoints.give_out_what_is_due, "checkpoints")
            background.every(backup_worker.PAUSE, backup_worker.look, "copies")
        try:
            server.run()
        except KeyboardInterrupt:
            self.stdout.write("Stopped.")

    def say_where(self, host: str, port: int) -> None:
        """The addresses that can really be typed, and a square of the first for the camera of a tablet."""
        names = own_names(host) or ["127.0.0.1"]
        # whoever asks for this computer by its own name was not led here by somebody else's
        settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, *names]
        for name in names:
            self.stdout.write(f"\nOpen http://{name}:{port}/" + ("  (Ctrl-C stops it)" if name == names[0] else ""))
        if host in EVERYWHERE and self.stdout.isatty():
            square = StringIO()
            segno.make(f"http://{names[0]}:{port}/").terminal(square, compact=True)
            self.stdout.write(square.getvalue())
        self.stdout.flush()


def trusted(proxy: str) -> dict[str, Any]:
    """What the server believes of how a visitor came: the word of the proxy, and of nobody else."""
    if not settings.BEHIND_PROXY:
        return {}
    return {"trusted_proxy": proxy, "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"}}
