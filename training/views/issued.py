"""Handing out the file of a certificate or binder: the one that was issued, or none; and the pack of its evidence."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from training.handing_over import handed_over
from training.models import BinderJob, Issue
from training.paper_key import NotSigned
from training.papers import Differs


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


def made_pack(issue: Issue) -> BinderJob | None:
    """The newest pack of the binder that is still kept."""
    return issue.pack_jobs.filter(state=BinderJob.State.DONE, parts__isnull=False).first()


def pack_file(job: BinderJob, issue: Issue) -> HttpResponse:
    """The ZIP as it was packed."""
    pieces = job.parts.order_by("number").values_list("data", flat=True)
    named = {"Content-Disposition": f'attachment; filename="evidence-{issue.number}.zip"'}
    return HttpResponse(map(bytes, pieces.iterator(chunk_size=1)), content_type="application/zip", headers=named)
