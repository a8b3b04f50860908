"""The demo practice holds the messes of real life, each made by the actions people use, and the record of it is whole."""

from datetime import timedelta

import pytest
from django.db.models import Q

from clinic import background
from clinic.models import (
    Change,
    FactorEntered,
    Incident,
    OutOfService,
    Person,
    ReturnToService,
    Seal,
    ToolRemoved,
    UpkeepEntry,
)
from clinic.port import usable_people
from clinic.reads.clock import jumps
from clinic.reads.drivers import drivers_now, verifications_of
from clinic.reads.findings import of_tools
from clinic.reads.follow_ups import follow_ups
from clinic.replay import replayed
from clinic.seals import check_site
from tests.demo import TODAY, Demo
from training.demo.accounts import open_accounts
from training.demo.closing import let_inspector_read
from training.models import (
    BinderJob,
    CarriedOver,
    CriticalMissAnswer,
    FindingSpan,
    FoundingGrant,
    InspectorPass,
    Observation,
    SignOff,
    StandingSpan,
    Version,
    Withdrawal,
)
from training.reads.sheets import waiting
from training.spans import differences

pytestmark = pytest.mark.django_db


def someone(family: str) -> Person:
    return Person.objects.get(family_name=family)


def test_the_players_are_never_refused(demo: Demo) -> None:
    assert demo.refused == []


def test_two_sites_and_at_least_fourteen_people(demo: Demo) -> None:
    assert Person.objects.filter(organisation=demo.organisation).count() >= 14
    assert {site.name for site in demo.organisation.sites.all()} == {"Larkfield High Street", "Larkfield Ferry Lane"}


def test_playing_it_is_no_jump_of_a_clock_and_says_so(demo: Demo) -> None:
    """Facts of a week are played person by person, so the clock goes back and forth: that is said once, and no finding."""
    for site in (demo.high_street, demo.ferry_lane):
        codes = [row.code for row in FindingSpan.objects.filter(site=site)]
        assert codes and "clock jumped" not in codes
        assert jumps(site) == []
        assert Change.objects.get(site=site, about_id="replayed").said.startswith("This practice is invented.")


def test_one_sheet_of_paper_is_confirmed_at_each_site_and_one_waits(demo: Demo) -> None:
    for site in (demo.high_street, demo.ferry_lane):
        assert Observation.objects.live().filter(site=site, sheet__isnull=False).count() == 1
        [waits] = waiting(site, Q())
        assert waits.photos.count() == 1


def test_it_covers_eighteen_months(demo: Demo) -> None:
    days = Observation.objects.order_by("happened_on").values_list("happened_on", flat=True)
    assert TODAY - days[0] > timedelta(days=535)
    assert TODAY - days[len(days) - 1] < timedelta(days=14)


def test_every_seal_holds_and_every_span_is_what_the_facts_say(demo: Demo) -> None:
    assert [check_site(site) for site in (demo.high_street, demo.ferry_lane)] == [[], []]
    assert differences(demo.organisation) == []
    assert Seal.objects.count() > 4000


def test_every_row_that_may_change_is_what_its_changes_say(demo: Demo) -> None:
    assert list(replayed()) == []
    open_accounts(demo.organisation)
    assert list(replayed()) == []


def test_people_were_carried_over_from_before_the_register(demo: Demo) -> None:
    assert CarriedOver.objects.values("person").distinct().count() == 3


def test_in_the_practice_of_two_the_lowered_number_is_said(demo: Demo) -> None:
    callum = SignOff.objects.filter(person=someone("Reid"), version__procedure__code="P03").earliest("happened_on")
    assert len(callum.lowered) == 1


def test_the_chain_of_signing_starts_at_founding_grants(demo: Demo) -> None:
    assert FoundingGrant.objects.count() == 3


def test_a_renewal_lapsed(demo: Demo) -> None:
    spans = StandingSpan.objects.on(TODAY).filter(person=someone("Haddad"), procedure__code="P11")
    assert spans.get().state == "lapsed"


def test_a_critical_miss_by_a_usable_person_was_answered(demo: Demo) -> None:
    answer = CriticalMissAnswer.objects.get()
    assert answer.observation.critical_miss
    assert answer.reason


def test_an_outside_witness_watched(demo: Demo) -> None:
    assert Observation.objects.filter(witness__isnull=False).count() == 1


def test_a_new_version_asked_holders_to_be_watched_again(demo: Demo) -> None:
    second = Version.objects.get(procedure__code="P08", number=2)
    assert second.asks.reobserve_days == 60
    assert SignOff.objects.filter(version=second).count() >= 8


def test_a_sign_off_was_withdrawn_with_its_reason_and_earned_again(demo: Demo) -> None:
    withdrawal = Withdrawal.objects.get()
    assert withdrawal.reason
    again = SignOff.objects.filter(person=withdrawal.person, version__procedure=withdrawal.procedure)
    assert again.filter(happened_on__gt=withdrawal.happened_on).exists()


