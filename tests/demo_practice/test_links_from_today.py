"""What Today offers opens with everything chosen that it names."""

import re
from html import unescape
from typing import Any

from tests.demo import Demo

OBSERVE = re.compile(r'href="(/high-street/observe/[^"]*\?person=[^"]+)"')


def test_whom_to_watch_opens_with_the_person_and_the_procedure_chosen(demo: Demo, signed_in: Any) -> None:
    client = signed_in(demo.supervisor)
    links = [unescape(found) for found in OBSERVE.findall(client.get("/high-street/today/").content.decode())]
    assert links
    for link in links:
        chosen = client.get(link).context["form"].initial
        assert chosen["person"] and len(chosen["procedures"]) == 1, link
