"""Units, torque drivers, milling tools, blocks, sterilisers and water: what was done and set, in words."""

from clinic.models import (
    CoolantBands,
    DriverDetails,
    FactorEntered,
    LoadReleased,
    MakersPair,
    OpeningReading,
    OutOfService,
    ReferenceDetails,
    ReturnToService,
    SteriliserEvent,
    ToolMounted,
    ToolRemoved,
    UnitChanged,
    Verification,
    WaterLimit,
)
from clinic.reads.drivers import VerificationSaid, details_on, judged, reference_on
from clinic.rules.words import begun, counted_many, day_words, listed
from training.reads.fact_words.parts import (
    FactWords,
    Sentence,
    fact_link,
    from_day,
    labelled,
    on_day,
    say,
    section,
    sentences,
    unit,
    who,
    writes,
)


@writes(OpeningReading, "opening reading")
def opening(fact: OpeningReading) -> FactWords:
    since = f", and {counted_many(fact.units, fact.task.unit_word)} since" if fact.units else ""
    return FactWords(
        say(f"{fact.task.title} of {fact.equipment} was last done on {day_words(fact.last_done)}, before this register"),
        sentences(
            say("The register counts for ", unit(fact.equipment), " from that day", since, "."),
            labelled("Why", fact.reason),
        ),
    )  # fmt: skip


@writes(OutOfService, "stop of a unit")
def stopped(fact: OutOfService) -> FactWords:
    return FactWords(
        say(f"{begun(str(fact.equipment))} was taken out of service ", on_day(fact)),
        sentences(
            say("From then on nobody uses ", unit(fact.equipment), " until it is returned."),
            labelled("Why", fact.reason),
        ),
    )


@writes(ReturnToService, "return of a unit")
def returned(fact: ReturnToService) -> FactWords:
    return FactWords(
        say(f"{begun(str(fact.equipment))} was returned to service ", on_day(fact)),
        sentences(
            say("From then on ", unit(fact.equipment), " may be used again."),
            labelled("What was checked before", fact.check_done),
        ),
    )


@writes(DriverDetails, "papers of a torque driver")
def driver_details(fact: DriverDetails) -> FactWords:
    unit_of = fact.torque_unit
    return FactWords(
        say(f"What {fact.equipment} is was written down {from_day(fact)}"),
        sentences(
            say(unit(fact.equipment), f" is of class {fact.driver_class}, fits {fact.seat}, and is set to {fact.set_torque} {unit_of}."),
            f"Its largest torque is {fact.most_torque} {unit_of}" + (f", its lowest mark {fact.lowest_marked} {unit_of}." if fact.lowest_marked else "."),
            labelled("The target torque is from", fact.target_source),
            labelled("Its maker’s own limit", f"{fact.declared_percent} %" if fact.declared_percent else ""),
            labelled("Paper", papers(fact)),
        ),
    )  # fmt: skip


def papers(fact: DriverDetails) -> str:
    return f"{fact.paper}, number {fact.paper_number}" if fact.paper_number else fact.paper


@writes(ReferenceDetails, "papers of a reference")
def reference_details(fact: ReferenceDetails) -> FactWords:
    return FactWords(
        say(f"How right {fact.equipment} is was written down {from_day(fact)}"),
        sentences(
            say("A reading of ", unit(fact.equipment), f" is off by {fact.percent} % at most, with its uncertainty."),
            f"Its own check is good through {day_words(fact.good_through)}.",
            labelled("Paper", fact.paper_words),
        ),
    )


@writes(Verification, "check of a torque driver")
def verification(fact: Verification) -> FactWords:
    details = details_on(fact.equipment, fact.happened_on)
    found = judged(fact, details, reference_on(fact.reference, fact.happened_on)) if details else None
    came_to = ("passed" if found.passed else "failed") if found else "was done on"
    return FactWords(
        say(f"{begun(str(fact.equipment))} {came_to} its check " if found else f"The check of {fact.equipment} was done ", on_day(fact)),
        sentences(
            say(unit(fact.equipment), " was checked by ", who(fact.done_by), " against ", unit(fact.reference), "."),
            f"Each reading may be off by {found.limit} % at most." if found else "Nothing is written about the driver, so it is not judged.",
            f"The room was between {fact.room_lowest} and {fact.room_highest} °C.",
            *(found.reasons if found else ()),
            labelled("Note", fact.note),
        ),
        section("Every reading, and by how much it is off", readings(fact, found, details)),
    )  # fmt: skip


def readings(fact: Verification, found: VerificationSaid | None, details: DriverDetails | None) -> list[Sentence | str]:
    unit_of = details.torque_unit if details else ""
    if found is None:
        return [f"Set to {row['set']}: read {listed(row['readings'])}." for row in fact.points]
    return [
        f"Set to {asked} {unit_of}: read {listed([f'{read} ({off} %)' for read, off, _ in rows])}." for asked, rows in found.points
    ]  # fmt: skip


