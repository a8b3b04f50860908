"""The printed invitation, for a practice without a mail server."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from clinic.accounts import open_invitation
from clinic.doors import door
from clinic.models import Invitation, Person, Site
from clinic.network import for_others
from clinic.permissions import May
from clinic.rules.words import day_words
from training.documents.slips import AccountSlipContent, build_slip


@door(May.ROSTER)
@require_POST
def account_slip(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """The code comes from the page that showed it: the register keeps only its digest."""
    who = get_object_or_404(Person.objects.filter(organisation=site.organisation_id), pk=person)
    code = request.POST.get("code", "")
    invitation = open_invitation(code)
    if invitation is None or invitation.account.person_id != who.pk:
        raise Http404("No such invitation.")
    address, _ = for_others(request, reverse("clinic:invitation", kwargs={"code": code}))
    pdf = build_slip(content(site, invitation, address, code))
    headers = {"Content-Disposition": f'inline; filename="invitation-{invitation.account.sign_in_name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def content(site: Site, invitation: Invitation, address: str, code: str) -> AccountSlipContent:
    return AccountSlipContent(
        paper=site.paper,
        language=site.language,
        organisation=site.organisation.name,
        person=str(invitation.account.person),
        address=address,
        code=code,
        sign_in_name=invitation.account.sign_in_name,
        good_until=day_words(invitation.expires_at.date()),
    )
