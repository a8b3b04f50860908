"""Part of the check of the seals: each second factor is one that its owner added, and none went unseen."""

from collections.abc import Iterator

from clinic.actions.factors import fingerprint
from clinic.factors import taken_out
from clinic.models import FactorChange, FactorKind, SecondFactor
from clinic.seals import Break

What = FactorChange.What


def strange_factors() -> Iterator[Break]:
    """Every row against the fact that added it, and against those that removed it. An app whose secret cannot be read is not
    held against its fingerprint: it proves nothing any more either."""
    facts = FactorChange.objects.filter(what__in=(What.ADDED, What.REMOVED))
    added = {row.pk: row for row in facts if row.what == What.ADDED}
    removed = {row.factor for row in facts if row.what == What.REMOVED}
    rows = {row.pk: row for row in SecondFactor.objects.select_related("account")}
    for key, row in rows.items():
        if says := wrong(row, added.get(key), key in removed):
            yield Break(0, "clinic.secondfactor", str(key), says)
    for key in added.keys() - rows.keys():
        yield Break(
            0, "clinic.secondfactor", str(key), f"the second factor “{added[key].label}” is gone without a trace"
        )


def wrong(row: SecondFactor, fact: FactorChange | None, is_removed: bool) -> str:
    if fact is None:
        return f"nobody added the second factor “{row.label}” of {row.account}"
    if (fact.person_id, fact.kind, fact.label) != (row.account.person_id, row.kind, row.label):
        return f"the second factor “{row.label}” of {row.account} is not what was added"
    secret = taken_out(row.secret) if row.kind == FactorKind.APP else row.secret
    if secret is not None and fingerprint(secret) != fact.fingerprint:
        return f"the secret of “{row.label}” of {row.account} was exchanged"
    if is_removed != (row.ended_at is not None):
        return (
            f"“{row.label}” of {row.account} {'is asked for though it was removed' if is_removed else 'ended unseen'}"
        )
    return ""
