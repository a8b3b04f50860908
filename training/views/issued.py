"""Handing out the file of a certificate or binder: the one that was issued, or none; and the pack of its evidence."""

from io import BytesIO

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from training.handing_over import handed_over
from training.models import Issue
from training.packs import write_pack
from training.paper_key import NotSigned
from training.papers import Differs
from training.proofs import Unproved


def issued_file(request: HttpRequest, issue: Issue, across: str = "") -> HttpResponse:
    """The PDF, with `across` printed over it; where it is not the one that was issued, a page that says so (409: it conflicts with
    the record). One that was to be signed and cannot be is had without by `?unsigned`."""
    try:
        pdf = handed_over(issue, across, unsigned="unsigned" in request.GET)
    except Differs as differs:
        return render(request, "training/differs.html", {"issue": issue, "says": str(differs)}, status=409)
    except NotSigned as wrong:
        return render(request, "training/not_signed.html", {"issue": issue, "says": str(wrong)}, status=503)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{issue.document}-{issue.number}.pdf"'
    return answer


def pack_file(request: HttpRequest, issue: Issue) -> HttpResponse:
    """The ZIP; where what was issued cannot be had or proved, a page that says so (409)."""
    pack = BytesIO()
    try:
        write_pack(issue, pack)
    except (Differs, Unproved) as wrong:
        return render(request, "training/differs.html", {"issue": issue, "says": str(wrong)}, status=409)
    named = {"Content-Disposition": f'attachment; filename="evidence-{issue.number}.zip"'}
    return HttpResponse(pack.getvalue(), content_type="application/zip", headers=named)
