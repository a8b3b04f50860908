"""Lets the bench's worker look after the bench. A worker may only do so above its own folder where its answer says it."""

import re

WORKER = re.compile(r"register/bench_worker(\.[0-9a-f]{12})?\.js$")


def worker_scope(headers: dict[str, str], path: str, url: str) -> None:
    """Called by whitenoise for each static file that it serves."""
    if WORKER.search(url):
        headers["Service-Worker-Allowed"] = "/"
