"""What the steps of the library say, held against the handbook rows they rest on.

Marks: V read in the source, M from memory, C common practice without a source, D own design. The makers' instructions and
local rules come first; a row that is a duty elsewhere is good practice here.
"""

from pathlib import Path

import pytest

from training.rules.library import Library, read_library

CUT_RESISTANT = "cut-resistant gloves"


@pytest.fixture(scope="module")
def library() -> Library:
    return read_library(Path(__file__).parents[2] / "fixtures" / "library")


def says(library: Library, code: str) -> str:
    """All a procedure's steps, in small letters."""
    steps = next(one for one in library.procedures if one.code == code).content.steps
    return "\n".join(f"{step.when} {step.do} {step.caution}" for step in steps).lower()


def critical(library: Library, code: str) -> str:
    steps = next(one for one in library.procedures if one.code == code).content.steps
    return "\n".join(f"{step.do} {step.caution}" for step in steps if step.critical).lower()


@pytest.mark.parametrize("code", ["P07", "P23"])
def test_where_a_hand_goes_deep_the_unit_is_unplugged_first_and_that_is_critical(library: Library, code: str) -> None:
    """O-28, 29 CFR 1910.147(a)(2)(iii)(A), V."""
    assert "unplug" in critical(library, code)


def test_the_plug_stays_in_ones_own_control_during_a_deep_clean(library: Library) -> None:
    """O-28, exclusive control: OSHA letter of 30 Nov 2010, V."""
    assert "keep the plug in your own control" in critical(library, "P23")


def test_a_tool_change_does_not_need_the_plug(library: Library) -> None:
    """O-29, 29 CFR 1910.147(a)(2)(ii) Note, V: routine, repetitive, and behind an interlocked door."""
    assert "plug" not in says(library, "P03")


@pytest.mark.parametrize("code", ["P02", "P03", "P06", "P07", "P08", "P12", "P19", "P20", "P21", "P23"])
def test_whoever_works_near_edges_wears_gloves_against_cuts_and_eyewear(library: Library, code: str) -> None:
    """O-32, 29 CFR 1910.138(a) and 1910.133(a)(1), M."""
    worn = " ".join(next(one for one in library.procedures if one.code == code).content.protective_equipment).lower()
    assert CUT_RESISTANT in worn
    assert "eyewear" in worn


def test_the_place_for_worn_cutters_is_a_puncture_proof_tub(library: Library) -> None:
    """O-33: for clean cutters good practice, not the duty of 29 CFR 1910.1030(d)(4)(iii)(A), V."""
    (tub,) = [fact for fact in library.site_facts if fact.name == "tub"]
    assert "puncture-proof" in tub.write


def test_a_chemical_in_another_bottle_is_labelled_with_name_and_hazards(library: Library) -> None:
    """O-27, 29 CFR 1910.1200(f)(6), M."""
    assert "label the bottle with name, hazards and day" in says(library, "P18")


def test_the_tank_is_never_washed_with_pressure(library: Library) -> None:
    """W-13: HSE, avoid jetting slime, V."""
    assert "no pressure washing" in critical(library, "P07")


def test_the_door_stays_shut_until_the_mist_has_settled_for_sixty_seconds_unless_the_site_says_more(
    library: Library,
) -> None:
    """W-15, C; the 60 s are D."""
    (settling,) = [fact for fact in library.site_facts if fact.name == "settling time"]
    assert "60 where no value is given" in settling.write
    assert "wait with the door shut for {settling time}" in says(library, "P06")


def test_hands_are_cleaned_by_soap_when_soiled_and_by_rub_otherwise_and_before_the_gloves(library: Library) -> None:
    """W-23, CDC 2003, M."""
    assert "soap and water when soiled, otherwise alcohol rub" in critical(library, "P14")
    assert "clean your hands again, right before the gloves" in critical(library, "P14")


def test_a_surface_stays_wet_for_the_time_on_the_label(library: Library) -> None:
    """W-24, CDC 2003, M."""
    assert "keep the surface wet for the whole label time" in critical(library, "P15")


def test_a_part_back_from_a_mouth_is_contaminated_until_it_is_disinfected(library: Library) -> None:
    """W-25, CDC 2003 on laboratory items, M; Z-22, C."""
    assert "marked “contaminated” until" in critical(library, "P22")


