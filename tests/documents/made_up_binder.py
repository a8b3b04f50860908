"""A small invented practice, filled in every part of the binder, and one of any size."""

from dataclasses import replace
from typing import Any

from training.documents.binder import content as b
from training.documents.binder.asks import BinderCounts, standard
from training.documents.charts import ShownDays, Track

WHO = (
    ("Dr Marguerite Achterberg", "dentist, owner"),
    ("Tomas Lindqvist", "lead assistant"),
    ("Hanna Kowalczyk", "assistant"),
    ("Ines Okafor", "assistant"),
    ("Callum Doyle", "assistant"),
    ("Zoë Ångström-Łukasz", "hygienist"),
)
WHAT = ("Chamber safety", "Know the tools", "Tool swap", "Clamp a block", "Torque-driver check", "Chamber cleaning")
STATES = (
    "current",
    "current",
    "due",
    "current",
    "on hold",
    "lapsed",
    "withdrawn",
    "ready",
    "learning",
    "untrained",
    "",
)
FACT = "3f1c9a7e-0b52-4d0e-9a51-6f0d2c7b8a{:02}"


def full(people: int = 6, procedures: int = 6, **changes: Any) -> b.BinderContent:
    """Every section holds something. Beyond the six who have names, people and procedures are numbered."""
    names = [WHO[n] if n < len(WHO) else (f"Person Ångström {n:03}", "assistant") for n in range(people)]
    titles = [WHAT[n] if n < len(WHAT) else f"Procedure number {n}" for n in range(procedures)]
    heads = [b.Head(f"P{n + 1:02}", title) for n, title in enumerate(titles)]
    plain: dict[str, Any] = _frame() | _equipment() | _proof()
    plain |= {
        "roster": [
            b.Member(name, role, "2025-01-06", "2026-10-30" if n == 4 else "") for n, (name, role) in enumerate(names)
        ],
        "procedures": heads,
        "matrix": [
            b.MatrixRow(name, [STATES[(3 * i + 7 * n + i * n) % 11] for n in range(procedures)])
            for i, (name, _) in enumerate(names)
        ],
        "people": [person(name, role, n) for n, (name, role) in enumerate(names)],
        "texts": [text(head, n) for n, head in enumerate(heads)],
        "signed": [
            b.SignedRow("Tomas Lindqvist", name, "P01, P03, P06", 3) for name, _ in names if name[:5] != "Tomas"
        ],
    }
    return b.BinderContent(**(plain | changes))


def empty(**changes: Any) -> b.BinderContent:
    """A binder of a practice that has recorded nothing yet."""
    nothing = {name: [] for name, value in vars(full()).items() if isinstance(value, list)}
    zero = dict.fromkeys(("stop", "fix", "note", "kept_elsewhere"), 0)
    return replace(full(), **(nothing | zero | {"late_says": "", "questions": standard(BinderCounts())} | changes))


def _frame() -> dict[str, Any]:
    known = BinderCounts(
        people=6, may=5, performances=18, watchers=3, outside=1, signers=2, founding=1, sessions=2, holes=1,
        topic_asked=6, topic_good=5, unasked=1, events=1, near=1, spores=3, spores_bad=1, lines=2, lines_over=1,
        sampled="2026-10-14", entries=8, late_days=5, helped=1, alone=1, drivers=2, drivers_good=1, texts=6,
        texts_checked=4, found=3, ended=1, facts=4118, whole=True, checked="2026-11-25", kept=3,
        plan=b.KeptRow("Exposure control plan", "office, red shelf", "Dr Achterberg", "2026-01-08"),
    )  # fmt: skip
    return {
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
        "packing": b.PACKING,
        "stop": 2,
        "fix": 3,
        "note": 1,
        "kept_elsewhere": 3,
        "late": [_track("unit 1", "2026-03-04", "2026-03-06"), _track("steriliser", "2026-07-20", "2026-07-21")],
        "late_says": "What hangs below a line was late: five days in all.",
        "questions": standard(known),
        "scope": ["Milling, cleaning and sterilising at Harbour Row. The register started on 6 January 2025."],
        "minimum": 2,
        "number": "B0007",
        "code": "ELM-20-REED",
        "check_url": "https://register.example/c/ELM20REED",
        "fact_url": "https://register.example/facts/",
    }


def _track(label: str, first: str, last: str) -> Track:
    return Track(label, [ShownDays(first, last, "overdue", True)], [])


