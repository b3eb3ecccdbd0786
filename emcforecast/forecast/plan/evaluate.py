"""Stated routes followed with every run: how sure each is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from emcforecast._types import BoolArray, FloatArray
from emcforecast.ensemble.boards import Moisture
from emcforecast.ensemble.threads import in_threads
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import is_ready, may_enter
from emcforecast.forecast.targets import Target


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
    found = in_threads(lambda route: _stay(asked, route), stays)
    moved = [route for route in routes if route.moves]
    firsts = [
        [route for route in moved if route.places[0] == first]
        for first in sorted({route.places[0] for route in moved})
    ]
    for some in in_threads(lambda mine: _from_one_place(asked, mine), firsts):
        found += some
    return found


def _stay(asked: Question, route: Route) -> Route:
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
