"""The roster as a file: handed in, checked, entered as a whole; and written out."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from clinic.actions.roster import enter_roster
from clinic.doors import door
from clinic.forms.roster_file import TableFile
from clinic.models import Site
from clinic.permissions import May
from clinic.roster import COLUMNS, entered_words, read_roster, written_roster
from clinic.rules.titles import NEW


@door(May.ROSTER)
def roster_import(request: HttpRequest, site: Site) -> HttpResponse:
    """Checked first: nothing is written before somebody confirms what was shown, and then all of it or nothing."""
    form, found, text = TableFile(request.POST or None, request.FILES or None), None, ""
    if form.is_valid():
        text = form.lines
        found = read_roster(text, site)
        if "enter" in request.POST and not found.faults:
            new = enter_roster(found, site, by=request.allowed.person)
            messages.success(request, f"Entered {entered_words(len(new), found.roles, found.known)}.")
            return redirect("clinic:roster", site=site.code)
        form = form.as_text()
    shown = {
        "form": form,
        "found": found,
        "text": text,
        "columns": [column.name for column in COLUMNS],
        "new_titles_by": NEW,
    }
    return render(request, "clinic/roster/roster_import.html", shown)


@door(May.ROSTER)
def roster_export(request: HttpRequest, site: Site) -> HttpResponse:
    """The same file that the import takes."""
    name = f"roster-{site.code}-{request.today:%Y-%m-%d}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(written_roster(site), content_type="text/csv; charset=utf-8", headers=headers)
