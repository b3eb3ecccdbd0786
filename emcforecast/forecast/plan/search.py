"""Every route through the places at hand, on a coarse grid of days of moving."""

from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.ensemble.threads import in_threads
from emcforecast.forecast.plan.evaluate import Outcomes, outcomes
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import may_enter, takes_green

MOST_MOVES = 2
LEAST_STRIDE, MOST_STEPS = 28, 26
"""Days between tried moves, at least, and how many of them over the whole time; pairs
of moves are tried half as often."""


@dataclass
class _Branch:
    """Runs in the last place of a route so far."""

    places: tuple[int, ...]
    moves: tuple[int, ...]
    state: FloatArray = field(repr=False)
    mean: FloatArray = field(repr=False)
    ready: BoolArray = field(repr=False)

    def moved(self, place: int, day: int) -> "_Branch":
        return replace(self, places=(*self.places, place), moves=(*self.moves, day))

    def some(self, few: IntArray) -> "_Branch":
        part = self.state[:, few], self.mean[few], self.ready[few]
        return _Branch(self.places, self.moves, *part)


def stride_of(days: int) -> int:
    """Days between tried moves for a time of so many days.

    Examples
    --------
    >>> stride_of(300), stride_of(1460)
    (28, 70)
    """
    fortnights = -(-days // (14 * MOST_STEPS))
    return int(max(LEAST_STRIDE, 14 * fortnights))


def search(asked: Question, few: IntArray) -> list[Route]:
    """Evaluate every route with moves on a coarse grid.

    Parameters
    ----------
    asked : Question
        What is asked, of every run.
    few : ndarray of int
        The numbers of those runs that are followed through the last place.

    Returns
    -------
    list of Route
        Those without a move are evaluated with every run, the others with the few, so
        that a place may turn out to take the wood only a little later.

    Notes
    -----
    All routes are carried along together from one day of the grid to the next; on
    each, those that may go on are copied into their next place.
    """
    need, stride = asked.need, stride_of(asked.need - asked.now)
    scouts = asked.some(few)
    unready = np.zeros(asked.runs, dtype=bool)
    stays = [
        _Branch((k,), (), state, asked.moisture[k], unready)
        for k, state in asked.states.items()
    ]
    moved: list[_Branch] = []
    ends: list[_Branch] = []
    grid = list(range(asked.now, need, stride))
    for number, day in enumerate(grid):
        last: list[_Branch] = []
        for at in [*stays, *moved] if day >= asked.first_move else ():
            for k in asked.onward(at.places):
                if not may_enter(asked.air.places[k], np.median(at.mean)):
                    continue
                new, seldom = at.moved(k, day), number % 2 > 0
                if len(new.moves) == MOST_MOVES and seldom:
                    continue
                if not at.moves:
                    new = new.some(few)
                more = len(new.moves) < MOST_MOVES and asked.onward(new.places)
                (moved if more and not seldom else last).append(new)
        ends += last
        until = [*grid, need][number + 1]
        _stay(asked, stays, until)
        onward = partial(_carry, scouts, moved, day, until)
        to_the_end = partial(_carry, scouts, last, day, need)
        in_threads(lambda carry: carry(), [onward, to_the_end])
    return [_route(asked, at) for at in ends + stays + moved]


def _stay(asked: Question, branches: list[_Branch], until: int) -> None:
    """Leave the runs where they are now."""
    for at in branches:
        stay = asked.stay(at.places, (), until)
        found = outcomes(stay, asked.target)
        at.state, at.mean, at.ready = stay.state, found.mean, found.ready


def _carry(asked: Question, branches: list[_Branch], day: int, until: int) -> None:
    """Let several copies of the runs stay on where they are, all at once."""
    if not branches:
        return
    n = asked.runs
    where = np.repeat([at.places[-1] for at in branches], n)
    path = asked.ensemble.run(
        np.concatenate([at.state for at in branches], axis=1),
        day,
        until,
        where[None, :],
        np.full((1, 1), day),
        np.tile(np.arange(n), len(branches)),
    )
    found = outcomes(path, asked.target)
    for k, at in enumerate(branches):
        mine = slice(k * n, (k + 1) * n)
        at.state, at.mean = path.state[:, mine], found.mean[mine]
        at.ready = found.ready[mine]


def _route(asked: Question, at: _Branch) -> Route:
    found = Outcomes(at.mean, at.ready)
    chance, excess = found.by_copy(at.mean.size, asked.target)
    first, *later = (asked.air.places[k] for k in at.places)
    bare = not first.about.covered
    roofed = bare and bool(later) and takes_green(later[0])
    return Route(at.places, at.moves, float(chance[0]), float(excess[0]), bare, roofed)
