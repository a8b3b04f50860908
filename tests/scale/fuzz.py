"""Odd values to every form and every query: does the register ever answer that it broke, or record half of anything?

    python -m tests.scale.fuzz --posts 10000 --seed 1
    DATABASE_URL=postgresql://… python -m tests.scale.fuzz --posts 10000

Enters the practice of seven with a row of every kind at both sites (`tests.rights.world`), and then, at random by the seed:
somebody opens an address, with a row or with an odd word in each of its parts; what the page's forms ask is filled in, each
field as it was drawn, left out, given twice, or with an odd value; and it is sent, sometimes twice. A query gets odd values
under the names that the views read. Whatever is done is taken back before the next.

Broken is: an answer of 500 or more; a fact without its seal, or a seal without its fact; a second sending of the same form
that records anything more.
"""

import argparse
import os
import random
import re
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

import django

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.test import Client
from django.test.utils import setup_test_environment
from django.urls import NoReverseMatch, reverse
from django.urls.converters import IntConverter, SlugConverter, UUIDConverter

from clinic.factors import MUST_ADD_BY
from clinic.facts import fact_models
from clinic.lock import LAST_SEEN, SIGNED_IN
from clinic.models import Person, Seal
from tests.cast import PASSWORD, Cast, Member, enter_practice
from tests.house.addresses import Address, NoArgument, addresses, argument
from tests.house.sources import ROOT
from tests.rights.world import at_noon, build, without_timelines
from training.spans import rebuild

ODD = (
    "", " ", "0", "-1", "1", "9" * 30, "1e9", "-0.0", "NaN", "Infinity", "1e999999", "²", "٣", "\0", "a\0b", "\ud7ff\U0010ffff",
    "é" * 300, "x" * 70_000, "'; DROP TABLE clinic_seal; --", "<script>alert(1)</script>", "{{ 7*7 }}", "{% now 'Y' %}",
    "../../etc/passwd", "31 Dec 9999", "9999-12-31", "0001-01-01", "2025-02-30", "29 Feb 2200", "2025-03-03", "3 Mar 2025",
    "24:00", "00:00", "25:61", "2025-03-03T12:00:00+99:00", "00000000-0000-0000-0000-000000000000", "None", "null", "[]", "{}",
    "[[[[", '{"from": 1}', "on", "true", "no", "=1+1", "a@b", "a@clinic.example", "\r\nSet-Cookie: a=b", "%00", "me", "nobody",
)  # fmt: skip
FILES = (
    b"", b"a,b\n1,2\n", b"," * 5000, b"\xff\xfe\0", b"PK\x03\x04", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", b"\xff\xd8\xff\xe0", b"%PDF",
)  # fmt: skip
QUERY = re.compile(r"request\.GET(?:\.get(?:list)?\(|\[)\"(\w+)\"|\"(\w+)\" in request\.GET")
FILLINGS = 4  # of the forms of a page that was opened once
LEAVES = ("clinic:sign_out", "clinic:lock_now", "clinic:change_person")


