"""Sentences of a random practice, each beside the rows it is made of, to be read by eye.

Run: python -m tests.scale.random_practice --seed 7 [--sentences 40] [--days 150]

The practice is played through the actions and rolled back. Printed are, at random, sentences with a number beside every row that
is counted, and sentences of a person in a procedure on a day beside the facts that were recorded by then.
"""

import argparse
import os
import tempfile
from collections.abc import Iterator
from random import Random

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
os.environ.setdefault("MILLROOM_VAR", tempfile.mkdtemp(prefix="millroom-scale-"))

import django

django.setup()

from django.core.management import call_command  # noqa: E402 - models load only after the set-up
from django.db import transaction  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import setup_test_environment  # noqa: E402

from clinic import clock  # noqa: E402
from clinic.models import Site  # noqa: E402
from tests.cast import REGISTER_START, enter_practice  # noqa: E402
from tests.house import same_words as said  # noqa: E402
from tests.house.addresses import NoArgument, addresses, link  # noqa: E402
from tests.house.counts import Node, parsed  # noqa: E402
from tests.random_practice import Played, client_of, noon_of, play  # noqa: E402
from training.reads.person_facts import facts_of  # noqa: E402

SHOWN = 12  # rows printed at most


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sentences", type=int, default=40)
    parser.add_argument("--days", type=int, default=150)
    asked = parser.parse_args()
    setup_test_environment()
    call_command("migrate", verbosity=0)
    with transaction.atomic():
        game = play(enter_practice(), asked.seed, asked.days)
        print(f"seed {asked.seed}: {dict(sorted(game.acts.items()))}\n")
        with clock.standing_at(noon_of(game.day, 21)):
            both = [*counted(game), *standing(game, asked.sentences)]
            for number, words in enumerate(Random(asked.seed).sample(both, min(asked.sentences, len(both))), start=1):
                print(f"{number:2}. {words}\n")
        transaction.set_rollback(True)


def counted(game: Played) -> Iterator[str]:
    """Every sentence with a number that counts something, once a page."""
    for who in ("owner", "supervisor", "assistant"):
        client = client_of(getattr(game.cast, who))
        for site in (game.cast.lane, game.cast.court):
            for url, page in pages(client, site, game):
                for node in page.walk():
                    if names := node.words("data-counts"):
                        there = (
                            parsed(client.get(node.attrs["data-at"]).content.decode())
                            if "data-at" in node.attrs
                            else page
                        )
                        yield f"{who}, {url}\n    “{node.text}”{''.join(rows_of(node, there, name) for name in dict.fromkeys(names))}"


def rows_of(node: Node, page: Node, name: str) -> str:
    scope = page if "data-at" in node.attrs else next((up for up in node.up() if "data-within" in up.attrs), page)
    found = [row for row in scope.walk() if name in row.words("data-row")]
    lines = [
        f"\n      {name}: {row.attrs.get('title') or row.text[:110] or row.attrs.get('data-times')}" for row in found
    ]
    more = f"\n      … {len(found)} in all" if len(found) > SHOWN else ""
    return "".join(lines[:SHOWN]) + more if found else f"\n      {name}: no row"


def pages(client: Client, site: Site, game: Played) -> Iterator[tuple[str, Node]]:
    for address in addresses():
        try:
            url = link(address, site, game.cast.assistant.person) if address.at_site else None
        except NoArgument:
            continue
        page = client.get(url) if url else None
        if page is not None and page.status_code == 200 and page.headers["Content-Type"].startswith("text/html"):
            yield str(url), parsed(page.content.decode())


def standing(game: Played, number: int) -> Iterator[str]:
    """Somebody in something on some day, beside what was recorded."""
    client, rng = client_of(game.cast.owner), Random(number)
    for _ in range(number):
        who, code = rng.choice(game.people), rng.choice(list(game.scene.procedures))
        day = REGISTER_START.fromordinal(rng.randint(REGISTER_START.toordinal(), game.day.toordinal()))
        says = said.on_page(client, game.site, who, code, day)
        facts = [
            f"\n      {fact.day}: {fact.says}{' (put right since)' if fact.put_right else ''}"
            for fact in facts_of(who, code)[:SHOWN]
        ]
        yield f"{who}, {code}, on {day}\n    “{says}”{''.join(facts) or ' (no fact)'}"


if __name__ == "__main__":
    main()
