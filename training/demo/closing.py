"""The last evening: certificates, a look at the findings, a check of the seals, binders, and a pass for the inspector."""

from datetime import timedelta

from clinic import background, clock
from clinic.actions.incidents import file_near_miss
from clinic.models import Person, Site
from clinic.seals import check_register
from training.actions import versions
from training.actions.binder import give_pass, request_binder
from training.actions.findings import check_seals, correct
from training.actions.issue import issue_certificate
from training.binder_worker import run_one
from training.demo.scenario import key_of
from training.demo.setting_up import Cast
from training.models import BinderJob, SignOff, StandingSpan
from training.reads.findings.stored import findings

CERTIFIED = ("P03", "P06", "P13")
DRAFTED = "P03"  # somebody is in the middle of writing its next version
PASS_DAYS = 21
FOR_INSPECTOR = "high-street"
# What was done, by the code of the finding.
DONE = {
    "spore test unproved": "No load was released before the new test, which was good. Kits stand in the cool cupboard now.",
    "follow-up late": "The new kit came only the next morning; two are kept in reserve since.",
    "tool past life": "A new cutter is ordered; until it comes the margins of each part are looked at under the lamp.",
    "site fact empty": "The maker was asked; the answer will be entered on the walk round.",
}
ORIGIN = "http://127.0.0.1:8000"  # where the demo is served unless told otherwise


def close(cast: Cast) -> None:
    certify(cast)
    explain(cast)
    register = check_register()
    for site in cast.sites.values():
        check_seals(site, by=cast.owner, register=register)
    file_near_miss(
        cast.sites["ferry-lane"], "by the suction unit", "The lead lay across the way.", id=key_of("near miss")
    )
    versions.start_draft(cast.procedures[DRAFTED], by=cast.people["delphine"])
    for site in cast.sites.values():
        ask_for_binder(cast, site)


def certify(cast: Cast) -> None:
    """A certificate for whoever holds one of the procedures that people ask to see."""
    today = clock.today(str(cast.scenario.zone))
    held = StandingSpan.objects.on(today).usable().filter(basis="observed", procedure__code__in=CERTIFIED)
    causes = held.filter(person__organisation=cast.organisation).values_list("cause", flat=True)
    for signed in SignOff.objects.filter(pk__in=list(causes)).order_by("recorded_at"):
        code = key_of("certificate", signed.pk).hex[:20]
        issue_certificate(signed, by=signed.signer, code=code, origin=ORIGIN, id=key_of("issue", signed.pk))


def explain(cast: Cast) -> None:
    """What was done about some findings, as a coordinator would write it on a quiet evening. Some are left for tomorrow."""
    for site in cast.sites.values():
        for one in findings(site, clock.today(site.time_zone)):
            if one.finding.code in DONE:
                by = cast.people["ines" if site.code == "ferry-lane" else "delphine"]
                id = key_of("explained", site.code, one.finding.key)
                correct([one.finding.key], DONE[one.finding.code], by, site=site, by=by, id=id)


def ask_for_binder(cast: Cast, site: Site) -> None:
    """The last twelve months, in full."""
    today = clock.today(site.time_zone)
    first, id = today - timedelta(days=365), key_of("binder", site.code)
    request_binder(site, first, today, today, in_full=True, paper=site.paper, by=cast.owner, id=id)


def make_what_waits() -> None:
    """The binders of the evening, where nobody serves the register meanwhile, and the pass."""
    while job := run_one():
        assert job.issue is not None, job.says
    let_inspector_read()


def let_inspector_read() -> object:
    """The pass for the first site’s binder, once that is made; `background.DONE` when there is nothing left to do."""
    job = BinderJob.objects.select_related("issue", "site").get(pk=key_of("binder", FOR_INSPECTOR))
    reader, owner = (Person.objects.get(pk=key_of("person", key)) for key in ("helen", "marit"))
    until = job.last + timedelta(days=PASS_DAYS)
    if job.runs:
        return None
    if job.issue and until >= clock.today(job.site.time_zone) and not job.issue.passes.exists():
        give_pass(job.issue, reader, until, site=job.site, by=owner)
    return background.DONE