def _equipment() -> dict[str, Any]:
    done = ("2026-02-03", "2026-03-07", "2026-05-04", "2026-08-11")
    tracks = [
        Track("coolant filter, every 30 days", [ShownDays("2026-01-01", "2026-11-25", "in time"), ShownDays("2026-03-04", "2026-03-06", "overdue", True)], list(done)),
        Track("water change, every 7 days", [ShownDays("2026-01-01", "2026-06-30", "in time"), ShownDays("2026-08-01", "2026-11-25", "in time")], []),
    ]  # fmt: skip
    columns = {
        "water": ["Day", "Place and line", "Reading", "Limit", "Result", "What was done", "Fact"],
        "spores": ["Day", "Steriliser", "Test lot", "Control lot", "Test", "Control", "Result", "What was done"],
        "drivers": ["Driver", "Set torque", "Verified", "Worst deviation", "Good through", "Result"],
        "tools": ["Tool", "Kind", "Unit and place", "Mounted", "Removed", "Life used"],
        "jobs": ["Day", "Case", "Lot", "Way", "Started by", "Allowed that day", "Came out", "Fact"],
    }
    rows = {
        "water": [["14 Oct 2026", "chair 2, air-water syringe", "620 CFU/mL", "500 CFU/mL", "over", "Shocked, flushed and sampled again on 21 October: 90 CFU/mL.", FACT.format(71)]],
        "spores": [["9 Mar 2026", "steriliser 1", "L-4471", "L-4471", "no growth", "no growth", "invalid", "Repeated before any release: no growth, control grew."]],
        "drivers": [["D-02, square", "12 N·cm", "4 Jun 2026", "+11.2 %", "", "outside: put away, 11 jobs since its last pass"]],
        "tools": [["T-118", "ball, 1.0 mm", "unit 1, place 3", "4 Aug 2026", "2 Sep 2026", "83 of 100 units"]],
        "jobs": [["3 Aug 2026", "26-0417", "ZR-2603-11", "dry", "Callum Doyle", "held", "remade: does not fit", FACT.format(72)]],
    }  # fmt: skip
    title = {
        "water": "Water",
        "spores": "Spore tests",
        "drivers": "Torque drivers",
        "tools": "Milling tools",
        "jobs": "Jobs",
    }
    return {
        "years": [
            b.UnitYear("unit 1", "milling unit, wet and dry", "X-1204", "2026-01-01", "2026-11-25", tracks, "In time on 321 of 324 days."),
            b.UnitYear("steriliser 1", "steriliser", "S-88", "2026-01-01", "2026-11-25", tracks[:1], "In time on 322 of 324 days."),
        ],
        "upkeep": [
            b.UpkeepRow(day, "unit 1", "coolant filter", "Callum Doyle", "learning", "2.1 bar", late, stood, FACT.format(n))
            for n, (day, late, stood) in enumerate(zip(done, ("in time", "3 days late", "in time", "in time"), ("", "Tomas Lindqvist", "", ""), strict=True))
        ],
        "extras": [b.Extra(title[key], "", columns[key], rows[key], key) for key in columns],
    }  # fmt: skip


