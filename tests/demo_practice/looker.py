"""What somebody of the demo practice sees at an address. Each is asked for once in a run and looked at by many tests: all
stand on one day, and what a test adds is taken back after it."""

from dataclasses import dataclass
from typing import Any

from django.test import Client


@dataclass(frozen=True, slots=True)
class Seen:
    """An answer to a question that changed nothing."""

    status_code: int
    kind: str  # of its content, as its header says it
    content: bytes

    @property
    def is_page(self) -> bool:
        return self.status_code == 200 and self.kind.startswith("text/html")

    @property
    def is_paper(self) -> bool:
        return self.status_code == 200 and self.kind.startswith("application/pdf")

    @property
    def text(self) -> str:
        return self.content.decode()


class Looker:
    """Somebody’s client that only looks. `seen`: what they saw in this run."""

    def __init__(self, client: Client, seen: dict[str, Seen]) -> None:
        self.client, self.seen = client, seen

    def get(self, url: str) -> Seen:
        if url not in self.seen:
            answer: Any = self.client.get(url)
            content = b"".join(answer.streaming_content) if answer.streaming else answer.content
            self.seen[url] = Seen(answer.status_code, answer.headers.get("Content-Type", ""), content)
        return self.seen[url]
