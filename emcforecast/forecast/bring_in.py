"""The surest of the routes found, and its chance against the day of the last move."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from emcforecast.forecast.arrivals import Fates, Stay, fates, stay
from emcforecast.forecast.fitness import (
    HAIR,
    NEARLY,
    first_day,
    is_fit,
    may_enter,
)
from emcforecast.forecast.paths import Cast
from emcforecast.forecast.search import Route
from emcforecast.forecast.targets import Target
from emcforecast.forecast.together import together

Array = NDArray[np.float64]
Index = NDArray[np.int64]

RIVALS = 6
"""Routes by other chains of places that are judged against the surest chain."""
WITHIN, LITTLE = 0.2, 0.05
"""They lie within this of the surest, by the few runs of the search; what is less by
no more than this is little less."""
NOISE = 0.1
"""By so much the few days judged so far may have missed a chain's best."""
ASIDE = (-14, 14)
"""Days beside a move of the coarse grid that are tried."""
GRID, EARLY_GRID = 14, 56
"""Days of moving on which every run is followed; between them, only those runs whose
outcome differs from one to the next, by halving."""
EARLY = 240
"""Days before the need date up to which a move is early."""
NEAR_ENOUGH = 0.2
"""Where nothing succeeds, moves within this of the driest count as good, % MC."""


@dataclass(frozen=True)
class Curve:
    """Chance of being ready against the day of the last move.

    Parameters
    ----------
    days : ndarray of int
        Every day since the stacking on which the last move may be made.
    chance : ndarray
        Of being ready in time.
    excess : ndarray
        Points too wet on the need date, % MC; between the days of the grid a line.
    """

    days: Index
    chance: Array
    excess: Array

    def best(self) -> int:
        """Return the last of the surest days, or of the driest where none is sure."""
        if self.chance.max() > NEARLY:
            enough = self.chance >= self.chance.max() - HAIR
        else:
            enough = self.excess <= self.excess.min() + NEAR_ENOUGH
        return int(self.days[np.flatnonzero(enough)[-1]])

    def latest(self, level: float) -> int | None:
        """Return the last day with a chance, or None."""
        enough = np.flatnonzero(self.chance >= level - HAIR)
        return int(self.days[enough[-1]]) if enough.size else None


def surest(
    runs: Cast, routes: Sequence[Route], from_mc: float | None, days: int, to: Target
) -> list[Route]:
    """Judge with every run those routes of the search that may be the surest.

    Parameters
    ----------
    runs : Cast
        Every run.
    routes : sequence of Route
        As judged by a few; those without a move by all.
    from_mc : float, optional
        Moisture when stacked, % MC.
    days : int
        From the stacking to the need date.
    to : Target
        What the wood must be fit for.

    Returns
    -------
    list of Route
        The best of every chain of places that comes near the surest, and so many
        more of all chains but the one that then leads.
    """
    ordered = sorted(routes, key=lambda route: route.rank, reverse=True)
    near = [r for r in ordered if r.chance >= ordered[0].chance - WITHIN]
    chains: dict[tuple[int, ...], Route] = {}
    for route in near:
        chains.setdefault(route.settings, route)
    stays = [route for route in routes if not route.moves]
    moved = [route for route in chains.values() if route.moves]
    found = stays + judged(runs, moved, from_mc, days, to)
    lead = max(found, key=lambda route: route.rank)
    if lead.chance < 1.0:
        done = {lead.settings, *(route.settings for route in stays)}
        rest = [r for r in near if r.settings not in done and r not in moved]
        found += judged(runs, rest[:RIVALS], from_mc, days, to)
    return found + judged(
        runs, _beside(found, runs.first_move, days), from_mc, days, to
    )


def leaders(routes: Sequence[Route]) -> list[Route]:
    """Choose the chains of places of which one or the other may be the best.

    Returns
    -------
    list of Route
        The best of the chain that leads, and of those a little less sure that would
        be preferred if they were as sure.
    """
    lead = max(routes, key=lambda route: route.rank)
    best = [lead]
    for chain in sorted({r.settings for r in routes} - {lead.settings}):
        top = max((r for r in routes if r.settings == chain), key=lambda r: r.rank)
        as_sure = top.judged(lead.chance, lead.excess)
        if top.chance >= lead.chance - NOISE and as_sure.rank[:4] > lead.rank[:4]:
            best.append(top)
    return best


def _beside(routes: Sequence[Route], start: int, days: int) -> list[Route]:
    """Propose routes beside the best of every chain that is little less sure."""
    lead = max(routes, key=lambda route: route.rank)
    beside: set[Route] = set()
    for chain in {r.settings for r in routes if r.moves}:
        top = max((r for r in routes if r.settings == chain), key=lambda r: r.rank)
        if top.chance < lead.chance - LITTLE:
            continue
        *early, last = top.moves
        begin = (start - 1, *early)[-1]
        for day in (last + k for k in ASIDE):
            if begin < day < days:
                beside.add(top.moved(*early, day))
        for first in (early[0] + k for k in ASIDE) if early else ():
            if start <= first < last:
                beside.add(top.moved(first, last))
    return sorted(beside, key=lambda route: (route.settings, route.moves))


