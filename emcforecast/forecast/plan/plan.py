"""Where next, when in, ready when: the best route through the places one has."""

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import Progress
from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.calendar import as_day, days_between
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.errors import InputError
from emcforecast.forecast.plan.answer import plan_of
from emcforecast.forecast.plan.question import Route, ask
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.plan.solve import solve
from emcforecast.forecast.plan.success import bounded_below, starting_places
from emcforecast.forecast.risk_weeks import weekly
from emcforecast.forecast.targets import Target, target_of_number
from emcforecast.language import _
from emcforecast.storage.setting_text import (
    SettingLike,
    SettingsLike,
    as_setting,
    as_settings,
)
from emcforecast.weather.accept import WeatherLike, weather_series
from emcforecast.wood.board import Board
from emcforecast.wood.risks.week import RiskWeek

if TYPE_CHECKING:
    from emcforecast.wood.species import Species


SHORTEST, LONGEST = 7, 4 * 365
"""Days from stacking to need that can be planned."""


def plan(
    weather: WeatherLike,
    species: "str | Species" = "European larch",
    thickness: float | str = "27 mm",
    *,
    stacked: "date | str",
    need: "date | str",
    target: Target | float,
    have: SettingsLike,
    width_mm: float | None = None,
    length_mm: float | None = None,
    sealed_ends: bool = False,
    from_mc: float | None = None,
    stacked_in: SettingLike | None = None,
    today: "date | str | None" = None,
    members: int | None = None,
    known_air: StorageAir | None = None,
    progress: Progress | None = None,
) -> Plan:
    """Find the best route through the places at hand and when to make each move.

    Parameters
    ----------
    weather : Dataset or DataFrame
        Hourly or monthly weather, as `emcforecast.weather_series` takes it.
    species : str or Species
        A wood, or its name.
    thickness : float or str
        mm, or text such as "8/4".
    stacked, need : date or str
        When the stack begins and when the wood is needed.
    target : Target or float
        What to be fit for, or the moisture to be at, %.
    have : sequence, or anything else `as_settings` takes
        The places at hand, airiest first; a route visits them in this order.
    width_mm, length_mm : float, optional
        Of the boards; a typical board's when left out (`emcforecast.Board`).
    sealed_ends : bool
        Whether the end grain is coated.
    from_mc : float, optional
        Moisture content when stacked, %; green when left out.
    stacked_in : Setting, str or mapping, optional
        Where the stack is; when left out it may begin in any of the places.
    today : date or str, optional
        Nothing is moved before this day, and the actual weather is used only up to
        it. When left out: as far as the record holds the stack's own days, unless
        it holds the need date too.
    members : int, optional
        Draws, for each weather year, of what is not known of the stack; enough for
        some 60 runs when left out.
    known_air : StorageAir, optional
        That of these places and this weather, where it is at hand already.
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
    A run succeeds when the wood is ready on the need date: at or below the target, even
    from shell to core (`emcforecast.forecast.plan.success.is_ready`), and not too dry.
    The risks of its route are weighed: where one is severe, the surest route through
    other places with fewer is offered. Green wood begins in the open air where there
    is any, and is not taken into a closed or heated place. See
    `emcforecast.forecast.plan.solve` for the search.

    Examples
    --------
    >>> from emcforecast import read_weather
    >>> from emcforecast.forecast.targets import target_for_use
    >>> found = plan(
    ...     read_weather("demo"), "European ash", 27,
    ...     stacked="2026-04-01", need="2027-02-01",
    ...     target=target_for_use("furniture"),
    ...     have=["shed", "indoor"], members=1,
    ... )
    >>> found.route[-1].setting
    'indoor'
    """
    weather = weather_series(weather)
    first, last = as_day(stacked), as_day(need)
    days = days_between(first, last)
    if not have:
        raise InputError(_("no place is at hand; say --have outdoor,shed,indoor"))
    if not SHORTEST <= days <= LONGEST:
        raise InputError(
            _(
                "needed {last}, stacked {first}: the need date must lie a "
                "week to four years after; check the two dates",
                last=last,
                first=first,
            )
        )
    if not isinstance(target, Target):
        target = target_of_number(target)
    board = Board(
        species,
        thickness,
        width_mm=width_mm,
        length_mm=length_mm,
        sealed_ends=sealed_ends,
    )
    report = progress or (lambda fraction, what: None)
    places = list(as_settings(have))
    here = None if stacked_in is None else as_setting(stacked_in)
    if here is not None and here not in places:
        places.append(here)
    air = (
        storage_air(weather, places, progress=report)
        if known_air is None
        else known_air.only(places)
    )
    report(0.3, "routes")
    limit = None if today is None else as_day(today)
    known = air.known_days(first, limit)
    if limit is None and known >= days:
        limit, known = first, 0
    now = max(known, 0 if limit is None else days_between(first, limit), 0)
    if now >= days:
        raise InputError(
            _(
                "needed {last}, today {today}: it is too late to plan; give "
                "a later --need",
                last=last,
                today=first + np.timedelta64(now, "D"),
            )
        )
    numbers = range(len(places))
    stacks = {
        k: follow(
            air,
            Stack(board, (Leg(k, first),), from_mc),
            now,
            today=limit,
            draws_a_year=members,
        )
        for k in (numbers if here is None else [places.index(here)])
    }
    begin = list(stacks)
    if here is None:
        moisture = 100.0 * board.start_content(from_mc)
        too_dry = bounded_below(air, numbers, target)[1]
        begin = starting_places(air, numbers, moisture, too_dry)
        begin = begin or starting_places(air, numbers, moisture)
    asked = ask({k: stacks[k] for k in begin}, numbers, days, target)
    found = solve(asked, report)
    report(0.8, "dates")

    def weigh(route: Route) -> tuple[RiskWeek, ...]:
        starts = (first, *(first + np.timedelta64(day, "D") for day in route.moves))
        legs = tuple(Leg(k, day) for k, day in zip(route.places, starts, strict=True))
        runs = follow(
            air, Stack(board, legs, from_mc), days, today=limit, draws_a_year=members
        )
        return weekly(runs, board.wood, board.size)

    return plan_of(found, ask(stacks, numbers, days, target), known, weigh)
