"""What may be noted beside a culture that was read: how it was kept warm, who read it, and the number of a report."""

from collections.abc import Mapping

from clinic.rules.readings import Value

HOURS, WARMTH, READER, LABORATORY, REPORT = "hours", "warmth", "reader", "laboratory", "report"


def noted_beside(read: Mapping[str, Value], reader: str = "") -> str:
    """In sentences, by the keys of the readings; what nobody noted is left out. `reader`: who read it where the reading names nobody else."""
    noted = {key: str(value).strip().rstrip(".") for key, value in read.items() if value is not None}
    who = noted.get(READER) or reader
    said = [kept_warm(noted.get(HOURS, ""), noted.get(WARMTH, ""))]
    said += [f"Read by {who}." if who else ""]
    said += [f"Laboratory: {noted[LABORATORY]}." if noted.get(LABORATORY) else ""]
    said += [f"Report {noted[REPORT]}." if noted.get(REPORT) else ""]
    return " ".join(filter(None, said))


def kept_warm(hours: str, warmth: str) -> str:
    """Incubated 24 h at 56 °C."""
    parts = [f"{hours} h" if hours else "", f"at {warmth} °C" if warmth else ""]
    found = " ".join(filter(None, parts))
    return f"Incubated {found}." if found else ""