def judged(
    runs: Cast, routes: Sequence[Route], from_mc: float | None, days: int, to: Target
) -> list[Route]:
    """Judge routes with every run, but for those that no place would take."""
    stays = [route for route in routes if not route.moves]
    found = _stays(runs, stays, from_mc, days, to) if stays else []
    moved = [route for route in routes if route.moves]
    firsts = [
        [route for route in moved if route.settings[0] == first]
        for first in sorted({route.settings[0] for route in moved})
    ]
    for some in together(
        lambda mine: _from_one_place(runs, mine, from_mc, days, to), firsts
    ):
        found += some
    return found


def _stays(
    runs: Cast, routes: Sequence[Route], from_mc: float | None, days: int, to: Target
) -> list[Route]:
    where = np.repeat([route.settings[0] for route in routes], runs.runs)
    run = runs.branch(
        np.tile(runs.start(from_mc), len(routes)),
        0,
        np.tile(np.arange(runs.runs), len(routes)),
        where[None, :],
        np.zeros((1, where.size), np.int64),
        days,
    )
    ready = first_day(is_fit(run.mean, run.shell, run.core, to))
    return _with_fates(routes, Fates(run.mean[-1], ready), runs.runs, to)


def _from_one_place(
    runs: Cast,
    routes: Sequence[Route],
    from_mc: float | None,
    days: int,
    target: Target,
) -> list[Route]:
    n, each, first = runs.runs, np.arange(runs.runs), routes[0].settings[0]
    state, wet, day = runs.start(from_mc), runs.start_moisture(from_mc), 0
    places = runs.bank.settings
    found: list[Route] = []
    for move in sorted({route.moves[0] for route in routes}):
        went = runs.along(state, day, first, move)
        state, wet, day = went.state, went.mean[-1], move
        here = [
            route
            for route in routes
            if route.moves[0] == move
            and may_enter(places[route.settings[1]], np.median(wet))
        ]
        if not here:
            continue
        legs = np.array([(*r.settings[1:], r.settings[-1])[:2] for r in here])
        begin = np.array([(*r.moves, days + 1)[:2] for r in here])
        run = runs.branch(
            np.tile(state, len(here)),
            move,
            np.tile(each, len(here)),
            np.repeat(legs.T, n, axis=1),
            np.repeat(begin.T, n, axis=1),
            days,
        )
        moved = np.repeat([route.moves[-1] for route in here], n)
        arrived = np.arange(run.mean.shape[0])[:, None] >= moved - move
        fit = arrived & is_fit(run.mean, run.shell, run.core, target)
        fate = Fates(run.mean[-1], move + first_day(fit))
        entry = run.mean[moved - move, np.arange(moved.size)].reshape(-1, n)
        for route, mc in zip(
            _with_fates(here, fate, n, target), np.median(entry, axis=1), strict=True
        ):
            if may_enter(places[route.settings[-1]], mc):
                found.append(route)
    return found


def _with_fates(
    routes: Sequence[Route], fate: Fates, runs: int, target: Target
) -> list[Route]:
    verdicts = zip(routes, *fate.by_copy(runs, target), strict=True)
    return [route.judged(chance, excess) for route, chance, excess in verdicts]


def curve_of(
    runs: Cast, route: Route, from_mc: float | None, days: int, target: Target
) -> Curve:
    """Try the last move of a route on every day on which it may be made."""
    state, day = runs.come(route.settings[:-1], route.moves[:-1], from_mc)
    before = stay(runs, route.settings[-2], state, day, days, GRID)
    every = np.arange(max(day + 1, runs.first_move), days)
    last = runs.bank.settings[route.settings[-1]]
    every = every[may_enter(last, before.wetness(every))]
    on_grid = every % np.where(every < days - EARLY, EARLY_GRID, GRID) == 0
    on_grid[[0, -1]] = True
    grid = every[on_grid]
    fate = _of(runs, before, grid, route.settings[-1], days, target)
    good = fate.good(target).reshape(grid.size, runs.runs)
    place = np.flatnonzero(on_grid)
    whole = np.repeat(good, np.diff([*place, every.size]), axis=0)
    row, run = np.nonzero(good[1:] != good[:-1])
    low, high = place[row], place[row + 1]
    while (todo := np.flatnonzero(high - low > 1)).size:
        todo = todo[np.argsort(low[todo] + high[todo])]
        middle = (low[todo] + high[todo]) // 2
        after = np.full(todo.size, route.settings[-1])
        some = fates(runs, before, every[middle], run[todo], after, days, target)
        as_low = some.good(target) == good[row[todo], run[todo]]
        low[todo] = np.where(as_low, middle, low[todo])
        high[todo] = np.where(as_low, high[todo], middle)
    for first, end, k in zip(high, place[row + 1], run, strict=True):
        whole[first:end, k] ^= True
    excess = fate.by_copy(runs.runs, target)[1]
    return Curve(every, whole.mean(axis=1), np.interp(every, grid, excess))


def _of(
    runs: Cast, before: Stay, grid: Index, after: int, days: int, target: Target
) -> Fates:
    """Fates of every run moved on each day of a grid."""
    n = runs.runs
    return fates(
        runs,
        before,
        np.repeat(grid, n),
        np.tile(np.arange(n), grid.size),
        np.full(grid.size * n, after),
        days,
        target,
    )
