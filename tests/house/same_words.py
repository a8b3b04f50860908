"""What each place of the register says of a person, a procedure and a day. One sentence is said everywhere."""

import json
from datetime import date
from io import StringIO
from typing import Any

from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from clinic.models import Person, Site
from tests.house.counts import Node, parsed
from training.models import Issue, Procedure
from training.reads.binder.asked import BinderAsked
from training.reads.binder.gather import gather_binder

Said = dict[tuple[Any, str], str]  # (person, code) → sentence


def page_at(client: Client, url: str) -> Node:
    answer = client.get(url)
    assert answer.status_code == 200, (url, answer.status_code)
    return parsed(answer.content.decode())


def on_page(client: Client, site: Site, person: Person, code: str, day: date) -> str:
    where = {"site": site.code, "person": person.pk, "code": code}
    page = page_at(client, f"{reverse('training:person_procedure', kwargs=where)}?day={day.isoformat()}")
    return next(node.text for node in page.walk() if "answer" in node.words("class"))


def on_matrix(client: Client, site: Site, day: date) -> Said:
    page = page_at(client, f"{reverse('training:matrix', kwargs={'site': site.code})}?day={day.isoformat()}")
    found: Said = {}
    for node in page.walk():
        if "cell" in node.words("class"):
            _, person, code, _ = node.attrs["href"].strip("/").rsplit("/", 3)
            found[person, code] = node.attrs["title"]
    return found


def in_json(site: Site, day: date) -> Said:
    out = StringIO()
    call_command("standing", site=site.code, on=day, stdout=out)
    people = json.loads(out.getvalue())["people"]
    return {(one["id"], code): said["says"] for one in people for code, said in one["standing"].items()}


def in_binder(site: Site, day: date) -> Said:
    """By printed name, for a binder names no key."""
    content = gather_binder(BinderAsked(site, site.register_start, day, day))
    return {(record.name, row.procedure.split()[0]): row.says for record in content.people for row in record.alone}


def on_wall_list(client: Client, site: Site, procedure: Procedure) -> Said:
    """Who may do it today, by printed name."""
    page = page_at(client, f"{reverse('training:who_may', kwargs={'site': site.code})}?procedure={procedure.code}")
    rows = [node for node in page.walk() if node.tag == "li" and any(bit.tag == "h3" for bit in node.walk())]
    texts = [{bit.tag: bit.text for bit in row.walk()} for row in rows]
    return {(text["h3"], procedure.code): text["p"] for text in texts}


def on_certificates(client: Client, site: Site) -> Said:
    """What their check pages say today."""
    found: Said = {}
    for issue in (
        Issue.objects.live().filter(site=site, document=Issue.Kind.CERTIFICATE).select_related("person", "procedure")
    ):
        text = page_at(client, reverse("training:certificate_check", args=[issue.code])).text
        _, there, rest = text.partition("May work alone today? ")
        if there:
            found[str(issue.person_id), issue.procedure.code] = rest.split(" What this page is")[0]
    return found
