"""Site facts, instructions checks, signers and carried-over records of a site that is set up, each in one table."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from clinic.doors import door
from clinic.models import Site
from clinic.permissions import May
from clinic.views.tables import TableView, table_page
from training.carried_table import CarriedTable
from training.forms.tables import SignedTableForm
from training.instructions_table import InstructionsTable
from training.signer_table import SignerTable
from training.site_fact_table import SiteFactTable
from training.views.proving import known_as, proven_here


def who(request: HttpRequest) -> dict[str, Any]:
    return {"known": known_as(request)}


SITE_FACTS, CARRIED = TableView(SiteFactTable, after="training:walk"), TableView(CarriedTable)
INSTRUCTIONS = TableView(
    InstructionsTable, after="training:procedures", form=SignedTableForm, more=who, prove=proven_here
)
SIGNERS = TableView(SignerTable, form=SignedTableForm, more=who, prove=proven_here)


@door(May.ROSTER, May.SIGN)
def site_facts(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, SITE_FACTS)


@door(May.ROSTER, May.SIGN, May.APPROVE)
def instructions(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, INSTRUCTIONS)


@door(May.APPOINT)
def signers(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, SIGNERS)


@door(May.ROSTER)
def carried(request: HttpRequest, site: Site) -> HttpResponse:
    return table_page(request, site, CARRIED)
