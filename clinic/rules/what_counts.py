"""Which use counts for which unit's tasks.

Wet work uses up coolant and its filter, dry work fills the suction filter; use that does not say which counts for both.
Common practice, no source.
"""

WET_WORK = frozenset({"coolant tank", "coolant filter"})
DRY_WORK = frozenset({"suction unit"})


def use_counts(kind: str, wet: bool | None) -> bool:
    """Whether a use, wet or dry, counts for the tasks of a unit of this kind."""
    if wet is None:
        return True
    return wet if kind in WET_WORK else not wet if kind in DRY_WORK else True