def test_powder_is_vacuumed_before_any_rinse(library: Library) -> None:
    """Z-16, C."""
    assert "vacuum and wipe always come before a rinse" in says(library, "P06")


@pytest.mark.parametrize("words", ["clean out all powder by p06 before any water runs", "damp powder cakes"])
def test_a_change_between_dry_and_wet_leaves_neither_powder_nor_drops(library: Library, words: str) -> None:
    """Z-17, C."""
    assert words in critical(library, "P19")


@pytest.mark.parametrize("words", ["no compressed air", "no dry sweeping"])
def test_dust_is_neither_blown_nor_swept(library: Library, words: str) -> None:
    """Z-19 and Z-20, C."""
    assert words in says(library, "P06")


def test_water_on_the_floor_is_signed_and_dried(library: Library) -> None:
    """Z-21, C."""
    assert "put up the sign where the floor is wet" in says(library, "P15")
    assert "dry the floor" in says(library, "P15")


def test_first_aid_for_a_cut_is_drilled_every_half_year(library: Library) -> None:
    """S-83 and S-84, V (abstracts): what is rarely done is forgotten within months; the six months are D."""
    assert next(one for one in library.procedures if one.code == "P13").policy.renewal_months == 6


def test_every_procedure_names_the_methods_it_may_be_assessed_by(library: Library) -> None:
    """K-09, ISO 19011:2018 clause 7, M: at least one of the set methods."""
    practices = [one for one in library.procedures if one.kind == "practice"]
    assert all(one.policy.methods and one.policy.renewal_methods for one in practices)


def answers(library: Library, row: str) -> list[str]:
    """The right option of every question that rests on the row, with what is said of it afterwards."""
    asked = [question for one in library.procedures for question in one.content.questions]
    asked += [question for _, question in library.supervisor_questions]
    return [f"{question.right} {question.why}" for question in asked if row in question.sources]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("O-26", "the fourth is first aid"),  # 29 CFR 1910.1200 App. D, M: sixteen sections
        ("O-36", "5 mg/m³ as Zr"),  # 29 CFR 1910.1000 Table Z-1, V
        ("O-37", "50 µg/m³ belongs to silica"),  # 29 CFR 1910.1053(c), V
        ("W-14", "0.4 mg/m³ to fluid mist"),  # NIOSH 98-102, V: written for metalworking fluid
        ("W-27", "The finest dust cannot be seen."),  # Brune 1980, V: much of laboratory dust is respirable
        ("Z-04", "Without lot and factor nobody can say what it is."),  # Oh et al. 2010, V: shrinkage varies by lot
        ("Z-10", "Take the driver that fits this shank."),  # C
        ("Z-14", "Purge, check each jet, then call."),  # C
    ],
)
def test_the_right_option_is_the_one_of_the_row(library: Library, row: str, words: str) -> None:
    assert any(words in answer for answer in answers(library, row)), answers(library, row)


def test_first_aid_presses_a_heavy_wound_first_then_washes_and_never_squeezes(library: Library) -> None:
    """W-26, NIOSH Stop Sticks, V; pressing first C; no squeezing M."""
    steps = critical(library, "P13")
    assert steps.index("press on it with a clean pad") < steps.index("wash the wound with soap and running water")
    assert "no squeezing, sucking or bleach" in steps


@pytest.mark.parametrize(
    ("code", "days", "readings"),
    [
        ("U14", 7, {"clear", "way_free"}),  # O-34, 29 CFR 1910.151(c), M; weekly is C
        ("U18", 365, {"workplace", "certifier", "day", "headed"}),  # O-23, 29 CFR 1910.132(d)(2), M: four fields
        ("U20", 365, {"accounts"}),  # E-25, 21 CFR 11.300(b), M, as a voluntary benchmark
    ],
)
def test_what_is_certified_or_reviewed_has_its_days_and_fields(
    library: Library, code: str, days: int, readings: set[str]
) -> None:
    (task,) = [one for one in library.upkeep_tasks if one.code == code]
    assert (task.every_days, {reading.key for reading in task.readings}) == (days, readings)