class Fields(HTMLParser):
    """The forms of a page: where each is sent, and each of its fields with the values it could have."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[tuple[str, dict[str, list[str]], set[str]]] = []
        self.select = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form" and said.get("method", "").lower() == "post":
            self.forms.append((said.get("action", ""), {}, set()))
        if not self.forms:
            return
        _, values, files = self.forms[-1]
        if tag in ("input", "textarea", "button") and said.get("name"):
            values.setdefault(said["name"], []).append(said.get("value", ""))
            if said.get("type") == "file":
                files.add(said["name"])
        if tag == "select":
            self.select = said.get("name", "")
            values.setdefault(self.select, [])
        if tag == "option" and self.select:
            values[self.select].append(said.get("value", ""))


@dataclass(slots=True)
class Told:
    gets: int = 0
    posts: int = 0
    recorded: int = 0
    again: int = 0
    answers: Counter[int] = field(default_factory=Counter)
    broken: dict[str, str] = field(default_factory=dict)  # what was sent, by where it broke

    def __str__(self) -> str:
        lines = [f"{self.gets} pages, {self.posts} posts ({self.recorded} recorded, {self.again} sent again)"]
        lines += [f"answers: {dict(sorted(self.answers.items()))}", f"broken: {len(self.broken)}"]
        return "\n".join([*lines, *(f"  {where}\n    {what}" for where, what in self.broken.items())])


@dataclass(slots=True)
class Fuzz:
    cast: Cast
    chance: random.Random
    told: Told = field(default_factory=Told)
    places: list[Address] = field(default_factory=lambda: [each for each in addresses() if each.name not in LEAVES])
    sessions: dict[Any, str] = field(default_factory=dict)
    asked: list[str] = field(default_factory=lambda: sorted(names_asked()))

    def run(self, posts: int) -> Told:
        """Every address in turn, so that a small run sees them all, until that many posts were sent."""
        while self.told.posts < posts:
            before = self.told.posts
            for place in self.chance.sample(self.places, len(self.places)):
                self.visit(place, posts)
            if self.told.posts == before:
                raise RuntimeError("No page had a form.")
        return self.told

    def visit(self, place: Address, posts: int) -> None:
        if self.told.posts >= posts:
            return
        url, (_, who) = self.url(place), self.chance.choice([*self.cast.members(), *[("", self.cast.owner)] * 5])
        if url is None:
            return
        client = self.client(who)
        with at_noon():
            page = self.send(client, "get", url + self.query(), {})
            leaves = {reverse(name) for name in LEAVES}  # they stand on every page, and would end the walk
            forms = [form for form in Fields(page).forms if form[0] not in leaves] if page else []
            bare: dict[str, list[str]] = {"submission": [str(uuid4())], "go": [""]}
            if not forms and self.chance.random() < 0.3:
                forms = [("", bare, set())]
            for to, values, files in self.chance.choices(forms, k=FILLINGS) if forms else []:
                self.send(self.client(who), "post", to or url, self.filled(values, files, who))

    def client(self, who: Member) -> Client:
        """A browser in the session that the member had at the start, whatever became of it since."""
        if who.account.pk not in self.sessions:
            self.sessions[who.account.pk] = client_of(who).cookies["register"].value
        client = Client()
        client.cookies["register"] = self.sessions[who.account.pk]
        return client

    def url(self, place: Address) -> str | None:
        """A row of the practice in each part, and now and then an odd word or nothing that is there."""
        site, person = self.chance.choice([self.cast.lane] * 4 + [self.cast.court]), self.cast.assistant.person
        parts: dict[str, Any] = {}
        for part, made in place.parts.items():
            try:
                parts[part] = argument(part, made, site, person, place.name)
            except (NoArgument, AttributeError):
                parts[part] = strange(made)
            if part == "issue":
                parts[part] = strange(made)  # what the world issues is a stand-in without a content
            elif part != "site" and self.chance.random() < 0.1:
                parts[part] = strange(made) if not is_free(made) else self.chance.choice(["9999-12-31", "²", "x" * 300])
        try:
            return reverse(place.name, kwargs=parts)
        except NoReverseMatch:
            return None

    def query(self) -> str:
        if self.chance.random() < 0.5:
            return ""
        names = self.chance.sample(self.asked, 2)
        return "?" + urlencode([(name, self.chance.choice(ODD)[:3000]) for name in names])

    def filled(self, values: dict[str, list[str]], files: set[str], who: Member) -> dict[str, Any]:
        odd = self.chance.choice([0.0, 0.1, 0.4, 0.9])
        known = {"sign_in_name": who.account.sign_in_name, "password": PASSWORD}
        said: dict[str, Any] = {}
        for name, choices in values.items():
            if name in files:
                said[name] = SimpleUploadedFile("a.png", self.chance.choice(FILES))
            elif self.chance.random() < odd:
                said[name] = self.chance.choice([self.chance.choice(ODD), [self.chance.choice(ODD)] * 2, None])
            else:
                plain = [choice for choice in choices if choice] or ["Three words here"]
                said[name] = known.get(name) or self.chance.choice(plain)
        return {name: value for name, value in said.items() if value is not None and name != "csrfmiddlewaretoken"}

    def send(self, client: Client, method: str, url: str, said: dict[str, Any]) -> str:
        """The page; empty where it is none. What was done is looked at, and taken back."""
        before = facts()
        with transaction.atomic():
            answer = self.once(client, method, url, said)
            after = facts()
            if answer is not None and method == "post" and after != before:
                self.told.recorded += 1
                self.again(client, url, said, after)
            transaction.set_rollback(True)
        if method == "get" and after != before:
            self.told.broken[f"get {url} recorded something"] = ""
        if after[0] != after[1]:
            self.told.broken[f"{method} {url}: {after[0]} facts and {after[1]} seals"] = short(said)
        is_page = answer is not None and answer.get("Content-Type", "").startswith("text/html") and not answer.streaming
        return answer.content.decode() if is_page else ""

    def once(self, client: Client, method: str, url: str, said: dict[str, Any]) -> Any:
        setattr(self.told, f"{method}s", getattr(self.told, f"{method}s") + 1)
        try:
            with transaction.atomic():
                answer = getattr(client, method)(url, said) if said else getattr(client, method)(url)
                if answer.status_code >= 500:
                    self.told.broken[f"{method} {url}: {answer.status_code}"] = short(said)
                self.told.answers[answer.status_code] += 1
                if connection.needs_rollback:
                    transaction.set_rollback(True)
        except Exception as fault:  # whatever comes out of a view would have been a 500
            self.told.answers[500] += 1
            self.told.broken[f"{method} {url}: {type(fault).__name__}: {str(fault)[:300]}"] = short(said)
            return None
        return answer

    def again(self, client: Client, url: str, said: dict[str, Any], first: tuple[int, int]) -> None:
        """The same form once more, as it comes where the answer was lost."""
        if "submission" not in said or to_itself(url):
            return
        for value in said.values():
            if hasattr(value, "seek"):
                value.seek(0)
        self.told.again += 1
        if self.once(client, "post", url, said) is not None and facts()[0] > first[0]:
            self.told.broken[f"post {url} sent again recorded {facts()[0] - first[0]} more"] = short(said)


def to_itself(url: str) -> bool:
    """A check of the seals that is done twice is two checks."""
    return url.endswith("/audit/seals/")


def is_free(made: Any) -> bool:
    return not isinstance(made, IntConverter | UUIDConverter | SlugConverter)


def strange(made: Any) -> Any:
    """What fits the part of an address and names nothing."""
    return uuid4() if isinstance(made, UUIDConverter) else 987654321 if isinstance(made, IntConverter) else "P99"


def client_of(member: Member) -> Client:
    client = Client(raise_request_exception=True)
    client.force_login(member.account, backend="clinic.accounts.AtWork")
    session = client.session
    for name in (SIGNED_IN, LAST_SEEN, MUST_ADD_BY):
        session.pop(name, None)
    session.save()
    return client


def names_asked() -> Iterator[str]:
    """What the views read out of a query, and the fields of the forms that stand in one."""
    for path in [*ROOT.glob("clinic/views/*.py"), *ROOT.glob("training/views/*.py")]:
        yield from (first or second for first, second in QUERY.findall(Path(path).read_text()))
    yield from ("day", "known", "name", "words", "q", "setup", "first", "last", "number", "next")


def facts() -> tuple[int, int]:
    """How many facts there are, and how many seals. One question, asked twice for each post."""
    tables = [model._meta.db_table for model in fact_models().values()]
    every = " + ".join(f'(SELECT count(*) FROM "{table}")' for table in tables)
    with connection.cursor() as cursor:
        cursor.execute(f'SELECT {every}, (SELECT count(*) FROM "{Seal._meta.db_table}")')
        found, sealed = cursor.fetchone()
    return found, sealed


def short(said: dict[str, Any]) -> str:
    return str({name: str(value)[:80] for name, value in said.items()})[:1500]


def fuzz(cast: Cast, posts: int, seed: int) -> Told:
    """The practice as `cast` is, with a row of every kind at both sites; timelines are made once, at the end."""
    with without_timelines():
        build(cast)
    with at_noon():
        rebuild(Person.objects.select_related("organisation").order_by("pk"))
    return Fuzz(cast, random.Random(seed)).run(posts)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--posts", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args(arguments)
    setup_test_environment()
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        with transaction.atomic():
            told = fuzz(enter_practice(), given.posts, given.seed)
            transaction.set_rollback(True)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
    print(f"On {connection.vendor}:", told)
    return 1 if told.broken else 0


if __name__ == "__main__":
    sys.exit(main())
