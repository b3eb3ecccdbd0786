"""Every route through the places at hand, on a coarse grid of days of moving."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.ensemble.run_boards import Moisture
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import is_ready, may_enter, takes_green
from emcforecast.forecast.targets import Target
from emcforecast.physics.kernels.compiled import in_threads


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


def evaluate(asked: Question, routes: Sequence[Route]) -> list[Route]:
    """Evaluate routes with every run, but for those that no place would take."""
    stays = [route for route in routes if not route.moves]
    found = in_threads(lambda route: _stay_evaluated(asked, route), stays)
    moved = [route for route in routes if route.moves]
    firsts = [
        [route for route in moved if route.places[0] == first]
        for first in sorted({route.places[0] for route in moved})
    ]
    for some in in_threads(lambda mine: _from_one_place(asked, mine), firsts):
        found += some
    return found


def _stay_evaluated(asked: Question, route: Route) -> Route:
    path = asked.stay(route.places, (), asked.need)
    return _with_outcomes(asked, [route], outcomes(path, asked.target))[0]


def _from_one_place(asked: Question, routes: Sequence[Route]) -> list[Route]:
    n, first = asked.runs, routes[0].places[0]
    places, need = asked.air.places, asked.need
    found: list[Route] = []
    for move in sorted({route.moves[0] for route in routes}):
        stay = asked.stay((first,), (), move)
        state, mean = stay.state, stay.mean[-1]
        here = [
            route
            for route in routes
            if route.moves[0] == move
            and may_enter(places[route.places[1]], np.median(mean))
        ]
        if not here:
            continue
        legs = np.array([(*r.places[1:], r.places[-1])[:2] for r in here])
        begin = np.array([(*r.moves, need + 1)[:2] for r in here])
        path = asked.ensemble.run(
            np.tile(state, len(here)),
            move,
            need,
            np.repeat(legs.T, n, axis=1),
            np.repeat(begin.T, n, axis=1),
            np.tile(np.arange(n), len(here)),
        )
        moved = np.repeat([route.moves[-1] for route in here], n)
        entry = path.mean[moved - move, np.arange(moved.size)].reshape(-1, n)
        evaluated = _with_outcomes(asked, here, outcomes(path, asked.target))
        for route, mc in zip(evaluated, np.median(entry, axis=1), strict=True):
            if may_enter(places[route.places[-1]], mc):
                found.append(route)
    return found


def _with_outcomes(
    asked: Question, routes: Sequence[Route], found: Outcomes
) -> list[Route]:
    chances = zip(routes, *found.by_copy(asked.runs, asked.target), strict=True)
    return [route.evaluated(chance, excess) for route, chance, excess in chances]


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
