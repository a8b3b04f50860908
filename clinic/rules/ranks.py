"""Who stands above whom where a code could open somebody's account. Common practice, no source: whoever signs for the work
of others stands above whoever does not; a coordinator above them; then the safety officer; then the owner."""

from collections.abc import Mapping

SIGNS = 1
OF_POST = {"coordinator": 2, "safety officer": 3, "owner": 4}


def stands_as_high(one: Mapping[int, int], other: Mapping[int, int], home: int) -> bool:
    """Whether one person's ranks (by site) reach another's at that other's home site, and at every site where the other has
    one. For somebody without any, whoever signs at their home site is high enough."""
    needed = dict(other) | {home: max(SIGNS, other.get(home, 0))}
    return all(one.get(site, 0) >= rank for site, rank in needed.items())
