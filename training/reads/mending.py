"""Where what is missing is mended: links beside a list of refusals, each for whoever may use it. No query of its own."""

from collections.abc import Iterable, Iterator
from urllib.parse import urlencode

from django.urls import reverse

from clinic.models import Person, Site
from clinic.permissions import Allowed, May
from training.models import Procedure, StandingSpan
from training.reads.ground import SignPage
from training.rules.evidence import Piece, PieceKind
from training.rules.signing import Code

Way = tuple[str, str]  # the words of a link, and where it leads

WATCHED = {PieceKind.ASSESSMENTS, PieceKind.BY_METHOD, PieceKind.DAYS, PieceKind.SUPERVISORS, PieceKind.STEPS}


def ways_to_evidence(page: SignPage, who: Person, what: Procedure, allowed: Allowed, site: Site) -> list[Way]:
    """What supplies the pieces that nobody could sign without."""
    return list(_evidence(page, who, what, allowed, site))


def _evidence(page: SignPage, who: Person, what: Procedure, allowed: Allowed, site: Site) -> Iterator[Way]:
    missing = {piece.kind: piece for piece in page.ground.detail.pieces if not piece.is_there}
    codes, mine = {each.code for each in page.ground.refusals}, who == allowed.person
    if (missing.keys() & WATCHED or Code.NO_EVIDENCE in codes) and allowed.may(May.OBSERVE, site) and not mine:
        chosen = urlencode({"person": str(who.pk), "procedure": what.code})
        yield f"Observe {what.code} now", f"{reverse('training:observe_start', args=[site.code])}?{chosen}"
    if PieceKind.CHECK in missing and mine:
        yield "Take the check", reverse("training:check", args=[site.code, what.code])
    for code in missing[PieceKind.PREREQUISITES].missing if PieceKind.PREREQUISITES in missing else ():
        yield f"See {code}", reverse("training:person_procedure", args=[site.code, who.pk, code])
    version = page.ground.version
    if (
        version
        and Code.NOT_CHECKED in codes
        and any(allowed.may(one, site) for one in (May.ROSTER, May.SIGN, May.APPROVE))
    ):
        where = reverse("training:check_instructions", args=[site.code, what.code])
        yield "Record the check against the instructions", f"{where}?version={version.number}"
    if Code.NOT_IN_FORCE in codes and (allowed.may(May.DRAFT, site) or allowed.may(May.APPROVE, site)):
        yield "See its draft", reverse("training:draft", args=[site.code, what.code])


def ways_to_unblock(span: StandingSpan, blocks: Iterable[Piece], allowed: Allowed, site: Site) -> list[Way]:
    """What supplies what no watching of the procedure itself does: its check, or what it rests on."""
    who, what = span.person, span.procedure
    mine, found = who == allowed.person, []
    for piece in blocks:
        if piece.kind is PieceKind.CHECK and mine:
            found.append(("Take the check", reverse("training:check", args=[site.code, what.code])))
        elif piece.kind is PieceKind.CHECK:
            where = reverse("training:person_procedure", args=[site.code, who.pk, what.code])
            found.append((f"See the check of {who.given_name}", where))
        for code in piece.missing if piece.kind is PieceKind.PREREQUISITES else ():
            if allowed.may(May.OBSERVE, site) and not mine:
                chosen = urlencode({"person": str(who.pk), "procedure": code})
                found.append((f"Observe {code}", f"{reverse('training:observe_start', args=[site.code])}?{chosen}"))
            else:
                found.append((f"See {code}", reverse("training:person_procedure", args=[site.code, who.pk, code])))
    return found


def ways_to_sign(page: SignPage, what: Procedure, allowed: Allowed, site: Site) -> list[Way]:
    """What mends what stands against whoever is signed in; somebody else may sign at once."""
    codes = {each.code for each in page.signers_own}
    found = []
    if Code.NO_AUTHORITY in codes and allowed.may(May.APPOINT, site):
        found.append(("Who has authority here", reverse("training:authorities", args=[site.code])))
    if Code.SIGNER_NOT_USABLE in codes:
        found.append(
            (
                f"See your own {what.code}",
                reverse("training:person_procedure", args=[site.code, allowed.person.pk, what.code]),
            )
        )
    return found
