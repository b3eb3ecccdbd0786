"""Wood that gets wetter again: rain on half-dry stock, and the damp season."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.wood.risks.checking import safe_rate
from emcforecast.wood.risks.week import LEVELS, Level, RiskWeek, level_of, weeks
from emcforecast.wood.species import Species

RAIN_MM = 1.0
"""A day's rain that wets the boards, mm: an assumption."""

HALF_DRY = (18.0, 40.0)
"""Mean moisture of half-dry stock, %; re-wetted half-dry oak checks."""

SHELL_DRY_BELOW = 25.0
"""The outside counts as dry below this, % MC."""

CHECKS_EASILY_BELOW = 5.0
"""Woods with a safe rate below this (% MC per day, 4/4) check easily."""

REGAIN_LIMITS = (0.7, 1.5, 3.0)
"""% MC above the driest where moderate, high and severe begin: an assumption."""

AIR_DRY = 18.0
"""Wood below this is still air-dry, whatever it gained (an assumption): the year's
swing under a roof is 3 to 4 % MC and harms nothing."""

INDOOR_DRY = 10.0
"""Wood that was drier than this was dry enough for indoors (furniture is never above
10, common practice), % MC: that is worth keeping."""


def rain_by_week(
    time: TimeArray,
    precipitation: FloatArray | None,
    mean: FloatArray,
    shell: FloatArray,
    species: Species,
) -> tuple[RiskWeek, ...]:
    """Judge rain on half-dry stock week by week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    precipitation : array, shape (n,), or None
        Rain that reaches the wood, mm per step; None under a roof.
    mean, shell : array, shape (n,)
        Moisture content of the board and its outer layer, %.
    species : Species

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the number of days rained on while half dry.
    """
    rate = safe_rate(species, "4/4").rate
    delicate = rate is not None and rate < CHECKS_EASILY_BELOW
    return tuple(
        _rain_week(day, part, time, precipitation, mean, shell, delicate)
        for day, part in weeks(time)
    )


def _rain_week(
    day: date,
    part: slice,
    time: TimeArray,
    precipitation: FloatArray | None,
    mean: FloatArray,
    shell: FloatArray,
    delicate: bool,
) -> RiskWeek:
    risk = "rain on half-dry wood"
    if precipitation is None:
        return RiskWeek(day, risk, "low", "under a roof", "", 0.0)
    now = float(np.mean(mean[part]))
    if not HALF_DRY[0] <= now <= HALF_DRY[1]:
        state = "still wet" if now > HALF_DRY[1] else "past half dry"
        return RiskWeek(day, risk, "low", f"at {now:.0f} % it is {state}", "", 0.0)
    days = time[part].astype("datetime64[D]").astype(int)
    number = days - days[0]
    rain = np.bincount(number, weights=np.nan_to_num(precipitation[part]))
    # A shell that was dry at any hour of the day before the rain soaked it.
    driest = np.full(rain.size, np.inf)
    np.minimum.at(driest, number, shell[part])
    wetted = int(np.count_nonzero((rain >= RAIN_MM) & (driest < SHELL_DRY_BELOW)))
    limits = (1.0, 2.0, 4.0) if delicate else (1.0, 3.0, 6.0)
    level = level_of(wetted, limits)
    why = (
        f"rained on {wetted} {'day' if wetted == 1 else 'days'} at {now:.0f} %, with a "
        f"dry outside: it swells, then checks as it dries again"
        if wetted
        else f"half dry at {now:.0f} %, no rain on a dry outside"
    )
    return RiskWeek(day, risk, level, why, _RAIN_ADVICE[level], float(wetted))


def regain_by_week(time: TimeArray, mean: FloatArray) -> tuple[RiskWeek, ...]:
    """Judge regain week by week: how far the board is above its driest week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    mean : array, shape (n,)
        Mean moisture content of the board, %.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is % MC above the driest week so far. Above moderate only when
        the wood was dry enough for indoors, or is no longer air-dry.
    """
    found = []
    driest, when = np.inf, None
    for day, part in weeks(time):
        now = float(np.mean(mean[part]))
        if now <= driest:
            driest, when = now, day
        rise = now - driest
        level = _regain_level(rise, now, driest)
        why = (
            f"{now:.1f} %, {rise:.1f} above its driest, {driest:.1f} % in the week of "
            f"{when.day} {when:%B %Y}"
            if level not in ("low", "unknown") and when is not None
            else f"{now:.1f} %, at or near its driest so far"
        )
        advice = _REGAIN_ADVICE[level]
        if level == "high" and now >= AIR_DRY:
            advice = "keep the wet off it: roof it, or move it under a roof"
        found.append(RiskWeek(day, "regain", level, why, advice, rise))
    return tuple(found)


def _regain_level(rise: float, now: float, driest: float) -> Level:
    """Level of a rise: while still air-dry it is grave only for what was drier."""
    level = level_of(rise, REGAIN_LIMITS)
    if now >= AIR_DRY:
        return level
    cap: Level = "high" if driest < INDOOR_DRY else "moderate"
    return min(level, cap, key=LEVELS.index)


_RAIN_ADVICE = {
    "unknown": "",
    "low": "",
    "moderate": "cover the top with a sloping roof, sides open",
    "high": "roof it now, or move it under one",
    "severe": "move it under a roof; look for checks that open and close",
}
_REGAIN_ADVICE = {
    "unknown": "",
    "low": "",
    "moderate": "its driest weeks are over here: move it on if it needs to be drier",
    "high": "bring it in, or dead-stack and wrap what is meant to stay dry",
    "severe": "keep the wet out and count its drying from this moisture again",
}
