"""A tablet that stands at one unit. The tablet itself keeps which, as a signed cookie, so that the unit is chosen already.

It says where the tablet stands, never who holds it: signing in and locking go on as on every other tablet.
"""

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from clinic import clock
from clinic.models import Equipment, Site

COOKIE = "tablet_at"
KEPT = 365 * 24 * 3600  # seconds


def unit_of_tablet(request: HttpRequest, site: Site) -> Equipment | None:
    """The unit this tablet was fixed to, if it is one in service at this site."""
    key = request.get_signed_cookie(COOKIE, default=None, salt=COOKIE)
    if key is None:
        return None
    return Equipment.objects.filter(pk=key, site=site).in_service_on(clock.today(site.time_zone)).first()


def fix(response: HttpResponse, unit: Equipment) -> HttpResponse:
    """Keep the unit on the tablet that gets this answer."""
    response.set_signed_cookie(
        COOKIE, str(unit.pk), salt=COOKIE, max_age=KEPT, httponly=True, samesite="Lax", secure=settings.HTTPS
    )
    return response


def free(response: HttpResponse) -> HttpResponse:
    response.delete_cookie(COOKIE, samesite="Lax")
    return response
