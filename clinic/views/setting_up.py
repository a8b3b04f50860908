"""Units, drivers and references of a site that is set up, each in one table."""

from django.http import HttpRequest, HttpResponse

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from clinic.unit_table import UnitTable
from clinic.views.tables import Kind, table_page

UNITS = Kind(UnitTable)


@door(May.ROSTER)
def units(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, UNITS)
