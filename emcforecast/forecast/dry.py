"""When a stack reaches 30, 20 and the target moisture, and when waiting ends."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from emcforecast import bounds
from emcforecast._types import Progress
from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.calendar import as_day, days_between
from emcforecast.ensemble.equilibrium import (
    Equilibrium,
    days_to_equilibrium,
    equilibrium_beside,
)
from emcforecast.ensemble.evidence import Reading
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.percentiles import Reached, as_date, quantiles
from emcforecast.ensemble.route import Cut, Leg, Stack
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.ensemble.update import Update, apply_readings
from emcforecast.errors import InputError
from emcforecast.forecast.best_reading import Settling, best_reading, cannot_tell
from emcforecast.forecast.dry_result import Dry, Recent, reached
from emcforecast.forecast.recent_years import DIFFERS, recent_of
from emcforecast.forecast.risk_weeks import spells, weekly, worst_of
from emcforecast.forecast.year_per_inch import Rule, year_per_inch
from emcforecast.language import _
from emcforecast.storage.setting_text import SettingLike, as_setting
from emcforecast.storage.settings import Setting
from emcforecast.thickness import Thickness
from emcforecast.weather.accept import WeatherLike, weather_series
from emcforecast.wood.board import Board
from emcforecast.wood.species import Species

When = date | str | np.datetime64

STEPS = (30.0, 20.0)
FIRST_DAYS, MORE_DAYS, MOST_DAYS = 730, 365, 3650
"""How far a forecast looks at first, by how much it goes on, and at most."""
MOST_SETTLED = 0.9
LEAST_PLANED = 0.5
"""Share of a board that planing leaves at least (an assumption)."""


def dry(
    weather: WeatherLike,
    species: str | Species | Sequence[str | Species] = "European larch",
    thickness: float | str | Thickness | Sequence[float | str] = "27 mm",
    stacked: When | None = None,
    setting: SettingLike = "outdoor",
    target: float = 15.0,
    *,
    width_mm: float | None = None,
    length_mm: float | None = None,
    sealed_ends: bool = False,
    from_mc: float | None = None,
    moves: Sequence[tuple[When, SettingLike]] = (),
    cuts: Sequence[Cut] = (),
    readings: Sequence[Reading] = (),
    today: When | None = None,
    seed: int = 0,
    known_air: StorageAir | None = None,
    progress: Progress | None = None,
) -> Dry:
    """Forecast when a stack is dry, from a date on, over every weather year.

    Parameters
    ----------
    weather : Dataset or DataFrame
        Hourly or monthly weather, as `emcforecast.weather_series` takes it.
    species : str or Species, or several
        A wood's name, or a wood of the person's own; several in a mixed stack.
    thickness : float or str, or several
        mm, or text such as "27 mm" or "4/4"; of several the slowest governs. Every wood
        is taken at every thickness.
    stacked : date or str, optional
        The day it was stacked, or will be; today when left out.
    setting : Setting, str or mapping
        Where: "outdoor", "shed=loft,roof=metal".
    target : float
        Moisture content to reach, % of oven-dry mass.
    width_mm, length_mm : float, optional
        Of the boards; a typical board's when left out (`emcforecast.Board`).
    sealed_ends : bool
        Whether the end grain is coated.
    from_mc : float, optional
        Moisture content when stacked, %; green when left out.
    moves : sequence of (date, setting)
        Where it goes later, by date.
    cuts : sequence of Cut
        Planing and resawing on the way.
    readings : sequence of Reading
        Corrected readings of the stack; they move the forecast.
    today : date or str, optional
        Use the actual weather only up to this day; as far as it goes when left out.
    seed : int
        The same seed gives the same draws of the levers.
    known_air : StorageAir, optional
        That of these places and this weather, where it is at hand already.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Dry

    Raises
    ------
    InputError
        For a date, moisture content, species, setting or route that cannot be.

    Notes
    -----
    Every weather year with every draw of the levers is one trace; p10, p50 and p90
    are read off them, and a trace that does not get there counts as never. It looks
    two years ahead, then on year by year until nine in ten runs have been at rest
    for a year, at most ten.

    Examples
    --------
    >>> from emcforecast import read_weather
    >>> answer = dry(read_weather("demo"), "European ash", 27, "2025-05-01", "shed")
    >>> bool(answer.steps[1].p50 < answer.steps[1].p90)
    True
    """
    weather = weather_series(weather)
    say = progress or (lambda fraction, what: None)
    given = {"width_mm": width_mm, "length_mm": length_mm}
    boards = _boards(species, thickness, **given, sealed_ends=sealed_ends)
    begun = as_day(stacked if stacked is not None else date.today())
    if not bounds.within(target, bounds.DRYING_TARGET):
        raise InputError(
            _(
                "a target of {target:g} % is outside {allowed} % of oven-dry "
                "mass; furniture wants 7 to 9, outdoor work about 15 to 20",
                target=target,
                allowed=bounds.spoken(bounds.DRYING_TARGET),
            )
        )
    route = _route(begun, setting, moves)
    places = [s for k, (s, _) in enumerate(route) if s not in [r[0] for r in route[:k]]]
    air = (
        storage_air(weather, places, seed=seed, progress=say)
        if known_air is None
        else known_air.only(places)
    )
    legs = tuple(Leg(places.index(place), day) for place, day in route)
    ordered = tuple(sorted(cuts, key=lambda cut: cut.day))
    end = None if today is None else as_day(today)
    slowest, *others = _slowest_first(air, boards, legs, from_mc, target, end, seed)
    _check_cuts(ordered, begun, slowest.thickness_mm)
    say(0.6, _("boards"))
    stack = Stack(slowest, legs, from_mc, cuts=ordered)
    runs, beside, update = _far_enough(air, stack, readings, end, seed)
    say(0.85, _("risks"))
    quicker = [(b, _followed(air, b, stack, runs.days, end, seed)) for b in others]
    mixed = [(b, r) for b, r in quicker if b.wood.name != slowest.wood.name]
    risks = worst_of([weekly(r, b.wood, b.size) for b, r in [(slowest, runs), *mixed]])
    steps = tuple(reached(runs, mc) for mc in STEPS)
    goal = reached(runs, target)
    no_gain = as_date(
        begun, quantiles(days_to_equilibrium(runs, beside), runs.weight, [0.5])[0]
    )
    answer = Dry(
        slowest,
        route,
        float(np.median(runs.mean[0])),
        steps,
        goal,
        beside.lowest[1],
        beside,
        no_gain,
        _rule(slowest, begun, goal, no_gain, steps[1]) if from_mc is None else None,
        risks,
        spells(risks),
        _settling(runs, target, end),
        _recent(runs, beside, target) if air.many_years else None,
        tuple((b, reached(r, target)) for b, r in quicker),
        runs,
        runs.years,
        air.many_years,
        air.fallbacks,
        update,
    )
    say(1.0, _("done"))
    return answer


def _slowest_first(
    air: StorageAir,
    boards: Sequence[Board],
    legs: tuple[Leg, ...],
    from_mc: float | None,
    target: float,
    today: np.datetime64 | None,
    seed: int,
) -> list[Board]:
    """Put first the boards that govern: of one wood the thickest.

    Of several woods, those that come latest to the target; where neither does within
    the first look, the wetter at its end.
    """
    if len({board.wood.name for board in boards}) == 1:
        return sorted(boards, key=lambda board: -board.thickness_mm)
    days = FIRST_DAYS + days_between(legs[0].start, legs[-1].start)

    def slowness(board: Board) -> tuple[float, float]:
        stack = Stack(board, legs, from_mc)
        runs = follow(air, stack, days, today=today, seed=seed)
        return (
            quantiles(runs.first_below(target), runs.weight, [0.5])[0],
            float(np.median(runs.mean[-1])),
        )

    return sorted(boards, key=slowness, reverse=True)


def _boards(
    species: str | Species | Sequence[str | Species],
    thickness: float | str | Thickness | Sequence[float | str],
    width_mm: float | None,
    length_mm: float | None,
    sealed_ends: bool,
) -> list[Board]:
    if isinstance(thickness, str | float | int | Thickness):
        thickness = [thickness]  # type: ignore[list-item]
    woods = [species] if isinstance(species, str | Species) else list(species)
    boards = [
        Board(
            wood,
            size,
            width_mm=width_mm,
            length_mm=length_mm,
            sealed_ends=sealed_ends,
        )
        for wood in woods
        for size in thickness
    ]
    if not boards:
        raise InputError(
            _(
                "no wood or no thickness is given; give at least one of "
                "each, such as European larch and 4/4"
            )
        )
    return boards


def _route(
    begun: np.datetime64,
    setting: SettingLike,
    moves: Sequence[tuple[When, SettingLike]],
) -> tuple[tuple[Setting, np.datetime64], ...]:
    route = [(as_setting(setting), begun)]
    for when, place in sorted(moves, key=lambda move: as_day(move[0])):
        day = as_day(when)
        if day <= route[-1][1]:
            raise InputError(
                _(
                    "a move on {day} is not after {before}, when the stack comes "
                    "to its place before; give moves in order, after {begun}",
                    day=day,
                    before=route[-1][1],
                    begun=begun,
                )
            )
        route.append((as_setting(place), day))
    return tuple(route)


def _check_cuts(cuts: Sequence[Cut], begun: np.datetime64, thickness_mm: float) -> None:
    for cut in cuts:
        if cut.day < begun:
            raise InputError(
                _(
                    "{how} on {day} is before the stack was made on {begun}; "
                    "give the thickness after it, or a later date",
                    how=cut.how,
                    day=cut.day,
                    begun=begun,
                )
            )
        if cut.how == "plane" and cut.thickness_mm < LEAST_PLANED * thickness_mm:
            raise InputError(
                _(
                    "planing {thickness_mm:g} mm boards to {thickness_mm2:g} mm "
                    "takes off more than half; give the thickness that is left, "
                    "or resaw",
                    thickness_mm=thickness_mm,
                    thickness_mm2=cut.thickness_mm,
                )
            )
        thickness_mm = min(thickness_mm, cut.thickness_mm)


def _far_enough(
    air: StorageAir,
    stack: Stack,
    readings: Sequence[Reading],
    today: np.datetime64 | None,
    seed: int,
) -> tuple[Trajectories, Equilibrium, Update | None]:
    """Follow a stack until nine in ten runs have been at rest for a year."""
    last = max(leg.start for leg in stack.route)
    days = FIRST_DAYS + days_between(stack.begun, last)
    update = None
    if readings:
        latest = max(reading.day for reading in readings)
        days = max(days, days_between(stack.begun, latest) + MORE_DAYS)
        if days > MOST_DAYS:
            raise InputError(
                _(
                    "a reading of {latest} is over {years} years after {begun}, "
                    "when the stack was made; check its date",
                    latest=latest,
                    years=MOST_DAYS // 365 - 1,
                    begun=stack.begun,
                )
            )
        update = apply_readings(air, stack, readings, days, today=today, seed=seed)
        runs = update.after
    else:
        runs = follow(air, stack, days, today=today, seed=seed)
    if not np.isfinite(runs.mean[-1]).any():
        raise InputError(
            _(
                "the weather has gaps in every year, so no forecast can be "
                "made; `emcforecast check` lists them"
            )
        )
    board = _at_the_end(stack)
    while True:
        beside = equilibrium_beside(board, runs)
        still = days_to_equilibrium(runs, beside) <= runs.days - MORE_DAYS
        if still.mean() >= MOST_SETTLED or runs.days + MORE_DAYS > MOST_DAYS:
            return runs, beside, update
        runs = runs.extend(runs.days + MORE_DAYS)


def _at_the_end(stack: Stack) -> Board:
    if not stack.cuts:
        return stack.board
    board = stack.board
    return replace(board, species=board.wood, thickness=stack.cuts[-1].thickness_mm)


def _rule(
    board: Board,
    begun: np.datetime64,
    goal: Reached,
    no_gain: np.datetime64 | None,
    twenty: Reached,
) -> Rule:
    dates = {f"{goal.mc:g} %": goal.p50, "coming to rest": no_gain, "20 %": twenty.p50}
    return year_per_inch(begun, board.size, dates)


def _settling(
    runs: Trajectories, target: float, today: np.datetime64 | None
) -> Settling | None:
    """Find the reading to ask for where the date cannot be told."""
    now = max(runs.begun, as_day(date.today()) if today is None else today)
    if now > runs.dates[-1] or not cannot_tell(runs, target, now):
        return None
    return best_reading(runs, target, now)


def _recent(runs: Trajectories, beside: Equilibrium, target: float) -> Recent | None:
    """Tell recent years apart where dry boards lie at another moisture in them."""
    years = recent_of(runs.years)
    if not years:
        return None
    late = runs.of_years(years)
    least = beside.path[:365].min(axis=0)[np.isin(runs.year, years)]
    floor = quantiles(least, late.weight, [0.5])[0]
    if abs(floor - beside.lowest[1]) <= DIFFERS:
        return None
    return Recent(years, floor, reached(late, target))


def _followed(
    air: StorageAir,
    board: Board,
    stack: Stack,
    days: int,
    today: np.datetime64 | None,
    seed: int,
) -> Trajectories:
    """Follow other boards of the same stack."""
    other = Stack(board, stack.route, stack.start_mc)
    return follow(air, other, days, today=today, seed=seed)
