"""Certificates: issue, print again byte for byte, and the public page that says whether one still holds."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from clinic.record import Refused
from training.actions.issue import is_whole, issue_certificate
from training.models import Issue, SignOff
from training.reads.certificate import check_page, not_in_force
from training.views.issued import issued_file

CERTIFICATES = Issue.objects.filter(document=Issue.Kind.CERTIFICATE)


@door(May.READ_SITE, May.OWN_RECORD)
def issue(request: HttpRequest, site: Site, signoff: Any) -> HttpResponse:
    """Issue the certificate of a sign-off; asked again, it is the same one."""
    people = request.allowed.people(site)
    signed = get_object_or_404(SignOff.objects.filter(site=site, person__in=people), pk=signoff)
    if request.method == "POST":
        try:
            row = issue_certificate(
                signed, by=request.allowed.person, origin=request.build_absolute_uri("/").rstrip("/")
            )
            messages.success(request, f"Certificate {row.number} is issued.")
        except Refused as refused:
            for each in refused.refusals:
                messages.error(request, f"{each.says} {each.supply}")
    return redirect("training:signed", site=site.code, signoff=signed.pk)


@door(May.READ_SITE, May.OWN_RECORD)
def certificate(request: HttpRequest, site: Site, issue: Any) -> HttpResponse:
    """The PDF as it was issued, the same bytes every time while it is in force; after that, with what it is now across it."""
    row = get_object_or_404(CERTIFICATES.filter(site=site, person__in=request.allowed.people(site)), pk=issue)
    return issued_file(request, row, not_in_force(row))


@require_safe
def check(request: HttpRequest, code: str) -> HttpResponse:
    """For anybody who holds the paper: whether it is in force. Shows nothing that the paper does not."""
    row = CERTIFICATES.select_related("site__organisation", "person", "procedure", "sign_off").filter(code=code).first()
    known = {"page": check_page(row), "whole": is_whole(row)} if row else {}
    template = "training/certificates/check.html" if row else "training/certificates/unknown.html"
    response = render(request, template, known, status=200 if row else 404)
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response
