"""How long a slipping chart runs before it alarms: the average run length (ARL).

In control it is the average number of performances between false alarms; out of control, the number before a true
one.
"""

from collections.abc import Callable

from scipy.linalg import solve

from training.rules.charts import Weights
from training.rules.learning import refuse_bad_share

GRID = 400
"""Grid points between 0 and h; the run lengths of S-59 move by less than 1 % from here to twice as many."""


def lattice_run_length(failure_adds: int, limit: int, failure_rate: float) -> float:
    """Exact ARL, in performances, of the chart that counts −1 for a success and `failure_adds` for a failure.

    It starts at 0, never falls below 0 and alarms at `limit` or more. Solves L = 1 + Q·L over the scores 0 … limit −
    1 (Brook and Evans 1972, from memory). A published chart "m" has failure_adds = m − 1. ValueError for a limit or a
    step below 1, or a rate that is not between 0 and 1. Source: S-61.
    """
    refuse_bad_share("failure rate", failure_rate)
    if failure_adds < 1 or limit < 1:
        raise ValueError(f"A lattice chart needs a step and a limit of 1 or more, not {failure_adds} and {limit}.")

    def moves(score: int) -> list[tuple[float, int]]:
        return [(1 - failure_rate, max(0, score - 1)), (failure_rate, score + failure_adds)]

    return _mean_steps(limit, moves)


def average_run_length(weights: Weights, h: float, failure_rate: float, grid: int = GRID) -> float:
    """ARL, in performances, of a CUSUM with any weights, started at 0, alarm at h.

    Method: the score is held on `grid` equal steps of h; a score between two of them is shared between both in
    proportion (Markov chain of Brook and Evans 1972, from memory), so the result is good to about 1 %. ValueError for
    a limit that is not positive, weights of the wrong signs, or a rate that is not between 0 and 1. Source: S-59.
    """
    refuse_bad_share("failure rate", failure_rate)
    if h <= 0 or weights.failure <= 0 or weights.success >= 0:
        raise ValueError("A slipping chart needs a positive limit, a failure that adds and a success that takes away.")
    width = h / grid
    steps = ((1 - failure_rate, weights.success / width), (failure_rate, weights.failure / width))

    def moves(score: int) -> list[tuple[float, int]]:
        return [part for chance, step in steps for part in _shared(chance, max(0.0, score + step))]

    return _mean_steps(grid, moves)


def _shared(chance: float, place: float) -> list[tuple[float, int]]:
    below = int(place)
    return [(chance * (1 - (place - below)), below), (chance * (place - below), below + 1)]


def _mean_steps(size: int, moves: Callable[[int], list[tuple[float, int]]]) -> float:
    """Mean number of steps from 0 until a chain leaves the scores 0 … size − 1."""
    matrix = [[float(row == column) for column in range(size)] for row in range(size)]
    for score in range(size):
        for chance, reached in moves(score):
            if reached < size:
                matrix[score][reached] -= chance
    return float(solve(matrix, [1.0] * size)[0])
