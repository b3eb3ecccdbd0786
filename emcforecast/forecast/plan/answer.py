"""What a plan comes to: its route followed with every run, and read off."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.boards import Run, start_state
from emcforecast.forecast.plan.arrivals import Fates
from emcforecast.forecast.plan.choose import LITTLE
from emcforecast.forecast.plan.earliest import Later
from emcforecast.forecast.plan.evaluate import judged
from emcforecast.forecast.plan.move_date import Curve
from emcforecast.forecast.plan.result import Dates, Earliest, Leg, Moved, Plan
from emcforecast.forecast.plan.runs import Cast
from emcforecast.forecast.plan.search import Route
from emcforecast.forecast.plan.success import (
    EVENS,
    ROOM_LIMIT,
    SURE,
    first_day,
    is_fit,
    rain_unknown,
    takes_green,
)
from emcforecast.forecast.recent_years import recent_years
from emcforecast.forecast.targets import Target
from emcforecast.physics.boards import processors

SETTLE_DAYS = 240
"""How long after coming in, or after the need date, a board is followed at least."""


@dataclass(frozen=True)
class Found:
    """The best route, all judged, its curve, and how to find later days."""

    best: Route
    judged: Sequence[Route]
    curve: Curve | None
    later: Callable[[], tuple[Later | None, Later | None]]


def told(
    runs: Cast,
    found: Found,
    from_mc: float | None,
    span: tuple[np.datetime64, np.datetime64],
    target: Target,
) -> Plan:
    """Follow the chosen route once more and read everything off it.

    Parameters
    ----------
    runs : Cast
        Every run.
    found : Found
        By the search.
    from_mc : float, optional
        Moisture when stacked, % MC.
    span : tuple of datetime64[D]
        Stacked, needed.
    target : Target
        What the wood must be fit for.
    """
    first, last = span
    best, curve = found.best, found.curve
    days = int((last - first).astype(int))
    with ThreadPoolExecutor(processors()) as pool:
        later = pool.submit(_later, runs, found, from_mc, first, target)
        another = pool.submit(_another_year, runs, best, from_mc, days, target)
        follow = pool.submit(_last_stay, runs, best, from_mc, days)
        by_itself = pool.submit(_alone, runs, found.judged, from_mc, days, target)
        deadline = pool.submit(_latest, runs, found, from_mc, span, target)
        rest = pool.submit(_rest, runs, best.settings[-1], days)
        legs = pool.submit(_legs, runs, best, from_mc, first, target)
    stay, day = follow.result()
    ready = first_day(is_fit(stay.mean, stay.shell, stay.core, target))
    good = Fates(stay.mean[days - day], np.where(ready <= days - day, ready, np.inf))
    feasible, alone = by_itself.result()
    sure, even = later.result()

    def latest(level: float) -> date | None:
        day = None if curve is None else curve.latest(level)
        return None if day is None else _date(first, day)

    bank = runs.bank
    years, emc = _emc_by_year(runs, best.settings[-1])
    return Plan(
        board=runs.board,
        target=target,
        stacked=_date(first, 0),
        need=_date(last, 0),
        known_to=_date(first, runs.actual) if runs.actual else None,
        places={place.name: place.about.title for place in bank.settings},
        green=float(np.median(runs.start_moisture(from_mc))) > ROOM_LIMIT,
        feasible=feasible,
        alone=alone,
        route=legs.result(),
        probability_by_need=best.chance,
        bring_in_by=latest(SURE),
        bring_in_even=latest(EVENS),
        latest=deadline.result(),
        little_lost_until=latest(max(best.chance - LITTLE, LITTLE)),
        acclimate_days=_both(ready) if best.moves else (None, None),
        ready=_dates(first, day, ready),
        moisture_by_need=float(np.median(stay.mean[days - day])),
        rest_by_need=rest.result(),
        another_year=another.result(),
        earliest=sure,
        earliest_even=even,
        simpler=_simpler(runs, best, found.judged),
        curve_days=first + (np.zeros(0, np.int64) if curve is None else curve.days),
        curve=np.zeros(0) if curve is None else curve.chance,
        recent=recent_years(runs, first, best.settings[-1], days, good.good(target)),
        years=bank.ring.years if bank.many_years else 1,
        fallbacks=bank.fallbacks,
        emc=emc,
        emc_years=years,
    )


def _last_stay(
    runs: Cast, route: Route, from_mc: float | None, days: int
) -> tuple[Run, int]:
    """Follow a route to its last place and on; with the day of coming in."""
    state, day = runs.come(route.settings, route.moves, from_mc)
    until = max(days, day) + SETTLE_DAYS
    return runs.along(state, day, route.settings[-1], until), day


def _latest(
    runs: Cast,
    found: Found,
    from_mc: float | None,
    span: tuple[np.datetime64, np.datetime64],
    target: Target,
) -> Moved | None:
    """Make the last move on the last day that is 90 % sure."""
    day = None if found.curve is None else found.curve.latest(SURE)
    if found.curve is None or day is None:
        return None
    first, last = span
    days = int((last - first).astype(int))
    route = found.best.moved(*found.best.moves[:-1], day)
    stay, _ = _last_stay(runs, route, from_mc, days)
    ready = first_day(is_fit(stay.mean, stay.shell, stay.core, target))
    chance = float(found.curve.chance[found.curve.days == day][0])
    return Moved(_date(first, day), chance, _both(ready), _dates(first, day, ready))


def _alone(
    runs: Cast,
    judged_by_now: Sequence[Route],
    from_mc: float | None,
    days: int,
    target: Target,
) -> tuple[dict[str, float], dict[str, str]]:
    have = runs.bank.settings
    known = {route.settings: route for route in judged_by_now if not route.moves}
    new = [Route((k,), ()) for k in range(len(have)) if (k,) not in known]
    known |= {r.settings: r for r in judged(runs, new, from_mc, days, target)}
    feasible, alone = {}, {}
    wet = float(np.median(runs.start_moisture(from_mc))) > ROOM_LIMIT
    for number, setting in enumerate(have):
        feasible[setting.name] = known[number,].chance
        if rain_unknown(runs.bank, number):
            alone[setting.name] = "as if no rain fell: the weather file tells none"
        if wet and not takes_green(setting):
            alone[setting.name] = (
                f"green wood straight into the {setting.about.title} checks and moulds"
            )
    return feasible, alone


def _rest(runs: Cast, setting: int, days: int) -> float:
    """Middle of boards that have been in a place for a year, on the need date."""
    begin = start_state(runs.lot, runs.bank.mean_rest(setting))
    return float(np.median(runs.along(begin, days - 365, setting, days).mean[-1]))


def _another_year(
    runs: Cast, best: Route, from_mc: float | None, days: int, target: Target
) -> float:
    """Chance of the same route, its last move and the need a year later."""
    moves = (*best.moves[:-1], best.moves[-1] + 365) if best.moves else ()
    return judged(runs, [best.moved(*moves)], from_mc, days + 365, target)[0].chance


def _later(
    runs: Cast,
    found: Found,
    from_mc: float | None,
    first: np.datetime64,
    target: Target,
) -> tuple[Earliest | None, Earliest | None]:
    sure, even = (
        _earliest(runs, later, from_mc, first, target) for later in found.later()
    )
    return sure, even


def _earliest(
    runs: Cast,
    later: Later | None,
    from_mc: float | None,
    first: np.datetime64,
    target: Target,
) -> Earliest | None:
    if later is None:
        return None
    route = later.route
    return Earliest(
        _date(first, later.day),
        _date(first, route.moves[-1]) if route.moves else None,
        route.chance,
        _legs(runs, route, from_mc, first, target),
    )


def _simpler(
    runs: Cast, best: Route, judged: Sequence[Route]
) -> dict[tuple[str, ...], float]:
    """Find the chains of fewer moves that nothing simpler beats."""
    found: dict[tuple[str, ...], float] = {}
    for moves in range(len(best.moves)):
        same = [route for route in judged if len(route.moves) == moves]
        if not same:
            continue
        top = max(same, key=lambda route: route.rank)
        if top.chance > max(found.values(), default=0.0):
            found[tuple(runs.bank.settings[k].name for k in top.settings)] = top.chance
    return found


def _legs(
    runs: Cast,
    route: Route,
    from_mc: float | None,
    first: np.datetime64,
    target: Target,
) -> tuple[Leg, ...]:
    state, day, legs = runs.start(from_mc), 0, []
    for number, move in zip(route.settings, (*route.moves, None), strict=True):
        setting, start = runs.bank.settings[number], _date(first, day)
        if move is None:
            why = f"to the target, {target.numbers}"
            legs.append(Leg(setting.name, setting.kind, start, None, None, why))
            break
        run = runs.along(state, day, number, move)
        state, day, mean = run.state, move, float(np.median(run.mean[-1]))
        why = f"then about {mean:.0f} % in the mean"
        end = _date(first, day)
        legs.append(Leg(setting.name, setting.kind, start, end, mean, why))
    return tuple(legs)


def _date(first: np.datetime64, days: int) -> date:
    return date.fromisoformat(str(first + days))


def _days(ready: FloatArray, level: float) -> float | None:
    """Quantile of the days, counting the runs that never get there."""
    value = float(np.quantile(ready, level, method="inverted_cdf"))
    return value if np.isfinite(value) else None


def _both(ready: FloatArray) -> tuple[float | None, float | None]:
    return _days(ready, 0.5), _days(ready, 0.9)


def _dates(first: np.datetime64, day: int, ready: FloatArray) -> Dates:
    whole = [_days(ready, level) for level in (0.1, 0.5, 0.9)]
    return Dates(*(None if n is None else _date(first, day + int(n)) for n in whole))


def _emc_by_year(runs: Cast, setting: int) -> tuple[tuple[int, ...], FloatArray]:
    """Daily EMC of a setting as stated, %, from 1 January, one row a weather year."""
    bank = runs.bank
    hourly = 100.0 * bank.tables[setting * bank.airs, :, 4]
    rows, years = bank.ring.starts(np.datetime64("2001-01-01"))
    at = (rows[:, None] + np.arange(365 * 24)) % hourly.size
    daily: FloatArray = hourly[at].reshape(rows.size, 365, 24).mean(axis=2)
    return tuple(int(year) for year in years), daily
