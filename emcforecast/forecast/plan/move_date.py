"""The chance of being ready against the day of the last move."""

from dataclasses import dataclass

import numpy as np

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.forecast.plan.choose import NEAR_ENOUGH, TIE, as_sure
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import EVENS, HAIR, is_ready, may_enter
from emcforecast.physics.kernels.compiled import in_threads

GRID = ((0, 7), (28, 14), (56, 28), (112, 56))
"""From so many days before the need date back: days between the moves that are
followed. The longer wood settles in the new place, the less two moves differ."""
NEAR, TOGETHER = 2, 64
"""Days around the expected turn that are tried singly before halving; boards run in one
call."""


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
            The best chance of any route; from an even chance on, what is
            `as_sure` counts as that.
        """
        most = float(self.chance.max())
        top = max(surest, most)
        least = min(as_sure(top), most) if top >= EVENS else most
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

    Every run is followed from moves on the days of a grid and, where its outcome
    differs between two of them, from moves between, until the day is found on which
    it turns.
    """
    came = route.moves[-2] if len(route.moves) > 1 else asked.now
    begin = max(came + (came > asked.now), asked.first_move)
    before = asked.stay(route.places[:-1], route.moves[:-1], asked.need)
    wetness = np.median(before.mean[begin - came : -1], axis=1)
    days = np.arange(begin, asked.need)
    days = days[may_enter(asked.air.places[route.places[-1]], wetness)]
    inner = np.intersect1d(_grid(begin, asked.need), days[1:-1])
    grid = np.array([days[0], *inner, *days[1:][-1:]])
    every = np.arange(asked.runs)
    ends = in_threads(
        lambda day: _moved(asked, route, np.full(every.size, day), every),
        grid.tolist(),
    )
    mean, shell, core = (
        _interpolate(days, grid, np.stack(part)) for part in zip(*ends, strict=True)
    )
    ready = is_ready(mean, shell, core, asked.target)
    row = np.searchsorted(days, grid)
    ready[row] = [is_ready(*end, asked.target) for end in ends]
    _find_turns(asked, route, days, row, ready)
    excess = np.maximum(np.median(mean, axis=1) - asked.target.high, 0.0)
    return MoveCurve(days, ready.mean(axis=1), excess)


def _moved(
    asked: Question, route: Route, moved: IntArray, run: IntArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean, shell and core on the need date of runs moved on a day each."""
    begun, place, after = int(moved.min()), *route.places[-2:]
    state = asked.arrive(route.places, (*route.moves[:-1], begun))
    path = asked.ensemble.run(
        state[:, run],
        begun,
        asked.need,
        np.array([[place], [after]]),
        np.stack([np.full(moved.size, begun), moved]),
        run,
    )
    return path.mean[-1], path.shell[-1], path.core[-1]


def _find_turns(
    asked: Question, route: Route, days: IntArray, row: IntArray, ready: BoolArray
) -> None:
    """Make `ready` (days, runs) true between the rows that are, in place.

    The search for the day on which a run turns begins where the line between those
    rows has it turn.
    """
    gap, run = np.nonzero(ready[row[1:]] != ready[row[:-1]])
    low, high = row[gap], row[gap + 1]
    first, last = ready[low, run], high.copy()
    guess = [
        a + 1 + int(np.argmax(ready[a + 1 : b + 1, k] != ready[a, k]))
        for a, b, k in zip(low, high, run, strict=True)
    ]
    tried = np.clip(np.array(guess, dtype=np.int64), low + 1, high - 1)
    while (todo := np.flatnonzero(high - low > 1)).size:
        todo = todo[np.argsort(tried[todo], kind="stable")]
        turned = np.empty(todo.size, dtype=bool)
        for some in np.array_split(np.arange(todo.size), -(-todo.size // TOGETHER)):
            these = todo[some]
            end = _moved(asked, route, days[tried[these]], run[these])
            turned[some] = is_ready(*end, asked.target) != first[these]
        high[todo] = np.where(turned, tried[todo], high[todo])
        low[todo] = np.where(turned, low[todo], tried[todo])
        beside = np.where(turned, high[todo] - 1, low[todo] + 1)
        middle = (low[todo] + high[todo]) // 2
        near = np.abs(beside - np.array(guess)[todo]) <= NEAR
        tried[todo] = np.where(near, beside, middle)
    for since, day, until, k in zip(row[gap], high, last, run, strict=True):
        ready[since + 1 : day, k] = ready[since, k]
        ready[day:until, k] = ready[until, k]


def _interpolate(days: IntArray, grid: IntArray, values: FloatArray) -> FloatArray:
    """Values on days between those of a grid, along the first axis."""
    row = np.clip(np.searchsorted(grid, days), 1, max(grid.size - 1, 1))
    left, right = row - 1, np.minimum(row, grid.size - 1)
    share = (days - grid[left]) / np.maximum(grid[right] - grid[left], 1)
    line: FloatArray = values[left] + share[:, None] * (values[right] - values[left])
    return line


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
