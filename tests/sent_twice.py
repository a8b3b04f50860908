"""A client that sends whatever recorded something a second time, as a tablet does whose answer was lost.

Every test that sends a form by `signed_in` is so a test of its second sending too: nothing more is recorded, and the answer is
the first one's. A form of a fact carries its own number, by which a second sending is known (`clinic.record`); a row of
reference data that says the very same is the row that is there.
"""

from typing import Any

from django.test import Client

from clinic.models import Seal
from training.models import BinderJob, Draft

# Each press is an act of its own: a new slip, in the place of the one before; signing out what was opened since.
ANEW = ("/invite/", "/lost-device/")
# The first answer shows a secret, which nothing shows again: the second leads to where it says that it is done.
SHOWN_ONCE = ("/account/factors/", "/people/roster/recoveries/")


class SentTwice(Client):
    def post(self, path: str, data: Any = None, *args: Any, **more: Any) -> Any:
        before = kept()
        first = super().post(path, data, *args, **more)
        after = kept()
        if after != before and isinstance(data, dict) and not path.endswith(ANEW):
            rewind(data)
            again = super().post(path, data, *args, **more)
            assert_the_same(path, first, again, sum(now != then for now, then in zip(kept(), after, strict=True)))
        return first


def kept() -> list[Any]:
    """What a form may leave behind: facts (which tell of reference data too), texts that are drafted, binders asked for."""
    drafts = list(Draft.objects.order_by("pk").values_list("pk", "content"))
    return [Seal.objects.count(), BinderJob.objects.count(), drafts]


def rewind(data: dict[str, Any]) -> None:
    """A file was read to its end by the first sending."""
    for value in data.values():
        for each in value if isinstance(value, list | tuple) else [value]:
            if hasattr(each, "seek"):
                each.seek(0)


def assert_the_same(path: str, first: Any, again: Any, more_recorded: int) -> None:
    said = [(one.status_code, getattr(one, "url", "")) for one in (first, again)]
    assert more_recorded == 0, f"{path} sent again recorded something more"
    shown_once = said[0][0] == 200 and any(part in path for part in SHOWN_ONCE)
    assert said[0] == said[1] or (shown_once and said[1][0] == 302), (
        f"{path} sent again was answered {said[1]}, not {said[0]}: {words(again)}"
    )


def words(answer: Any) -> list[Any]:
    form = (answer.context or {}).get("form") if answer.status_code == 200 else None
    return [dict(form.errors)] if form is not None else []
