"""Small invented content for every document."""

from typing import Any

from training.documents.binder import content as b
from training.documents.certificate import CertificateContent, Element
from training.documents.charts import Stretch, Track

LONG = "Żofia-Ångström O’Dvořák <b>Łukaszewska</b> de la Fontaine-Achterberg & Sons"
NAMES = (
    "Direct observation of routine work",
    "Recording and reporting",
    "Review of records",
    "Maintenance observed",
    "Known or blind sample",
)


def certificate(**changes: Any) -> CertificateContent:
    plain: dict[str, Any] = {
        "number": "0412",
        "paper": "A4",
        "language": "en-GB",
        "organisation": "Harbour Row Dental",
        "site": "Harbour Row",
        "address": "12 Quay Lane",
        "person": "Ines Okafor",
        "procedure_code": "P03",
        "procedure_title": "Tool swap",
        "version": 4,
        "in_force_from": "2026-06-01",
        "unit": "unit 2",
        "through": "2027-02-11",
        "issued_at": "2026-08-11T16:25",
        "basis": "observed",
        "lowered": "",
        "performances": 5,
        "performances_clean": 5,
        "methods": "2 by real work, 3 by practice piece",
        "check": "passed on 2 July 2026, version 4",
        "watched_on": ["2026-06-16", "2026-06-30", "2026-07-14", "2026-07-28"],
        "watched_by": ["Tomas Lindqvist, lead assistant", "Dr Marguerite Achterberg, dentist"],
        "rests_on": ["P01", "P02"],
        "elements": [*(Element(name, True, "watched") for name in NAMES), Element("Problem solving", False, "")],
        "signer": "Tomas Lindqvist",
        "signer_role": "lead assistant",
        "signed_at": "2026-08-11T16:20",
        "signed_how": "by PIN on the bench tablet",
        "meaning": "I watched her do this. She may work on it alone.",
        "check_code": "OAK-71-TIDE",
        "check_url": "https://register.example/c/OAK71TIDE",
        "seal": "9c1f 44e0 a27d",
        "replaces": "",
        "maker": "the maker’s instructions, edition 7",
    }
    return CertificateContent(**(plain | changes))


def binder(people: int = 3, procedures: int = 4, **changes: Any) -> b.BinderContent:
    names = [f"Person Ångström {n:03}" for n in range(people)]
    states = ("current", "due", "on hold", "lapsed", "withdrawn", "ready", "learning", "untrained", "")
    plain: dict[str, Any] = {
        "organisation": "Harbour Row Dental",
        "site": "Harbour Row",
        "address": "12 Quay Lane",
        "paper": "A4",
        "language": "en-GB",
        "first": "2026-01-01",
        "last": "2026-11-25",
        "as_of": "2026-11-25",
        "made_at": "2026-11-25T12:40",
        "known_by": "2026-11-25T12:40",
        "short": False,
        "stop": 2,
        "fix": 3,
        "note": 1,
        "kept_elsewhere": 7,
        "late": [Track("unit 1", [Stretch("2026-03-04", "2026-03-06", "overdue", True)], [])],
        "late_says": "What hangs below a line was late: three days in all.",
        "questions": [
            b.Question("Who may use the milling units?", "Everybody with a signed record.", "people", ""),
            b.Question("Where is the plan?", "Kept on paper.", "", "office"),
        ],
        "scope": ["Everything the register keeps of milling at this site."],
        "roster": [b.Member(name, "assistant", "2025-01-06", "") for name in names],
        "procedures": [b.Head(f"P{n:02}", f"Procedure number {n}") for n in range(procedures)],
        "matrix": [b.MatrixRow(name, [states[(i + n) % 9] for n in range(procedures)]) for i, name in enumerate(names)],
        "minimum": 2,
        "people": [record(name) for name in names],
        "sessions": [
            b.Session(
                "2026-02-03",
                "T01 Bloodborne pathogens",
                "What splashes and what to do.",
                "Dr Achterberg",
                "dentist",
                True,
                "English",
                [b.Attendee(name, "assistant") for name in names],
            )
        ],
        "texts": [
            b.ProcedureText(
                "P03",
                "Tool swap",
                4,
                "2026-06-01",
                "Dr Achterberg",
                "edition 7",
                "To change a tool unhurt.",
                ["sharp carbide"],
                ["gloves"],
                [
                    b.Step("Wait until each spindle stands still.", True, "It runs on.", ""),
                    b.Step("Note the tool.", False, "", "a tool is new"),
                ],
                ["handbook"],
            )
        ],
        "authorities": [
            b.AuthorityRow("Tomas Lindqvist", "all milling", "2026-01-01", "", "Dr Achterberg", "founding grant")
        ],
        "signed": [b.SignedRow("Tomas Lindqvist", name, "P03", 1) for name in names],
        "upkeep": [
            b.UpkeepRow("2026-03-06", "unit 1", "coolant filter", name, "usable", "2.1 bar", "3 days late")
            for name in names
        ],
        "findings": [b.FindingRow("stop", "Coolant filter overdue.", "2026-11-24", "")],
        "extras": [],
        "seals": ["Harbour Row: 4,118 facts, head 9c1f 44e0 a27d."],
        "how_to_check": ["Run the seal check and compare the head."],
    }
    return b.BinderContent(**(plain | changes))


def record(name: str) -> b.PersonRecord:
    return b.PersonRecord(
        name,
        "assistant since 6 January 2025",
        [b.SpanRow("P03 Tool swap", "current", "2026-08-11", "2027-02-11", "observed", "signed by Tomas Lindqvist")],
        [b.ObservationRow("2026-07-28", "P03", 4, "assessment", "real work", "met", "Tomas Lindqvist", "Calm.")],
        [
            b.SignOffRow(
                "P03",
                4,
                "sign-off",
                "Tomas Lindqvist",
                "2026-08-11T16:20",
                "I watched her do this. She may work on it alone.",
                "2027-02-11",
            )
        ],
        ["P03, version 4: check passed on 2 July 2026."],
    )
