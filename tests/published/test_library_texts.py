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


@pytest.mark.parametrize("code", ["P06", "P07"])
def test_where_a_hand_goes_deep_the_unit_is_unplugged_first_and_that_is_critical(library: Library, code: str) -> None:
    """O-28, 29 CFR 1910.147(a)(2)(iii)(A), V."""
    assert "unplug" in critical(library, code)


def test_the_plug_stays_in_ones_own_control_during_a_deep_clean(library: Library) -> None:
    """O-28, exclusive control: OSHA letter of 30 Nov 2010, V."""
    assert "keep the plug in your own control" in critical(library, "P06")


def test_a_tool_change_does_not_need_the_plug(library: Library) -> None:
    """O-29, 29 CFR 1910.147(a)(2)(ii) Note, V: routine, repetitive, and behind an interlocked door."""
    assert "plug" not in says(library, "P03")


@pytest.mark.parametrize("code", ["P02", "P03", "P06", "P07", "P08", "P12", "P19", "P20", "P21"])
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
    assert 'marked "contaminated" until' in critical(library, "P22")


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
    assert "the floor is wet put up the sign" in says(library, "P15")
    assert "dry the floor" in says(library, "P15")


def test_first_aid_for_a_cut_is_drilled_every_half_year(library: Library) -> None:
    """S-83 and S-84, V (abstracts): what is rarely done is forgotten within months; the six months are D."""
    assert next(one for one in library.procedures if one.code == "P13").policy.renewal_months == 6


def test_every_procedure_names_the_methods_it_may_be_assessed_by(library: Library) -> None:
    """K-09, ISO 19011:2018 clause 7, M: at least one of the set methods."""
    practices = [one for one in library.procedures if not one.code.startswith("T")]
    assert len(practices) == 22
    assert all(one.policy.methods and one.policy.renewal_methods for one in practices)
