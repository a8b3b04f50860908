"""Sign, renew and withdraw. Whoever signs proves again who they are; the tablet may be somebody else's."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.models import Person, Site
from clinic.permissions import May
from clinic.record import Refused
from clinic.rules.ids import as_id
from training.actions import signing as acts
from training.forms.signing import SignForm, WithdrawForm
from training.models import Issue, Procedure, SignOff
from training.paper_key import is_on
from training.reads import ground
from training.reads.consequences import withdrawal_consequences
from training.reads.mending import ways_to_evidence, ways_to_sign
from training.reads.putting_right import put_right
from training.reads.standing import sentence_on, span_on
from training.views.proving import known_as, proven


def named(request: HttpRequest, site: Site, person: object, code: str) -> tuple[Person, Procedure]:
    """Somebody whose record may be read, and a procedure of the organisation by its code."""
    who = get_object_or_404(request.allowed.people(site), pk=person)
    return who, get_object_or_404(Procedure, organisation=site.organisation_id, code=code)


@door(May.SIGN, May.OWN_RECORD)
def sign(request: HttpRequest, site: Site, person: object, code: str) -> HttpResponse:
    """The statement with what it rests on, or every missing piece. A renewal is the same page."""
    who, what = named(request, site, person, code)
    if earlier := signed_before(request, site, who, what):
        return redirect("training:signed", site=site.code, signoff=earlier.pk)
    page = ground.sign_page(who, what, request.allowed.person, site, request.today)
    form = SignForm(page.statement, known_as(request), request.POST or None)
    if page.can_be_signed and form.is_valid():
        try:
            return signed_by(request, site, who, what, form)
        except Refused as refused:
            add_refusals(form, refused)
    known = {"person": who, "procedure": what, "page": page, "form": form}
    known |= {"meaning": acts.MEANING, "mends": ways_to_evidence(page, who, what, request.allowed, site)}
    known |= {"mends_own": ways_to_sign(page, what, request.allowed, site)}
    return render(request, "training/sign/sign.html", known)


def signed_before(request: HttpRequest, site: Site, who: Person, what: Procedure) -> SignOff | None:
    """What the first sending of this very form signed, where its answer was lost: once signed, there is nothing to sign."""
    sent = as_id(request.POST.get("submission"))
    rows = SignOff.objects.filter(site=site, person=who, version__procedure=what)
    return rows.filter(pk=sent).first() if sent else None


def signed_by(request: HttpRequest, site: Site, who: Person, what: Procedure, form: SignForm) -> HttpResponse:
    account, proved = proven(request, site, form)
    words = form.cleaned_data["statement"]
    row = acts.sign_off(who, what, account.person, site=site, proved=proved, statement=words, id=form.fact_id)
    messages.success(request, f"Signed by {row.signer_name}.")
    return redirect("training:signed", site=site.code, signoff=row.pk)


@door(May.READ_SITE, May.OWN_RECORD)
def signed(request: HttpRequest, site: Site, signoff: object) -> HttpResponse:
    """One sign-off: printed name, time and meaning, what it rests on, and its certificates."""
    rows = SignOff.objects.filter(site=site, person__in=request.allowed.people(site))
    row = get_object_or_404(rows.select_related("person", "signer", "version__procedure", "site"), pk=signoff)
    known = {
        "row": row,
        "rests_on": ground.rests_on(row.evidence),
        "six": ground.six_of(row),
        "issues": Issue.objects.live().filter(sign_off=row).order_by("recorded_at"),
        "says": sentence_on(row.person, row.version.procedure, request.today),
        "facts": ground.signature_facts(row),
        "right": put_right(request.allowed.person, row, request.today),
        "live": SignOff.objects.live().filter(pk=row.pk).exists(),
        "handed_over_signed": is_on(),
    }
    return render(request, "training/sign/signed.html", known)


@door(May.SIGN)
def withdraw(request: HttpRequest, site: Site, person: object, code: str) -> HttpResponse:
    """From now on not alone, with the reason; proved again like a signature."""
    who, what = named(request, site, person, code)
    form = WithdrawForm(known_as(request), request.POST or None)
    if form.is_valid():
        try:
            account, proved = proven(request, site, form)
            why, by = form.cleaned_data["reason"], account.person
            acts.withdraw(who, what, why, site=site, by=by, proved=proved, id=form.fact_id)
        except Refused as refused:
            add_refusals(form, refused)
        else:
            messages.success(request, f"Withdrawn: {who} may not do {what} alone from now on.")
            return redirect("training:sign", site=site.code, person=who.pk, code=what.code)
    words = f"{who} may not do {what} at {site.name} without supervision from now on."
    known = {
        "person": who,
        "procedure": what,
        "form": form,
        "words": words,
        "says": sentence_on(who, what, request.today),
        "alone": span_on(who, what, request.today).state.is_usable,
        "falls": withdrawal_consequences(who, what, site),
    }
    return render(request, "training/sign/withdraw.html", known)
