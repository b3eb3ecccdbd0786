"""Where next, when in, ready when: the best route through the places one has."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import Progress
from emcforecast.ensemble.air import AIRS, air_bank
from emcforecast.ensemble.calendar import YEAR_DAYS, as_day
from emcforecast.ensemble.threads import together
from emcforecast.errors import InputError
from emcforecast.forecast.plan.answer import Found, told
from emcforecast.forecast.plan.choose import TIE, leaders, preferred, surest
from emcforecast.forecast.plan.earliest import Later, earliest
from emcforecast.forecast.plan.evaluate import judged
from emcforecast.forecast.plan.move_date import Curve, curve_of
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.plan.runs import Cast, cast
from emcforecast.forecast.plan.search import Route, search
from emcforecast.forecast.plan.success import (
    AIRY,
    EVEN,
    EVENS,
    ROOM_LIMIT,
    SURE,
    may_begin,
    not_too_dry,
)
from emcforecast.forecast.targets import Target, target_of_number
from emcforecast.storage.settings import Setting, as_setting
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.wood.species import Species


SHORTEST, LONGEST = 7, 4 * 365
"""Days from stacking to need that can be planned."""
RUNS, LEAST_MEMBERS = 48, 2
"""Runs wanted, weather years times draws; at least so many draws a year."""
FEW = 12
"""Runs that the search makes do with."""


def plan(
    weather: "xr.Dataset",
    species: "str | Species" = "white oak",
    thickness: float | str = "4/4",
    *,
    stacked: "date | str",
    need: "date | str",
    target: Target | float,
    have: Sequence[Setting | str],
    from_mc: float | None = None,
    today: "date | str | None" = None,
    members: int | None = None,
    progress: Progress | None = None,
) -> Plan:
    """Find the best route through the places at hand and when to make each move.

    Parameters
    ----------
    weather : Dataset
        A weather series, hourly or monthly; dim ``time``.
    species : str or Species
        A wood, or its name.
    thickness : float or str
        mm, or text such as "8/4".
    stacked, need : date or str
        When the stack begins and when the wood is needed.
    target : Target or float
        What to be fit for, or the moisture to be at, %.
    have : sequence of Setting or str
        The places at hand, airiest first; a route visits them in this order.
    from_mc : float, optional
        Moisture content when stacked, %; green when left out.
    today : date or str, optional
        Nothing is moved before this day, and the actual weather is used only up to
        it. When left out: as far as the record holds the stack's own days, unless
        it holds the need date too.
    members : int, optional
        Draws, for each weather year, of what nobody knows about the stack; enough for
        48 runs when left out.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        When the dates are in the wrong order or too far apart, or nothing is at hand.
    WeatherError
        When the series does not cover a year.

    Notes
    -----
    A run succeeds when the board has been no wetter than the target and even (core less
    shell at most 2.5 % MC) in the last place by the need date and is no wetter than the
    target on it. Wood for outdoors must not be drier than its range either (but for
    what the outdoors itself does), and no route leads through a place that dries it
    further unless none else has an even chance. Green wood is not taken into a closed
    or heated place. Every route is tried with a few runs on a coarse grid, the best
    ones with all of them, and the last move of the best day by day. The surest is
    taken, or one 3 in 100 less sure that has fewer moves, is sheltered from the start,
    or makes its last move later.

    Examples
    --------
    >>> from emcforecast import read_weather
    >>> from emcforecast.forecast.targets import target_for_use
    >>> found = plan(
    ...     read_weather("demo"), "yellow-poplar", "4/4",
    ...     stacked="2026-04-01", need="2027-02-01",
    ...     target=target_for_use("furniture"),
    ...     have=["shed", "indoor"], members=1,
    ... )
    >>> found.route[-1].setting
    'indoor'
    """
    first, last = as_day(stacked), as_day(need)
    days = int((last - first).astype(int))
    if not have:
        raise InputError("no place is at hand; say --have outdoor,shed,indoor")
    if not SHORTEST <= days <= LONGEST:
        raise InputError(
            f"needed {last}, stacked {first}: the need date must lie a week to four "
            "years after; check the two dates"
        )
    if not isinstance(target, Target):
        target = target_of_number(target)
    places = [as_setting(place) for place in have]
    board = Board(species, thickness)
    report = progress or (lambda fraction, what: None)
    count = members or _members(weather)
    bank = air_bank(weather, places, airs=AIRS, progress=report)
    target, dry = not_too_dry(bank, target)
    report(0.3, "routes")
    now = None if today is None else as_day(today)
    actual = bank.actual_days(first, now)
    if now is None and actual >= days:
        actual = 0
    since = 0 if now is None else int((now - first).astype(int))
    if max(since, actual) >= days:
        raise InputError(
            f"needed {last}, today {first + max(since, actual)}: it is too late to "
            "plan; give a later --need"
        )
    runs = cast(bank, board, first, count, actual=actual, today=since)
    runs = replace(runs, avoided=dry)
    few = _few(runs.runs, bank.ring.years)
    runs, best, others, curve = _outdoors(runs, few, from_mc, days, target, report)
    report(0.8, "dates")
    moist = float(np.median(runs.start_moisture(from_mc)))
    begins = may_begin(bank, moist, runs.avoided)

    def later() -> tuple[Later | None, Later | None]:
        if best.chance >= SURE:
            return None, None
        return earliest(runs.some(few), runs, begins, best, from_mc, days, target)

    return told(runs, Found(best, others, curve, later), from_mc, (first, last), target)


def _members(weather: "xr.Dataset") -> int:
    """Draws a weather year that make enough runs."""
    steps = {"hour": YEAR_DAYS * 24, "month": 12}[weather.attrs["step"]]
    years = max(round(weather.sizes["time"] / steps), 1)
    return max(LEAST_MEMBERS, -(-RUNS // years))


def _few(runs: int, years: int) -> NDArray[np.int64]:
    """Choose runs for the search: every year where they do, other draws in each."""
    members, count = runs // years, min(FEW, runs)
    k = np.arange(count)
    if years >= count:
        return k * years // count * members + k % members
    turns = -(-count // years)
    return np.unique(k % years * members + k // years * members // turns)


def _outdoors(
    runs: Cast,
    few: NDArray[np.int64],
    from_mc: float | None,
    days: int,
    target: Target,
    report: Progress,
) -> tuple[Cast, Route, list[Route], Curve | None]:
    """Keep wood for outdoors out of places too dry for it, unless nothing else does."""
    anywhere = replace(runs, avoided=())
    moist = float(np.median(runs.start_moisture(from_mc)))
    if not may_begin(runs.bank, moist, runs.avoided):
        runs = anywhere
    found = _best(runs, few, from_mc, days, target, report)
    if runs.avoided and found[0].chance < EVENS:
        other = _best(anywhere, few, from_mc, days, target, report)
        if other[0].chance > found[0].chance + TIE:
            return anywhere, *other
    return runs, *found


def _best(
    runs: Cast,
    few: NDArray[np.int64],
    from_mc: float | None,
    days: int,
    target: Target,
    report: Progress,
) -> tuple[Route, list[Route], Curve | None]:
    """Find the best route, with those judged beside it and its bring-in curve."""
    routes = search(runs, few, from_mc, days, target)
    if not routes:
        raise InputError(
            "none of the places at hand takes green wood; add an airy one "
            "(--have outdoor or shed), or say --from-mc when it is already drier"
        )
    report(0.5, "bring-in dates")
    found = surest(runs, routes, from_mc, days, target)
    moved = [lead for lead in leaders(found) if lead.moves]
    drawn = together(lambda lead: curve_of(runs, lead, from_mc, days, target), moved)
    curves = dict(zip((_chain(lead) for lead in moved), drawn, strict=True))
    surest_yet = max(route.chance for route in found)
    surest_yet = max([surest_yet, *(float(c.chance.max()) for c in drawn)])
    found += judged(
        runs,
        [
            lead.moved(*lead.moves[:-1], curve.best(surest_yet))
            for lead, curve in zip(moved, drawn, strict=True)
        ],
        from_mc,
        days,
        target,
    )
    best = preferred(found)
    if best.moves and _chain(best) not in curves:
        curves[_chain(best)] = curve_of(runs, best, from_mc, days, target)
    return best, found, curves.get(_chain(best))


def _chain(route: Route) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Tell routes apart by all but their last move."""
    return route.settings, route.moves[:-1]


__all__ = ["AIRY", "EVEN", "EVENS", "ROOM_LIMIT", "SURE", "Plan", "plan"]
