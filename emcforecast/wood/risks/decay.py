"""Decay: the hazard of a climate, and how long a board has been wet and warm."""

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import InputError
from emcforecast.wood.risks.stain import warmth_for_fungi
from emcforecast.wood.risks.week import (
    Cause,
    Level,
    Measured,
    RiskWeek,
    level_of,
    step_hours,
    weeks,
)

RAIN_DAY_MM = 0.25
"""A day counts as wet from this much rain, mm (0.01 in)."""

DECAY_NEEDS_MC = 25.0
"""Decay wants free water: about 25 to 30 %; it stops at 20 % (% MC)."""

STOPS_AT_MC = 20.0
"""A dry outside keeps decay out, % MC."""

DECAY_LIMITS = (45.0, 120.0, 240.0)
"""Days of best conditions so far: decay takes months, not weeks. An assumption."""


def scheffer_index(mean_temperature: FloatArray, rain_days: FloatArray) -> float:
    """Return the decay hazard of a climate for wood above ground.

    Parameters
    ----------
    mean_temperature : array, shape (12,)
        Of each month, °C.
    rain_days : array, shape (12,)
        Days with at least 0.25 mm in each month.

    Returns
    -------
    float
        Below 35 low, 35 to 65 moderate, above 65 high; up to about 150.

    Raises
    ------
    InputError
        Without twelve months of both.

    Notes
    -----
    Σ (T - 2)(D - 3) / 16.7 over the months; a month at or below 2 °C, or with three
    wet days or fewer, adds nothing.

    References
    ----------
    Scheffer (1971), Forest Products Journal 21(10):25-31; bands as at the whole
    building design guide (read).

    Examples
    --------
    >>> import numpy as np
    >>> round(scheffer_index(np.full(12, 12.0), np.full(12, 8.0)), 1)
    35.9
    """
    warm = np.asarray(mean_temperature, dtype=float)
    wet = np.asarray(rain_days, dtype=float)
    if warm.shape != (12,) or wet.shape != (12,):
        raise InputError(
            "the decay index needs twelve months of temperature and of rain days. "
            "Give a full year."
        )
    return float(
        np.sum(np.maximum(warm - 2.0, 0.0) * np.maximum(wet - 3.0, 0.0)) / 16.7
    )


def scheffer_band(index: float) -> str:
    """Return "low", "moderate" or "high" for a decay index.

    Examples
    --------
    >>> [scheffer_band(x) for x in (20.0, 50.0, 90.0)]
    ['low', 'moderate', 'high']
    """
    return "low" if index < 35.0 else "moderate" if index <= 65.0 else "high"


def scheffer_from_series(
    time: TimeArray, temperature: FloatArray, precipitation: FloatArray
) -> float:
    """Return the decay index of a series of at least a year.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
        Even steps of a day or less; local days where the caller can.
    temperature : array, shape (n,)
        Outdoor air, °C.
    precipitation : array, shape (n,)
        mm per step.

    Returns
    -------
    float
        Months averaged over the years first, as in the publication.

    Raises
    ------
    InputError
        When a month of the year is missing.
    """
    hours = step_hours(time)
    months = time.astype("datetime64[M]").astype(int)
    _, first, day_of = np.unique(
        time.astype("datetime64[D]"), return_index=True, return_inverse=True
    )
    rain = np.bincount(day_of, weights=np.nan_to_num(precipitation))
    month_of_day = months[first]
    mean, wet = np.full(12, np.nan), np.full(12, np.nan)
    for month in range(12):
        here = months % 12 == month
        if not here.any():
            raise InputError(
                "the decay index needs every month of the year. Give a full year."
            )
        mean[month] = np.nanmean(temperature[here])
        length = np.count_nonzero(here) * hours / 24.0
        share = (
            np.count_nonzero(rain[month_of_day % 12 == month] >= RAIN_DAY_MM) / length
        )
        wet[month] = share * _MONTH_DAYS[month]
    return scheffer_index(mean, wet)


_MONTH_DAYS = (31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0)


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
    for day, part in weeks(time):
        days, inside, outside = (
            float(grown[part][-1]),
            float(np.mean(inner[part])),
            float(np.mean(shell[part])),
        )
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
