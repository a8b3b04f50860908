"""Lets the bench's worker look after the bench. A worker may only do so above its own folder where its answer says it."""

WORKER = "register/bench_worker.js"


def worker_scope(headers: dict[str, str], path: str, url: str) -> None:
    """Called by whitenoise for each static file that it serves."""
    if url.endswith(WORKER):
        headers["Service-Worker-Allowed"] = "/"
