"""A database that can be read and not written: locked by somebody's long work, read-only, full; or that does not answer.

Pages go on. What would have been recorded was not, and the answer says so, with what was typed still in the form.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import render

from clinic.answers import wants_data
from clinic.record import Refused

LOCKED = "Somebody else’s long work holds the record, such as a file that is being read in."
READ_ONLY = "The database can only be read: its disk is read-only, or somebody made it so."
FULL = "The disk of the database is full."
SILENT = "The database does not answer."
BY_SQLITE = {
    "locked": LOCKED, "readonly": READ_ONLY, "disk is full": FULL, "unable to open": SILENT, "disk i/o error": SILENT,
}  # fmt: skip
# Codes of PostgreSQL (Appendix A of its manual): 25006 read_only_sql_transaction, 55P03 lock_not_available, 53100 disk_full,
# 53 insufficient_resources, 57P operator intervention, 08 connection_exception.
BY_POSTGRESQL = {"25006": READ_ONLY, "55P03": LOCKED, "53100": FULL, "53": SILENT, "57P": SILENT, "08": SILENT}
SECRET = ("password", "csrf", "secret", "credential")
NO_CODES = "SQLite has none"
RETRY_AFTER = 10  # seconds


@dataclass(frozen=True, slots=True)
class KeptForm:
    """What was typed, without what nobody keeps, ready to be sent again to where it was sent."""

    to: str
    fields: list[tuple[str, str]]
    without_file: bool


def why(wrong: BaseException | None) -> str:
    """Why the database takes nothing, in a sentence; empty where it is another fault, which nobody hides."""
    if not isinstance(wrong, DatabaseError):
        return ""
    code, said = getattr(wrong.__cause__, "sqlstate", NO_CODES), str(wrong).lower()
    if code != NO_CODES:
        # a server that is not there has no code for it
        return by_code(code) if code else SILENT if "connection" in said else ""
    return next((says for words, says in BY_SQLITE.items() if words in said), "")


def by_code(code: str) -> str:
    return next((says for start, says in BY_POSTGRESQL.items() if code.startswith(start)), "")


def kept(request: HttpRequest) -> KeptForm | None:
    if request.method != "POST":
        return None
    return KeptForm(request.get_full_path(), typed(request.POST), bool(request.FILES))


def typed(sent: QueryDict | Mapping[str, str]) -> list[tuple[str, str]]:
    lists = sent.lists() if isinstance(sent, QueryDict) else [(name, [value]) for name, value in sent.items()]
    return [(name, value) for name, values in lists if not is_secret(name) for value in values]


def is_secret(name: str) -> bool:
    return any(word in name.lower() for word in SECRET)


def refused(request: HttpRequest, wrong: Refused) -> HttpResponse:
    """409: what was sent does not fit what is recorded, and nothing was. For pages that have no form to say it at."""
    says = [f"{each.says} {each.supply}".strip() for each in wrong.refusals]
    if wants_data(request):
        return JsonResponse({"refusals": ["Nothing was recorded.", *says], "fields": {}}, status=409)
    return render(request, "409.html", {"says": says}, status=409)


def answer(request: HttpRequest, says: str) -> HttpResponse:
    """503, in words. It asks the database nothing."""
    if wants_data(request):
        refusals = ["Nothing was recorded.", says, "Send it again in a minute: it is recorded once."]
        response: HttpResponse = JsonResponse({"refusals": refusals, "fields": {}}, status=503)
    else:
        request.allowed = None  # type: ignore[attr-defined]
        response = render(request, "503.html", {"says": says, "kept": kept(request)}, status=503)
    response["Retry-After"] = str(RETRY_AFTER)
    return response
