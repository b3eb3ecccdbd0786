"""Stated routes followed with every run: how sure each is."""

from collections.abc import Sequence

import numpy as np

from emcforecast.ensemble.threads import together
from emcforecast.forecast.plan.arrivals import Fates
from emcforecast.forecast.plan.runs import Cast
from emcforecast.forecast.plan.search import Route
from emcforecast.forecast.plan.success import first_day, is_fit, may_enter
from emcforecast.forecast.targets import Target


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
