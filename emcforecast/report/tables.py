"""The tables of the answers, cell by cell in words: for a screen and for a page.

A table is laid out elsewhere; here stands what its cells say.
"""

from dataclasses import dataclass

from emcforecast.dates import month
from emcforecast.ensemble.percentiles import Reached, YearRange
from emcforecast.forecast.dry_result import Dry
from emcforecast.forecast.floor_result import Floor, SettingFloor
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.plan.success import EVENS
from emcforecast.language import _, number, p_
from emcforecast.report.dates import day_of, short
from emcforecast.report.floor_sentences import (
    back_above,
    ends_of_years,
    title_of,
    when_lowest,
)
from emcforecast.report.names import place_title, target_numbers
from emcforecast.report.plan_words import day_words, drawback_words, leg_words, place_of
from emcforecast.report.words import ENOUGH_YEARS, capital, in_hundred


@dataclass(frozen=True)
class PlaceLine:
    """One place of `floor`: how dry, when, over the years, above what again."""

    name: str
    driest: str
    when: str
    over_years: str
    again: str


@dataclass(frozen=True)
class StepLine:
    """One moisture of `dry`: dates, shell and core then, how many get there."""

    moisture: str
    early: str
    likely: str
    late: str
    shell: str
    core: str
    share: str


@dataclass(frozen=True)
class StayLine:
    """One stay of a route of `plan`: from when, where, to what."""

    day: str
    place: str
    then: str


@dataclass(frozen=True)
class AloneLine:
    """One place of `plan` for the whole time: the chance, and what speaks against."""

    place: str
    chance: str
    drawback: str


def over_years(answer: Floor) -> str:
    """Head the range over years, "" where there is none."""
    many = len(answer.years)
    if many < 2:
        return ""
    if many >= ENOUGH_YEARS:
        return _("8 years in 10")
    return _("{years} years seen", years=many)


def place_lines(answer: Floor) -> list[PlaceLine]:
    """Say a line a place."""
    return [_place(answer, name, place) for name, place in answer.settings.items()]


def _place(answer: Floor, name: str, place: SettingFloor) -> PlaceLine:
    low, back = back_above(place)
    ends = ends_of_years(place.lowest, len(answer.years))
    return PlaceLine(
        capital(title_of(answer, name)),
        f"{place.lowest.p50:.0f} %",
        when_lowest(place),
        "" if ends is None else f"{whole_range(ends)} %",
        p_("above again", "no")
        if back is None
        else _("{mc} % in {month}", mc=low, month=month(back)),
    )


def whole_range(ends: tuple[float, float]) -> str:
    """Say a range in whole per cent: "11 to 13", or "7" where both ends are."""
    low, high = (f"{end:.0f}" for end in ends)
    return low if low == high else _("{low} to {high}", low=low, high=high)


def month_cells(value: YearRange, answer: Floor) -> tuple[str, ...]:
    """Say the lowest of a month: driest, middle, dampest; the middle from one year."""
    ends = ends_of_years(value, len(answer.years))
    if ends is None:
        return (number(value.p50, ".1f"),)
    return tuple(number(mc, ".1f") for mc in (ends[0], value.p50, ends[1]))


def steps_to_come(answer: Dry) -> list[Reached]:
    """Return 30, 20 and the target, the wettest first.

    Wood that starts drier than a step has nothing to wait for there.
    """
    wanted = {
        s.mc: s
        for s in (*answer.steps, answer.target)
        if s is answer.target or s.mc < answer.start_mc
    }
    return sorted(wanted.values(), key=lambda s: -s.mc)


def step_lines(answer: Dry) -> list[StepLine]:
    """Say a line for each moisture on the way."""
    return [_step(step) for step in steps_to_come(answer)]


def _step(step: Reached) -> StepLine:
    early, likely, late = (
        _("not reached") if day is None else short(day)
        for day in (step.p10, step.p50, step.p90)
    )
    known = step.shell is not None and step.core is not None
    return StepLine(
        _("{mc:g} %", mc=step.mc),
        early,
        likely,
        late,
        f"{step.shell:.0f}" if known else "-",
        f"{step.core:.0f}" if known else "-",
        in_hundred(step.fraction_reached),
    )


def route_head(found: Plan) -> str:
    """Head the route: the one to take, or what comes nearest where none is likely."""
    if found.probability_by_need < EVENS:
        return _("What comes nearest by then")
    return _("Route")


def stay_lines(found: Plan) -> list[StayLine]:
    """Say each stay of the route, then what is there on the day it is needed."""
    goal = leg_words(found, found.route[-1])
    if found.probability_by_need < EVENS:
        goal = _(
            "as near to {moisture} as it gets", moisture=target_numbers(found.target)
        )
    says = [*(leg_words(found, leg) for leg in found.route[:-1]), goal]
    lines = [
        StayLine(day_words(leg.start), place_title(leg.kind), words)
        for leg, words in zip(found.route, says, strict=True)
    ]
    then = _("needed; then about {mc:.1f} %", mc=found.moisture_by_need)
    return [*lines, StayLine(day_words(found.need), "", then)]


def curve_lines(found: Plan) -> list[tuple[str, str]]:
    """Say the chance of being ready for a last move early in each month.

    Returns
    -------
    list of (date, chance)
        The first day of the curve, then the first of every month on it.
    """
    lines = []
    for k, (day, chance) in enumerate(zip(found.curve_days, found.curve, strict=True)):
        moved = day_of(day)
        if k == 0 or moved.day == 1:
            lines.append((day_words(moved), in_hundred(float(chance))))
    return lines


def alone_lines(found: Plan) -> list[AloneLine]:
    """Say for each place the chance of being ready if left there the whole time."""
    return [
        AloneLine(
            place_of(found, name), in_hundred(chance), drawback_words(found, name) or ""
        )
        for name, chance in found.feasible.items()
    ]
