"""The chance of being ready against the day of the last move."""

from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.forecast.plan.arrivals import Outcomes, Stay, outcomes_of_moves, stay
from emcforecast.forecast.plan.choose import NEAR_ENOUGH, TIE
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import EVENS, HAIR, may_enter

GRID, EARLY_GRID = 14, 56
"""Days of moving on which every run is followed; between them, only those runs whose
outcome differs from one to the next, by halving."""
EARLY = 240
"""Days before the need date up to which a move is early."""


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
        Points too wet on the need date, % MC; between the days of the grid a line.
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
    """Try the last move of a route on every day on which it may be made."""
    state, day = asked.arrive(route.places[:-1], route.moves[:-1])
    before = stay(asked, route.places[-2], state, day, asked.need, GRID)
    every = np.arange(max(day + (len(route.moves) > 1), asked.first_move), asked.need)
    last = asked.air.places[route.places[-1]]
    every = every[may_enter(last, before.wetness(every))]
    early = every < asked.need - EARLY
    on_grid = every % np.where(early, EARLY_GRID, GRID) == 0
    on_grid[[0, -1]] = True
    grid = every[on_grid]
    at_grid = _of_every_run(asked, before, grid, route.places[-1])
    good = at_grid.ready.reshape(grid.size, asked.runs)
    place = np.flatnonzero(on_grid)
    whole = np.repeat(good, np.diff([*place, every.size]), axis=0)
    row, run = np.nonzero(good[1:] != good[:-1])
    low, high = place[row], place[row + 1]
    while (todo := np.flatnonzero(high - low > 1)).size:
        todo = todo[np.argsort(low[todo] + high[todo])]
        middle = (low[todo] + high[todo]) // 2
        after = np.full(todo.size, route.places[-1])
        some = outcomes_of_moves(asked, before, every[middle], run[todo], after)
        as_low = some.ready == good[row[todo], run[todo]]
        low[todo] = np.where(as_low, middle, low[todo])
        high[todo] = np.where(as_low, high[todo], middle)
    for first, end, k in zip(high, place[row + 1], run, strict=True):
        whole[first:end, k] ^= True
    excess = at_grid.by_copy(asked.runs, asked.target)[1]
    return MoveCurve(every, whole.mean(axis=1), np.interp(every, grid, excess))


def _of_every_run(
    asked: Question, before: Stay, grid: IntArray, after: int
) -> Outcomes:
    """Outcomes of every run moved on each day of a grid."""
    n = asked.runs
    return outcomes_of_moves(
        asked,
        before,
        np.repeat(grid, n),
        np.tile(np.arange(n), grid.size),
        np.full(grid.size * n, after),
    )
