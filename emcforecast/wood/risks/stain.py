"""Stain in wet sapwood, week by week."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.wood.risks.week import (
    Cause,
    Level,
    Measured,
    RiskWeek,
    level_of,
    step_hours,
    weeks,
)

STAIN_NEEDS_MC = 22.0
"""Below about 20 to 25 % no stain fungus grows, % MC."""

COLDEST, BEST, HOTTEST = 4.0, 24.0, 38.0
"""Temperatures between which stain and decay live, and do best, °C."""

DRY_AIR, HUMID_AIR = 45.0, 80.0
"""Relative humidity where stain gets no hold, and where the air no longer slows it,
%: an assumption."""

STAIN_LIMITS = (1.0, 2.5, 5.0)
"""Days of best conditions in a week: warm, humid weather shows stain in 5 or 6
(Wood Handbook, FPL-GTR-190, ch. 14)."""


def warmth_for_fungi(temperature: FloatArray) -> FloatArray:
    """Return how fast fungi live, 0 to 1, from 4 to 24 °C; none above 38 °C.

    Parameters
    ----------
    temperature : array
        °C.

    Notes
    -----
    A straight line between the published limits: an engineering assumption.

    Examples
    --------
    >>> import numpy as np
    >>> warmth_for_fungi(np.array([0.0, 14.0, 24.0, 40.0])).tolist()
    [0.0, 0.5, 1.0, 0.0]
    """
    rising = np.clip((temperature - COLDEST) / (BEST - COLDEST), 0.0, 1.0)
    return np.where(temperature > HOTTEST, 0.0, rising)


def stain_by_week(
    time: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
) -> tuple[RiskWeek, ...]:
    """Judge sapwood stain week by week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature, humidity : array, shape (n,)
        Of the air at the wood, °C and %.
    mean, shell : array, shape (n,)
        Moisture content of the board and of its outer layer, %.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the days of best growing conditions in the week, 0 to 7.

    Notes
    -----
    Hours count by their warmth and humidity while both the board and its outer layer
    are above 22 %: stain enters through a wet surface.
    """
    hours = step_hours(time)
    wet = (mean > STAIN_NEEDS_MC) & (shell > STAIN_NEEDS_MC)
    humid = np.clip((humidity - DRY_AIR) / (HUMID_AIR - DRY_AIR), 0.0, 1.0)
    growing = np.where(wet, warmth_for_fungi(temperature) * humid, 0.0) * hours / 24.0
    week = weeks(time)
    means = [
        week.mean(values).tolist() for values in (mean, shell, temperature, humidity)
    ]
    return tuple(
        _stain_week(day, days, *measured)
        for day, days, *measured in zip(
            week.days, week.total(growing).tolist(), *means, strict=True
        )
    )


def _stain_week(
    day: date,
    days: float,
    mean: float,
    shell: float,
    temperature: float,
    humidity: float,
) -> RiskWeek:
    level = level_of(days, STAIN_LIMITS)
    if mean <= STAIN_NEEDS_MC:
        cause = Cause.TOO_DRY
    elif shell <= STAIN_NEEDS_MC:
        cause = Cause.DRY_SHELL
    else:
        cause = Cause.ADVERSE_AIR if level == "low" else Cause.GROWTH
    measured = Measured(
        mean_mc=mean,
        shell_mc=shell,
        air_temperature_c=temperature,
        air_rh_pct=humidity,
    )
    return RiskWeek(day, "stain", level, cause, days, measured)


DECAY_NEEDS_MC = 25.0
"""Decay wants free water: about 25 to 30 %; it stops at 20 % (% MC)."""

STOPS_AT_MC = 20.0
"""A dry outside keeps decay out, % MC."""

DECAY_LIMITS = (45.0, 120.0, 240.0)
"""Days of best conditions so far: decay takes months, not weeks. An assumption."""


def decay_by_week(
    time: TimeArray,
    temperature: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
    core: FloatArray | None = None,
) -> tuple[RiskWeek, ...]:
    """Judge decay of a board week by week, by its wet and warm time so far.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature : array, shape (n,)
        Of the air at the wood, °C.
    mean, shell : array, shape (n,)
        Moisture content of the board and its outer layer, %.
    core : array, shape (n,), optional
        Moisture content in the middle, %; the mean when not given.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the days of best growing conditions since the start.
    """
    inner = mean if core is None else core
    hours = step_hours(time)
    wet = (inner > DECAY_NEEDS_MC) & (shell > STOPS_AT_MC)
    grown = np.cumsum(np.where(wet, warmth_for_fungi(temperature), 0.0)) * hours / 24.0
    found = []
    week = weeks(time)
    so_far = week.last(grown).tolist()
    means = [week.mean(values).tolist() for values in (inner, shell)]
    for day, days, inside, outside in zip(week.days, so_far, *means, strict=True):
        level: Level = "low"
        if inside <= DECAY_NEEDS_MC:
            cause = Cause.TOO_DRY
        elif outside <= STOPS_AT_MC:
            cause = Cause.DRY_SHELL
        else:
            level, cause = level_of(days, DECAY_LIMITS), Cause.GROWTH
        measured = Measured(core_mc=inside, shell_mc=outside)
        found.append(RiskWeek(day, "decay", level, cause, days, measured))
    return tuple(found)