def _proof() -> dict[str, Any]:
    return {
        "sessions": [
            b.Session("2026-02-03", "T01 Bloodborne pathogens, version 2", "What splashes, what to wear, what to do at once.", "Dr Marguerite Achterberg", "dentist, course of 2025", True, "English", [b.Attendee(name, role) for name, role in WHO[1:]], "", FACT.format(80), "Handed out: a sheet of two pages.", "Demonstrated: gloves put on and taken off."),
            b.Session("2026-09-15", "T02 Hazard communication, version 1", "New disinfectant.", "A visiting trainer", "", False, "English", [b.Attendee("Ines Okafor", "")], "the trainer’s qualification and one job title are missing.", FACT.format(81)),
        ],
        "authorities": [
            b.AuthorityRow("Tomas Lindqvist", "all milling, at Harbour Row", "2026-01-01", "", "Dr Marguerite Achterberg", "founding grant: a trainer’s visit of 12 December 2025"),
        ],
        "findings": [
            b.FindingRow("stop", "Torque driver D-02 was used past its check.", "2026-06-04", "", "a verification with every reading inside"),
            b.FindingRow("fix", "The water sample of chair 2 was over its limit.", "2026-10-14", "Shocked and sampled again.", "a reading within the limit", "2026-10-21"),
            b.FindingRow("note", "The coolant filter was changed three days late.", "2026-03-04", "The filter had been ordered late; two are on the shelf now.", "one reason for the day", "2026-03-09"),
        ],
        "events": [
            b.EventRow("2026-05-19", "sharps injury", "milling bench", "unit 1", "ball tool, 1.0 mm", "Ines reached in while Tomas Lindqvist held the lamp; the tool had not been parked.", "A long guard hangs at the door.", "no"),
        ],
        "kept": [
            b.KeptRow("Exposure control plan", "office, red shelf", "Dr Achterberg", "2026-01-08"),
            b.KeptRow("Hepatitis B offers and refusals", "personnel files", "Dr Achterberg", ""),
            b.KeptRow("Safety data sheets", "bench folder", "Hanna Kowalczyk", "2026-09-01"),
        ],
        "pathogens": "T01",
        "seals": ["Harbour Row: 4,118 facts, head 9c1f 44e0 a27d 03b1, checked on 25 November 2026 at 06:10, every seal whole."],
        "register": [
            "Last backup: 24 November 2026, by the register itself; the copy is complete.",
            "No restore drill was recorded by this day: nobody has shown that a copy can be restored.",
            "Last check of the seals: 20 November 2026, by Callum Doyle; no seal was broken.",
            "No record was taken away in the period.",
            "No legal hold stood on this day.",
        ],
        "how_to_check": ["Ask for the seal check to be run before you, and compare the head with the one above."],
    }  # fmt: skip


def person(name: str, role: str, n: int) -> b.PersonRecord:
    """A record with something in each of its parts."""
    rows = [
        ("P01 Chamber safety", "current", "2026-02-12", "2026-08-11", "carried over", "carried over from paper"),
        ("P01 Chamber safety", "current", "2026-08-12", "2027-02-11", "observed", "signed by Tomas Lindqvist"),
        ("P03 Tool swap", "lapsed", "2026-11-02", "", "observed", "183 days without doing it"),
    ]
    return b.PersonRecord(
        name,
        f"{role} since 6 January 2025",
        [b.SpanRow(*row, FACT.format(i)) for i, row in enumerate(rows)],
        [
            b.ObservationRow(f"2026-07-{14 + i}", "P01", 4, "assessment", method, outcome, "Tomas Lindqvist", notes, "unit 1", counts, FACT.format(20 + i))
            for i, (method, outcome, notes, counts) in enumerate(
                [("real work", "met", "Calm.", ""), ("practice piece", "not met", f"Step 7 is critical and was prompted, record {n}.", "Earlier ones no longer count."), ("real work", "met", "", "")]
            )
        ],
        [
            b.SignOffRow("P01", 4, "sign-off", "Tomas Lindqvist", "2026-08-11T16:20", "I watched this being done. It may be done alone.", "2027-02-11", "5 of 6: not problem solving", "", FACT.format(40)),
        ],
        [f"P01, version 4: passed on 2 July 2026, 9 of 10 right, record {n}."],
        "May work alone at one of two procedures asked.",
        [b.EvidenceRow("P01 Chamber safety", 4, 5, 6, 4, 2, "passed on 2 July 2026", "enough")],
        ["3 February 2026: T01 Bloodborne pathogens, as " + role + "."],
        ["The observation of 13 July was put right on 14 July: the day was wrong."] if n == 2 else [],
    )  # fmt: skip


def text(head: b.Head, n: int) -> b.ProcedureText:
    """A procedure of a dozen steps."""
    steps = [
        b.Step("Wait until the lamp is out and each spindle stands still.", True, "A spindle runs on after the stop.", ""),
        b.Step("Park the unit: “hands” on the panel. Open the door.", False, "", ""),
        b.Step("Take the tool out with tongs, never with fingers, and put it into the tray with its cutter away from you.", True, "", "a cutter is near"),
    ]  # fmt: skip
    return b.ProcedureText(
        head.code,
        head.title,
        n % 3 + 1,
        "2026-06-01",
        "Dr Marguerite Achterberg",
        "the maker’s instructions, edition 7, by Tomas Lindqvist on 2 June 2026" if n % 3 else "",
        "So that nobody is cut and nothing is broken.",
        ["sharp carbide", "coolant mist"],
        ["cut-resistant gloves under waterproof ones", "eye protection"],
        steps * 4,
        ["the handbook of the practice, common practice"],
        ["Five assessments met on four days by two people.", "Valid for 6 months in the first year, then 12."],
        "Step 7 asks for tongs." if n % 2 else "",
    )