@writes(MakersPair, "line of the maker’s table")
def makers_pair(fact: MakersPair) -> FactWords:
    may = "may" if fact.allowed else "may not"
    return FactWords(
        say(f"On {fact.equipment}, {fact.get_tool_display().lower()} {may} mill {fact.get_material_display().lower()} {fact.get_way_display().lower()}, {from_day(fact)}"),
        sentences(labelled("Source", fact.source)),
    )  # fmt: skip


@writes(ToolMounted, "mounting of a tool")
def mounted(fact: ToolMounted) -> FactWords:
    clicked = {True: " until it clicked", False: ", and it did not click", None: ""}[fact.clicked]
    way = {True: "wet", False: "dry", None: ""}[fact.wet]
    job = " ".join(filter(None, (fact.material, way)))
    return FactWords(
        say(f"Tool {fact.tool} was set into position {fact.position} of {fact.equipment} ", on_day(fact)),
        sentences(
            say("Done by ", who(fact.done_by), say(", with ", who(fact.stood_by), " standing by") if fact.stood_by else "", "."),
            say("Tightened with ", unit(fact.driver), clicked, ".") if fact.driver else None,
            labelled("For", job),
            f"{counted_many(fact.life_used, fact.tool.life_unit)} of its life {'was' if fact.life_used == 1 else 'were'} used before." if fact.life_used else None,
            tools_counted(fact),
        ),
    )  # fmt: skip


def tools_counted(fact: ToolMounted | ToolRemoved) -> str | None:
    if fact.counted_out is None or fact.counted_in is None:
        return None
    return f"Tools counted: {fact.counted_out} before the door opened, {fact.counted_in} before it closed."


@writes(ToolRemoved, "taking out of a tool")
def removed(fact: ToolRemoved) -> FactWords:
    place = fact.mounting
    return FactWords(
        say(f"Tool {place.tool} was taken out of position {place.position} of {place.equipment} ", on_day(fact)),
        sentences(
            say("Done by ", who(fact.done_by), "; it had been set in with ", fact_link(place), "."),
            labelled("Why", fact.get_why_display()),
            f"{counted_many(fact.life_used, place.tool.life_unit)} of its life {'was' if fact.life_used == 1 else 'were'} used by then." if fact.life_used is not None else None,
            tools_counted(fact),
        ),
    )  # fmt: skip


@writes(FactorEntered, "entry of a factor")
def factor_entered(fact: FactorEntered) -> FactWords:
    packet = fact.lot.factor
    return FactWords(
        say(f"The factor {fact.factor} was typed in for a job from lot {fact.lot} ", on_day(fact)),
        sentences(f"The packet of the lot says {packet}." if packet else "No factor of the lot is written down."),
    )


@writes(SteriliserEvent, "event of a steriliser")
def steriliser_event(fact: SteriliserEvent) -> FactWords:
    return FactWords(
        say(f"{begun(str(fact.equipment))}: {fact.get_what_display().lower()}, ", on_day(fact)),
        sentences(
            say("It is part of the story of ", unit(fact.equipment), "."),
            say("It goes with ", fact_link(fact.entry), ".") if fact.entry else None,
            labelled("Note", fact.reason),
        ),
    )  # fmt: skip


@writes(LoadReleased, "release of a load")
def load_released(fact: LoadReleased) -> FactWords:
    side = "outside" if fact.by_outside else "inside"
    return FactWords(
        say(f"Load {fact.load} of {fact.equipment} was released for use ", on_day(fact)),
        sentences(
            say(
                "Released from ",
                unit(fact.equipment),
                f" by its mechanical readings and the {side} chemical indicators.",
            ),
        ),
    )


@writes(UnitChanged, "change of a line")
def unit_changed(fact: UnitChanged) -> FactWords:
    return FactWords(
        say(f"{begun(str(fact.equipment))} was changed ", on_day(fact)),
        sentences(
            labelled("What", fact.what),
            say("Two passes in a row prove ", unit(fact.equipment), " again."),
        ),
    )


@writes(WaterLimit, "limit of water")
def water_limit(fact: WaterLimit) -> FactWords:
    gives = (
        f"{fact.number:,} {fact.unit}"
        if fact.number is not None
        else "none, so that the 500 CFU/mL of treatment water hold"
    )
    return FactWords(
        say(f"The maker’s limit of {fact.equipment or 'every line of the site'} is {gives}, {from_day(fact)}"),
        sentences(
            say("It holds for ", unit(fact.equipment, "every line of the site"), "."), labelled("Source", fact.source)
        ),
    )  # fmt: skip


@writes(CoolantBands, "bands of coolant")
def coolant_bands(fact: CoolantBands) -> FactWords:
    return FactWords(
        say(f"Coolant is judged by the bands of {fact.edition}, {from_day(fact)}"),
        sentences(
            f"Below {fact.reasonable_from:,} CFU/mL is good; from {fact.poor_from:,} CFU/mL on is poor; between them is reasonable."
        ),
    )
