"""Units, drivers and references of a site that is set up, each in one table."""

from django.http import HttpRequest, HttpResponse

from clinic.doors import door
from clinic.driver_table import DriverTable, ReferenceTable
from clinic.models import Site
from clinic.permissions import May
from clinic.unit_table import UnitTable
from clinic.views.tables import TableView, table_page

UNITS, DRIVERS, REFERENCES = TableView(UnitTable), TableView(DriverTable), TableView(ReferenceTable)


@door(May.ROSTER)
def units(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, UNITS)


@door(May.ROSTER)
def drivers(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, DRIVERS)


@door(May.ROSTER)
def references(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, REFERENCES)
