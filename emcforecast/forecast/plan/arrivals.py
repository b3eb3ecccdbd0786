"""Boards moved from one place to another, day of moving by day."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.ensemble.boards import Moisture
from emcforecast.forecast.plan.question import Question
from emcforecast.forecast.plan.success import is_ready
from emcforecast.forecast.targets import Target

TOGETHER = 56
"""Days of moving that are run in one call: the earlier boards wait for the later."""
LEAST, MOST = 64, 3000
"""Boards run in one call; fewer leave the processor idle."""


@dataclass(frozen=True)
class Stay:
    """All runs in one place, with their state kept every so often.

    Parameters
    ----------
    place : int
        Which place.
    days : ndarray of int, shape (marks,)
        Days since the stack began at which the state is kept; the first is the day
        of coming in.
    states : list of ndarray
        One a mark.
    path : Moisture
        Daily from the day of coming in.
    """

    place: int
    days: IntArray
    states: list[FloatArray] = field(repr=False)
    path: Moisture = field(repr=False)

    def wetness(self, days: IntArray) -> FloatArray:
        """Middle of the runs on some days, % MC."""
        result: FloatArray = np.median(self.path.mean[days - self.days[0]], axis=1)
        return result

    def mark_before(self, day: int) -> int:
        """Which mark is the last not after a day."""
        return int(np.searchsorted(self.days, day, side="right")) - 1


def stay(
    asked: Question, place: int, state: FloatArray, day: int, until: int, every: int
) -> Stay:
    """Let every run stay in a place, and keep its state.

    Parameters
    ----------
    asked : Question
        The runs.
    place : int
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
    states, whole = [state], asked.ensemble.stay(state, day, day, place)
    for begin, end in zip(marks, [*marks[1:], until], strict=True):
        part = asked.ensemble.stay(states[-1], int(begin), int(end), place)
        whole = whole.then(part)
        states.append(part.state)
    return Stay(place, marks, states[:-1], whole)


@dataclass(frozen=True)
class Arrivals:
    """Boards that come into a new place; the last axis is boards.

    Parameters
    ----------
    number : ndarray of int
        Which of the boards asked for these are.
    day : int
        Days since the stacking at the first record.
    path : Moisture
        Daily; what is before a board's own move is not yet in the new place.
    moved : ndarray of int
        Day of moving of each.
    """

    number: IntArray
    day: int
    path: Moisture
    moved: IntArray

    def ready(self, target: Target) -> BoolArray:
        """Whether each board is ready by day, in its new place; (days, boards)."""
        path = self.path
        arrived = np.arange(path.mean.shape[0])[:, None] >= self.moved - self.day
        result: BoolArray = arrived & is_ready(path.mean, path.shell, path.core, target)
        return result


def arrivals(
    asked: Question,
    before: Stay,
    moved: IntArray,
    run: IntArray,
    after: IntArray,
    until: int,
) -> Iterator[Arrivals]:
    """Move boards out of a stay and follow them.

    Parameters
    ----------
    asked : Question
        The runs.
    before : Stay
        Where they stay until they move.
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
        mark = before.mark_before(int(moved[k]))
        day = int(before.days[mark])
        stop = int(np.searchsorted(moved, day + TOGETHER))
        part = np.arange(k, min(max(stop, k + LEAST), k + MOST, moved.size))
        legs = np.full(part.size, before.place)
        path = asked.ensemble.run(
            before.states[mark][:, run[part]],
            day,
            until,
            np.stack([legs, after[part]]),
            np.stack([np.full(part.size, day), moved[part]]),
            run[part],
        )
        yield Arrivals(part, day, path, moved[part])
        k = int(part[-1]) + 1


@dataclass(frozen=True)
class Outcomes:
    """How boards stand on the need date, one an entry.

    Parameters
    ----------
    mean : ndarray
        Moisture on the need date, % MC.
    ready : ndarray of bool
        Whether they are ready then.
    """

    mean: FloatArray
    ready: BoolArray

    def by_copy(self, runs: int, target: Target) -> tuple[FloatArray, FloatArray]:
        """Chance of success and points too wet when needed, for copies of all runs."""
        chance = self.ready.reshape(-1, runs).mean(axis=1)
        mean = np.median(self.mean.reshape(-1, runs), axis=1)
        return chance, np.maximum(mean - target.high, 0.0)


def outcomes(path: Moisture, target: Target) -> Outcomes:
    """Find how boards stand on the last day of a path."""
    mean = path.mean[-1]
    return Outcomes(mean, is_ready(mean, path.shell[-1], path.core[-1], target))


def outcomes_of_moves(
    asked: Question, before: Stay, moved: IntArray, run: IntArray, after: IntArray
) -> Outcomes:
    """Find how boards moved out of a stay stand on the need date.

    Parameters as for `arrivals`.
    """
    mean = np.empty(moved.size)
    ready = np.empty(moved.size, dtype=bool)
    for some in arrivals(asked, before, moved, run, after, asked.need):
        found = outcomes(some.path, asked.target)
        mean[some.number], ready[some.number] = found.mean, found.ready
    return Outcomes(mean, ready)
