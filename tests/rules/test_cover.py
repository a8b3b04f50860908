"""Whether the person who did the upkeep was allowed that day."""

from clinic.rules.cover import EntryStanding, Present, entry_cover

ANNA, BO, CY = Present("Anna", False), Present("Bo", True), Present("Cy", False)


def test_a_usable_doer_held_it_whoever_stood_by():
    assert entry_cover(BO, [CY], procedure="P07").standing is EntryStanding.HELD


def test_a_usable_person_standing_by_is_enough():
    cover = entry_cover(ANNA, [CY, BO], procedure="P07")
    assert cover.standing is EntryStanding.STOOD_BY
    assert cover.sentence == "Anna did not hold P07 that day; Bo, who did, stood by."


def test_nobody_usable_says_who_was_there():
    assert entry_cover(ANNA, procedure="P07").sentence == "Anna did not hold P07 that day, and nobody stood by."
    cover = entry_cover(ANNA, [CY], procedure="P07")
    assert cover.standing is EntryStanding.NOBODY_USABLE
    assert cover.sentence == "Anna did not hold P07 that day, and Cy, standing by, did not either."


def test_a_task_without_a_covering_procedure_is_open_to_anybody():
    assert entry_cover(ANNA, procedure=None).standing is EntryStanding.HELD


def test_somebody_of_the_same_name_stands_by_like_anybody_else() -> None:
    """Two people may share a name; whoever does not hold it does not hold it standing by either."""
    namesake = entry_cover(Present("Ada Lind", False), [Present("Ada Lind", True)], procedure="Cleaning")
    oneself = entry_cover(Present("Ada Lind", False), [Present("Ada Lind", False)], procedure="Cleaning")
    assert (namesake.standing, oneself.standing) == (EntryStanding.STOOD_BY, EntryStanding.NOBODY_USABLE)
