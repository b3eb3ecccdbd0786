"""What becomes of boards carried from one place to another, day of moving by day."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import Run
from emcforecast.forecast.plan.runs import Cast
from emcforecast.forecast.plan.success import first_day, holds, is_fit
from emcforecast.forecast.targets import Target

TOGETHER = 56
"""Days of moving that are run in one call: the earlier boards wait for the later."""
LEAST, MOST = 64, 3000
"""Boards run in one call; fewer leave the processor idle."""


@dataclass(frozen=True)
class Stay:
    """All runs lying in one place, with their state kept every so often.

    Parameters
    ----------
    setting : int
        Which place.
    days : ndarray of int, shape (marks,)
        Days since the stack began at which the state is kept; the first is the day
        of coming in.
    states : list of ndarray
        One a mark.
    run : Run
        Daily from the day of coming in.
    """

    setting: int
    days: IntArray
    states: list[FloatArray] = field(repr=False)
    run: Run = field(repr=False)

    @property
    def begun(self) -> int:
        """Day of coming in."""
        return int(self.days[0])

    def wetness(self, days: IntArray) -> FloatArray:
        """Middle of the runs on some days, % MC."""
        result: FloatArray = np.median(self.run.mean[days - self.begun], axis=1)
        return result

    def before(self, day: int) -> int:
        """Which mark is the last not after a day."""
        return int(np.searchsorted(self.days, day, side="right")) - 1


def stay(
    runs: Cast, setting: int, state: FloatArray, day: int, until: int, every: int
) -> Stay:
    """Let every run lie in a place, and keep its state.

    Parameters
    ----------
    runs : Cast
        The runs.
    setting : int
        Which place.
    state : ndarray
        When they come in.
    day, until : int
        Days since the stack began.
    every : int
        Days between the kept states, counted from the stacking.
    """
    first = (day // every + 1) * every
    marks = np.array([day, *range(first, until, every)], dtype=np.int64)
    states, parts = [state], []
    for begin, end in zip(marks, [*marks[1:], until], strict=True):
        parts.append(runs.along(states[-1], int(begin), setting, int(end)))
        states.append(parts[-1].state)
    run = Run(
        _joined([part.mean for part in parts]),
        _joined([part.shell for part in parts]),
        _joined([part.core for part in parts]),
        states[-1],
    )
    return Stay(setting, marks, states[:-1], run)


def _joined(parts: list[FloatArray]) -> FloatArray:
    """Join records of which each begins with the last of the one before."""
    return np.concatenate([*(part[:-1] for part in parts[:-1]), parts[-1]])


@dataclass(frozen=True)
class Arrivals:
    """Boards that come into a new place; the last axis is boards.

    Parameters
    ----------
    number : ndarray of int
        Which of the boards asked for these are.
    day : int
        Days since the stacking at the first record.
    run : Run
        Daily; what lies before a board's own move is not yet in the new place.
    moved : ndarray of int
        Day of moving of each.
    """

    number: IntArray
    day: int
    run: Run
    moved: IntArray

    def fit(self, target: Target) -> NDArray[np.bool_]:
        """Whether each board is fit by day, in its new place; (days, boards)."""
        run = self.run
        arrived = np.arange(run.mean.shape[0])[:, None] >= self.moved - self.day
        result: NDArray[np.bool_] = arrived & is_fit(
            run.mean, run.shell, run.core, target
        )
        return result


def arrivals(
    runs: Cast,
    before: Stay,
    moved: IntArray,
    run: IntArray,
    after: IntArray,
    until: int,
) -> Iterator[Arrivals]:
    """Move boards out of a stay and follow them.

    Parameters
    ----------
    runs : Cast
        The runs.
    before : Stay
        Where they lie until they move.
    moved : ndarray of int, shape (boards,)
        Day of moving, ascending.
    run : ndarray of int, shape (boards,)
        Which run each is of.
    after : ndarray of int, shape (boards,)
        Number of the new place.
    until : int
        Days since the stacking at which to stop.

    Yields
    ------
    Arrivals
        All boards, in order, some at a time.
    """
    k = 0
    while k < moved.size:
        mark = before.before(int(moved[k]))
        day = int(before.days[mark])
        stop = int(np.searchsorted(moved, day + TOGETHER))
        part = np.arange(k, min(max(stop, k + LEAST), k + MOST, moved.size))
        legs = np.full(part.size, before.setting)
        yield Arrivals(
            part,
            day,
            runs.branch(
                before.states[mark][:, run[part]],
                day,
                run[part],
                np.stack([legs, after[part]]),
                np.stack([np.full(part.size, day), moved[part]]),
                until,
            ),
            moved[part],
        )
        k = int(part[-1]) + 1


@dataclass(frozen=True)
class Fates:
    """What became of boards, one an entry.

    Parameters
    ----------
    needed : ndarray
        Moisture on the need date, % MC.
    ready : ndarray
        Day since the stacking on which first fit in the last place; infinite where
        not by the need date.
    """

    needed: FloatArray
    ready: FloatArray

    def good(self, target: Target) -> NDArray[np.bool_]:
        """Whether each was fit by the need date and still is on it."""
        return np.isfinite(self.ready) & holds(self.needed, target)

    def by_copy(self, runs: int, target: Target) -> tuple[FloatArray, FloatArray]:
        """Chance of success and points too wet when needed, for copies of all runs."""
        good = self.good(target).reshape(-1, runs).mean(axis=1)
        needed = np.median(self.needed.reshape(-1, runs), axis=1)
        return good, np.maximum(needed - target.high, 0.0)


def fates(
    runs: Cast,
    before: Stay,
    moved: IntArray,
    run: IntArray,
    after: IntArray,
    need: int,
    target: Target,
) -> Fates:
    """Find what becomes of boards moved out of a stay by the need date.

    Parameters as for `arrivals`; `need` is in days since the stacking.
    """
    needed, ready = np.empty(moved.size), np.empty(moved.size)
    for some in arrivals(runs, before, moved, run, after, need):
        needed[some.number] = some.run.mean[-1]
        ready[some.number] = some.day + first_day(some.fit(target))
    return Fates(needed, ready)