def test_an_injury_changed_nobodys_standing(demo: Demo) -> None:
    injury = Incident.objects.get(kind=Incident.Kind.SHARPS)
    assert injury.reviews.get().changed
    assert not StandingSpan.objects.filter(cause=str(injury.pk)).exists()


def test_near_misses_were_filed_without_a_name(demo: Demo) -> None:
    filed = Incident.objects.filter(kind=Incident.Kind.NEAR_MISS)
    assert [event.recorded_by for event in filed] == [None, None]


def test_every_torque_driver_is_verified_and_one_had_failed_and_came_back(demo: Demo) -> None:
    now = [*drivers_now(demo.high_street, TODAY), *drivers_now(demo.ferry_lane, TODAY)]
    assert [one.refused for one in now] == ["", "", ""]
    b = next(one.unit for one in now if one.unit.label == "driver B")
    assert [said.passed for said in verifications_of(b)] == [True, False, True]


def test_each_reading_out_of_limits_was_followed_up_until_a_good_one(demo: Demo) -> None:
    found = follow_ups(demo.high_street)
    assert {row.entry.task.code for row in found} == {"U06", "U10", "U12"}
    assert all(row.closed_on for row in found)


def test_every_spore_test_names_its_lot(demo: Demo) -> None:
    lots = {row.readings["lot"] for row in UpkeepEntry.objects.filter(task__code="U10")}
    assert len(lots) >= 8


def test_tools_were_swapped_for_different_reasons_and_one_is_past_its_life(demo: Demo) -> None:
    assert {row.why for row in ToolRemoved.objects.all()} == {"end of life", "rough margins", "chip"}
    past = [one.about for _, one in of_tools(demo.ferry_lane) if one.holds_on(TODAY)]
    assert past == ["F20-05"]


def test_each_stopped_unit_came_back_after_a_check(demo: Demo) -> None:
    stopped = OutOfService.objects.values_list("equipment__label", flat=True)
    assert set(stopped) == {"unit 2, by the sink", "the unit at Ferry Lane", "driver B"}
    assert ReturnToService.objects.count() == OutOfService.objects.count()


def test_a_factor_that_is_not_of_its_lot_was_typed_in_once(demo: Demo) -> None:
    odd = [row for row in FactorEntered.objects.select_related("lot") if row.factor != row.lot.factor]
    assert [row.lot.lot for row in odd] == ["ZR-2509-02"]


def test_a_mark_was_corrected_by_a_later_fact_with_its_reason(demo: Demo) -> None:
    right = Observation.objects.get(corrects__isnull=False)
    assert right.reason
    assert Observation.objects.live().filter(pk=right.corrects).count() == 0


def test_a_filter_was_changed_late_by_someone_not_usable_and_once_with_somebody_standing_by(demo: Demo) -> None:
    alone, stood_by = UpkeepEntry.objects.filter(note__startswith="Written down").order_by("happened_on")
    held = [
        entry.done_by_id in usable_people(demo.organisation, "P08", entry.happened_on) for entry in (alone, stood_by)
    ]
    assert held == [False, False]
    assert (alone.stood_by, stood_by.stood_by) == (None, someone("Thorne"))


def test_the_inspector_gets_the_pass_once_the_binder_is_made(demo: Demo) -> None:
    """Where the register is served meanwhile, it is looked for now and again."""
    jobs, passes = BinderJob.objects.filter(site=demo.high_street), InspectorPass.objects.all()
    passes.delete()
    jobs.update(state=BinderJob.State.RUNNING)
    assert let_inspector_read() is not background.DONE and not passes.exists()
    jobs.update(state=BinderJob.State.DONE)
    assert [let_inspector_read(), let_inspector_read()] == [background.DONE, background.DONE]
    assert [(given.person, given.issue.site) for given in passes] == [(demo.inspector.person, demo.high_street)]


def test_somebody_left_and_is_signed_in_nowhere(demo: Demo) -> None:
    liam = someone("Costello")
    assert liam.last_day is not None
    assert not liam.roles_held.held_on(TODAY).exists()


def test_somebody_is_in_the_middle_of_learning(demo: Demo) -> None:
    states = StandingSpan.objects.on(TODAY).filter(person=demo.assistant.person).values_list("state", flat=True)
    assert {"current", "learning"} <= set(states)


@pytest.mark.parametrize("days", range(7))
def test_somebody_is_due_and_somebody_ready_on_each_day_of_the_week(demo: Demo, days: int) -> None:
    """Of the week up to which it is played: whichever it is looked at, there is something to renew and something to sign."""
    monday = TODAY - timedelta(days=TODAY.weekday())
    states = StandingSpan.objects.on(monday + timedelta(days=days)).values_list("state", flat=True)
    assert {"due", "ready"} <= set(states)
