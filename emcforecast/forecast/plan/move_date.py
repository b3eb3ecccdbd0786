"""The chance of being ready against the day of the last move."""

from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import Moisture
from emcforecast.ensemble.threads import in_threads
from emcforecast.forecast.plan.choose import NEAR_ENOUGH, TIE
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import EVENS, HAIR, is_ready, may_enter

GRID = ((0, 7), (28, 14), (56, 28), (112, 56))
"""From so many days before the need date back: days between the moves that are
followed. The longer wood settles in the new place, the less two moves differ."""


@dataclass(frozen=True)
class MoveCurve:
    """Chance of being ready against the day of the last move.

    Parameters
    ----------
    days : ndarray of int
        Every day since the stacking on which the last move may be made.
    chance : ndarray
        Of being ready when needed.
    excess : ndarray
        Points too wet on the need date, % MC.
    """

    days: IntArray
    chance: FloatArray
    excess: FloatArray

    def best(self, surest: float = 0.0) -> int:
        """Return the day to move: the last that is sure, or dry, as can be.

        Parameters
        ----------
        surest : float
            The best chance of any route; from an even chance on, what is within
            `TIE` of it is as sure.
        """
        most = float(self.chance.max())
        top = max(surest, most)
        least = min(top - TIE, most) if top >= EVENS else most
        enough = self.chance >= least - HAIR
        if top <= TIE:
            enough = self.excess <= self.excess.min() + NEAR_ENOUGH
        return int(self.days[np.flatnonzero(enough)[-1]])

    def latest(self, level: float) -> int | None:
        """Return the last day with a chance, or None."""
        enough = np.flatnonzero(self.chance >= level - HAIR)
        return int(self.days[enough[-1]]) if enough.size else None


def move_curve(asked: Question, route: Route) -> MoveCurve:
    """Try the last move of a route on every day on which it may be made.

    The runs are followed from moves on the days of a grid. The moisture that one moved
    between two of them has on the need date lies on the line between theirs.
    """
    (*_, place, after), need = route.places, asked.need
    state, came = asked.arrive(route.places[:-1], route.moves[:-1])
    begin = max(came + (len(route.moves) > 1), asked.first_move)
    path = asked.ensemble.stay(state, came, begin, place)
    marks = _grid(begin, need)
    states = {begin: path.state}
    for day, until in zip([begin, *marks], [*marks, need], strict=False):
        path = path.then(asked.ensemble.stay(path.state, day, until, place))
        states[until] = path.state
    days = np.arange(begin, need)
    wetness = np.median(path.mean[begin - came : need - came], axis=1)
    days = days[may_enter(asked.air.places[after], wetness)]
    grid = np.unique([days[0], days[-1], *np.intersect1d(marks, days)])

    def moved_on(day: int) -> Moisture:
        mark = max(mark for mark in states if mark <= day)
        legs, starts = np.array([[place], [after]]), np.array([[mark], [day]])
        return asked.ensemble.run(states[mark], mark, need, legs, starts)

    runs = in_threads(moved_on, [int(day) for day in grid])
    row = np.clip(np.searchsorted(grid, days), 1, max(grid.size - 1, 1))
    row = np.minimum(row, grid.size - 1)
    share = (days - grid[row - 1]) / np.maximum(grid[row] - grid[row - 1], 1)

    def between(values: list[FloatArray]) -> FloatArray:
        ends = np.stack([value[-1] for value in values])
        line: FloatArray = ends[row - 1] + share[:, None] * (ends[row] - ends[row - 1])
        return line

    mean = between([run.mean for run in runs])
    shell, core = between([r.shell for r in runs]), between([r.core for r in runs])
    ready = is_ready(mean, shell, core, asked.target)
    excess = np.maximum(np.median(mean, axis=1) - asked.target.high, 0.0)
    return MoveCurve(days, ready.mean(axis=1), excess)


def _grid(begin: int, need: int) -> list[int]:
    """Days of moving to follow after the first, ascending; the last before the need.

    Examples
    --------
    >>> _grid(60, 150)
    [66, 94, 108, 122, 129, 136, 143]
    """
    marks, before = [], 0
    while need - (before := before + _stride(before)) > begin:
        marks.append(need - before)
    return marks[::-1]


def _stride(before: int) -> int:
    return next(stride for since, stride in reversed(GRID) if before >= since)
