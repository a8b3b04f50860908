"""Handing out the file of a certificate or binder: the one that was issued, or none; and the pack of its evidence."""

from tempfile import SpooledTemporaryFile

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render

from training.models import Issue
from training.packs import write_pack
from training.papers import Differs, printed_again
from training.proofs import Unproved

IN_MEMORY = 8_000_000  # bytes; a larger pack goes through a file


def issued_file(request: HttpRequest, issue: Issue, across: str = "") -> HttpResponse:
    """The PDF, with `across` printed over it; where it is not the one that was issued, a page that says so (409: it conflicts with the record)."""
    try:
        pdf = printed_again(issue, across)
    except Differs as differs:
        return render(request, "training/differs.html", {"issue": issue, "says": str(differs)}, status=409)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{issue.document}-{issue.number}.pdf"'
    return answer


def pack_file(request: HttpRequest, issue: Issue) -> HttpResponse | FileResponse:
    """The ZIP; where what was issued cannot be had or proved, a page that says so (409)."""
    pack = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - the response closes it
    try:
        write_pack(issue, pack)
    except (Differs, Unproved) as wrong:
        pack.close()
        return render(request, "training/differs.html", {"issue": issue, "says": str(wrong)}, status=409)
    pack.seek(0)
    return FileResponse(
        pack, as_attachment=True, filename=f"evidence-{issue.number}.zip", content_type="application/zip"
    )
