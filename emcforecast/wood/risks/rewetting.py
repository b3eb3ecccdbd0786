"""Wood that gets wetter again: rain on half-dry stock, and the damp season."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.wood.risks.checking import CHECKS_EASILY, safe_rate
from emcforecast.wood.risks.week import (
    LEVELS,
    Cause,
    Level,
    Measured,
    RiskWeek,
    level_of,
    weeks,
)
from emcforecast.wood.species import Species

RAIN_MM = 1.0
"""A day's rain that wets the boards, mm: an assumption."""

HALF_DRY = (18.0, 40.0)
"""Mean moisture of half-dry stock, %; re-wetted half-dry oak checks."""

SHELL_DRY_BELOW = 25.0
"""The outside counts as dry below this, % MC."""

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

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the number of days rained on while half dry.
    """
    delicate = safe_rate(species, "4/4").rate < CHECKS_EASILY
    week = weeks(time)
    means = week.mean(mean).tolist()
    return tuple(
        _rain_week(day, part, time, precipitation, now, shell, delicate)
        for (day, part), now in zip(week.parts(), means, strict=True)
    )


def _rain_week(
    day: date,
    part: slice,
    time: TimeArray,
    precipitation: FloatArray | None,
    now: float,
    shell: FloatArray,
    delicate: bool,
) -> RiskWeek:
    measured = Measured(mean_mc=now)
    wetted = 0
    level: Level = "low"
    if precipitation is None:
        cause = Cause.UNDER_ROOF
    elif not HALF_DRY[0] <= now <= HALF_DRY[1]:
        cause = Cause.NOT_HALF_DRY
    else:
        wetted = _days_rained_on(time[part], precipitation[part], shell[part])
        level = level_of(wetted, (1.0, 2.0, 4.0) if delicate else (1.0, 3.0, 6.0))
        cause = Cause.RAINED_ON if wetted else Cause.NO_RAIN
    return RiskWeek(day, "rain on half-dry wood", level, cause, float(wetted), measured)


def _days_rained_on(
    time: TimeArray, precipitation: FloatArray, shell: FloatArray
) -> int:
    """Count the days with rain on a shell that was dry at any hour of the day."""
    days = time.astype("datetime64[D]").astype(int)
    number = days - days[0]
    rain = np.bincount(number, weights=np.nan_to_num(precipitation))
    driest = np.full(rain.size, np.inf)
    np.minimum.at(driest, number, shell)
    return int(np.count_nonzero((rain >= RAIN_MM) & (driest < SHELL_DRY_BELOW)))


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
    week = weeks(time)
    for day, now in zip(week.days, week.mean(mean).tolist(), strict=True):
        if now <= driest:
            driest, when = now, day
        rise = now - driest
        level = _regain_level(rise, now, driest)
        risen = level not in ("low", "unknown")
        cause = Cause.ABOVE_DRIEST if risen else Cause.NEAR_DRIEST
        measured = Measured(mean_mc=now, driest_mc=driest, driest_week=when)
        found.append(RiskWeek(day, "regain", level, cause, rise, measured))
    return tuple(found)


def _regain_level(rise: float, now: float, driest: float) -> Level:
    """Level of a rise: while still air-dry it is grave only for what was drier."""
    level = level_of(rise, REGAIN_LIMITS)
    if now >= AIR_DRY:
        return level
    cap: Level = "high" if driest < INDOOR_DRY else "moderate"
    return min(level, cap, key=LEVELS.index)
