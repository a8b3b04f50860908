"""A random practice, walked: one sentence for person, procedure and day wherever it is said, and every number that of its rows."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic import clock
from clinic.models import Site
from clinic.reads import days_in_time, use
from clinic.reads.upkeep import UnitTask, everything, unit_tasks
from tests.cast import Cast
from tests.house import same_words as said
from tests.house.addresses import Address, NoArgument, addresses, link
from tests.house.counts import counts_on, parsed, wrong_counts
from tests.house.page_one import RECOUNT, wrong_answers
from tests.random_practice import Played, client_of, noon_of, play
from training import gather
from training.actions.issue import issue_certificate
from training.models import SignOff
from training.reads.binder.asked import BinderAsked
from training.reads.binder.gather import gather_binder
from training.reads.coverage import finishes, ready_days
from training.reads.plan import required_of
from training.spans import computed

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # a page says the same on both
SEED = 1
DAYS = 45
PAGES_A_DAY = 25


@pytest.fixture(scope="module")
def the_game(the_cast: Cast, django_db_blocker: Any) -> Iterator[Played]:
    """Played once for the module, and taken back with its cast."""
    with django_db_blocker.unblock():
        yield play(the_cast, SEED, DAYS)


@pytest.fixture
def played(the_game: Played, db: None) -> Iterator[Played]:
    with clock.standing_at(noon_of(the_game.day, 21)):
        yield the_game


def test_the_practice_holds_what_it_is_to_be_walked_for(played: Played) -> None:
    happened = {"watch", "sign", "withdraw", "carry", "teach", "take back", "stop", "upkeep"}
    assert happened <= played.acts.keys(), played.acts
    states = {words.split(":")[0] for words in said.in_binder(played.site, played.day).values()}
    topics = [words for (_, code), words in said.in_binder(played.site, played.day).items() if code == "T01"]
    assert {"No", "Only with somebody standing by"} <= states and any(words.startswith("Yes") for words in topics)


def test_one_sentence_says_person_procedure_and_day_everywhere(played: Played) -> None:
    client, site = client_of(played.cast.owner), played.site
    for days in (0, *played.rng.sample(range(1, DAYS), 2)):
        day = played.day - timedelta(days=days)
        matrix, plain, binder = said.on_matrix(client, site, day), said.in_json(site, day), said.in_binder(site, day)
        assert matrix.items() >= plain.items()
        everything = [(who, code) for who in played.people for code in played.scene.procedures]
        for who, code in played.rng.sample(everything, min(len(everything), PAGES_A_DAY)):
            here = said.on_page(client, site, who, code, day)
            assert matrix.get((str(who.pk), code), here) == here, (who, code, day)
            assert binder.get((who.printed_name, code), here) == here, (who, code, day)
        assert len(matrix) == len(binder) > len(played.people)


def test_the_wall_list_and_the_certificates_say_it_in_the_same_words(played: Played) -> None:
    client, site = client_of(played.cast.owner), played.site
    usable = {key: words for key, words in said.in_binder(site, played.day).items() if words.startswith("Yes")}
    for code, what in played.scene.procedures.items():
        if not what.is_topic:
            assert said.on_wall_list(client, site, what) == {key: usable[key] for key in usable if key[1] == code}
    issued = [issue_certificate(row, by=played.cast.owner.person) for row in signed_and_good(played)]
    checks, matrix = said.on_certificates(client, site), said.on_matrix(client, site, played.day)
    assert len(checks) == len(issued) > 0
    assert {key: matrix[key] for key in checks} == checks
    assert all(row.frozen["says"] == checks[str(row.person_id), row.procedure.code] for row in issued)


def signed_and_good(played: Played) -> list[SignOff]:
    """The newest of each person and procedure that is usable today."""
    newest = {(row.person_id, row.version.procedure_id): row for row in SignOff.objects.live().in_order()}
    matrix = said.in_json(played.site, played.day)
    return [row for row in newest.values() if matrix[str(row.person_id), row.version.procedure.code].startswith("Yes")]


def binder_of(played: Played, days_ago: int = 0) -> Any:
    day = played.day - timedelta(days=days_ago)
    return gather_binder(BinderAsked(played.site, played.site.register_start, day, day))


@pytest.mark.parametrize("days_ago", [0, 20])
def test_the_first_page_of_a_binder_counts_the_tables_of_the_same_content(played: Played, days_ago: int) -> None:
    content = binder_of(played, days_ago)
    assert wrong_answers(content) == []
    assert len([one for one in content.questions if one.ask in RECOUNT]) == len(RECOUNT)


def test_late_days_that_the_first_page_does_not_count_would_be_found(played: Played) -> None:
    content = binder_of(played)
    late = [replace(one, rows=[[*row[:3], "999", *row[4:]] for row in one.rows]) for one in content.extras]
    others = [one if one.key != "in time" else more for one, more in zip(content.extras, late, strict=True)]
    assert len(wrong_answers(replace(content, extras=others))) == 2  # the answer, and the words below the picture


@pytest.mark.parametrize("table", ["matrix", "upkeep", "sessions", "findings"])
def test_a_row_that_the_first_page_does_not_count_would_be_found(played: Played, table: str) -> None:
    content = binder_of(played)
    assert len(wrong_answers(replace(content, **{table: getattr(content, table)[1:]}))) == 1


def pages(client: Client, site: Site, played: Played) -> Iterator[tuple[str, Any]]:
    for address in addresses():
        if address.at_site and (url := url_of(address, site, played)):
            page = client.get(url)
            if page.status_code == 200 and page.headers["Content-Type"].startswith("text/html"):
                yield url, parsed(page.content.decode())


def url_of(address: Address, site: Site, played: Played) -> str | None:
    """None where nothing of that kind stands in this practice; the walk through the demo opens those pages."""
    try:
        return link(address, site, played.cast.assistant.person)
    except NoArgument:
        return None


@pytest.mark.parametrize("who", ["owner", "supervisor", "assistant"])
def test_every_number_is_that_of_the_rows_shown(played: Played, who: str) -> None:
    client, found, checked = client_of(getattr(played.cast, who)), [], 0
    for site in (played.cast.lane, played.cast.court):
        for url, page in pages(client, site, played):
            checked += counts_on(page)
            wrong = wrong_counts([page], lambda at: parsed(client.get(at).content.decode()))
            found += [f"{url}: {each}" for each in wrong]
    assert not found, "\n".join(found)
    assert checked > 8


def test_what_is_due_is_read_from_what_still_matters(played: Played) -> None:
    """A page of today reads the newest time of each task and what came later, and says what all of history says."""
    units = everything(played.site)
    whole = unit_tasks(played.site, units)
    entries = sum(len(one.entries) for one in whole)
    assert entries > 5
    for days in range(0, DAYS, 4):
        since = played.day - timedelta(days=days)
        near = unit_tasks(played.site, units, since=since)
        assert [lately(one, since) for one in near] == [lately(one, since) for one in whole]
    assert sum(len(one.entries) for one in unit_tasks(played.site, units, since=played.day)) < entries


def test_days_in_time_and_counters_are_what_all_of_history_says(
    played: Played, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read from the first day of the page on, or as far back as a rate of use looks."""
    site, last = played.site, played.day
    for module in (use, days_in_time):
        monkeypatch.setattr(module, "LOOK_BACK", timedelta(days=4))
    units = everything(site)
    whole = unit_tasks(site, units)
    for days in range(0, DAYS, 5):
        first = last - timedelta(days=days)
        found = days_in_time.site_days(site, first, last, last)
        tracks = {(track.one.unit, track.one.task): track for unit in found.units for track in unit.tracks}
        for track in (days_in_time.track_of(one, first, last) for one in whole):
            near = tracks[track.one.unit, track.one.task]
            assert (near.days, near.late) == (track.days, track.late)
            assert [day for day in near.entry_days if day >= first] == [day for day in track.entry_days if day >= first]
    for unit in units:
        ever = use.counters_among([one for one in whole if one.unit == unit], last)
        assert [replace(one, one=ever[0].one) for one in use.counters(site, unit, last)] == [
            replace(one, one=ever[0].one) for one in ever
        ]


def test_who_could_be_ready_when_is_what_everybodys_facts_say(played: Played) -> None:
    """Coverage works out only whoever lacks a duty, and takes the rest from the stored spans."""
    people, procedures = played.people, list(played.scene.procedures.values())
    organisation, codes = played.site.organisation, {row.code for row in procedures}
    standings, programme = computed(organisation, people), gather.programme(organisation)
    for days in (0, 12, 30):
        day = played.day - timedelta(days=days)
        asked = required_of(people, day)
        whole = {one.pk: dict(finishes(asked[one.pk], programme, standings[str(one.pk)], codes, day)) for one in people}
        assert ready_days(people, procedures, day) == whole
        assert any(whole.values())


def lately(one: UnitTask, since: date) -> tuple[Any, ...]:
    """What it says of the day and all that follow."""
    spans = [
        replace(span, first=max(span.first, since)) for span in one.spans if span.after is None or span.after > since
    ]
    return spans, one.last, [one.units_on(since + timedelta(days=days)) for days in range(0, DAYS, 9)]
