"""Ground temperature through the year, and the snow on a roof."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.physics.kernels.compiled import compiled

YEAR_HOURS = 8766.0
DAMPING = 0.65
"""Swing of the ground under a building over that of the air (an assumption)."""
LAG_HOURS = 25.0 * 24.0
"""How long the ground is behind the air (an assumption)."""
WHOLE_YEAR = 0.82 * YEAR_HOURS
"""Below this span an annual harmonic cannot be told from the mean."""
MEMORY_HOURS = 30.0 * 24.0
"""Averaging time of the ground where the series is shorter than a year."""
FREEZING = 0.5
"""°C below which precipitation falls as snow."""
MELT = 3.0 / 24.0
"""mm of water an hour for each K above freezing (3 mm per K and day)."""
COVERING = 10.0
"""mm of water in the snow that hides a roof."""
SEEN_THROUGH = 0.15
"""Share of sun taken up and of heat lost to the sky that is left under snow."""


@dataclass(frozen=True)
class AnnualCourse:
    """Mean and annual harmonic of a temperature.

    Parameters
    ----------
    mean, swing : float
        °C, and K from the mean to the warmest.
    warmest : float
        Hours after the start of the calendar year at which it is warmest.
    """

    mean: float
    swing: float
    warmest: float

    def at(
        self, hours: FloatArray, damping: float = 1.0, lag: float = 0.0
    ) -> FloatArray:
        """Temperature (°C) at hours of the year, damped and late by ``lag`` hours."""
        phase = 2.0 * np.pi * (hours - self.warmest - lag) / YEAR_HOURS
        result: FloatArray = self.mean + damping * self.swing * np.cos(phase)
        return result


def annual_course(time: TimeArray, temperature: FloatArray) -> AnnualCourse | None:
    """Fit the mean and annual harmonic of a series, if it is long enough.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
        Start of each hour.
    temperature : ndarray, shape (n,)
        °C; NaN is left out.

    Returns
    -------
    AnnualCourse or None
        None when the series spans too little of a year.

    Examples
    --------
    >>> t = np.arange("2001", "2002", dtype="datetime64[h]")
    >>> cold_january = 8.0 - 10.0 * np.cos(2 * np.pi * np.arange(t.size) / 8766)
    >>> course = annual_course(t, cold_january)
    >>> round(course.mean, 1), round(course.swing, 1), round(course.warmest / 24)
    (8.0, 10.0, 183)
    """
    known = np.isfinite(temperature)
    if np.count_nonzero(known) < WHOLE_YEAR:
        return None
    phase = 2.0 * np.pi * hour_of_year(time)[known] / YEAR_HOURS
    columns = np.column_stack([np.ones(phase.size), np.cos(phase), np.sin(phase)])
    (mean, c, s), *_ = np.linalg.lstsq(columns, temperature[known], rcond=None)
    warmest = float(np.arctan2(s, c)) % (2.0 * np.pi) * YEAR_HOURS / (2.0 * np.pi)
    return AnnualCourse(float(mean), float(np.hypot(c, s)), warmest)


def ground_temperature(
    time: TimeArray, temperature: FloatArray, course: AnnualCourse | None = None
) -> FloatArray:
    """Temperature of the ground under a building, from the air's.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
        Start of each hour.
    temperature : ndarray, shape (n,)
        Air, °C.
    course : AnnualCourse, optional
        The air's, where it is at hand already.

    Returns
    -------
    ndarray
        °C, shape (n,).

    Notes
    -----
    The air's annual harmonic, 0.65 of its swing, 25 days late. A series too short for
    a harmonic is averaged backwards over 30 days instead.

    Examples
    --------
    >>> t = np.arange("2001", "2002", dtype="datetime64[h]")
    >>> air = 8.0 - 10.0 * np.cos(2 * np.pi * np.arange(t.size) / 8766)
    >>> round(float(ground_temperature(t, air).max()), 1)
    14.5
    """
    course = course or annual_course(time, temperature)
    if course is not None:
        return course.at(hour_of_year(time), DAMPING, LAG_HOURS)
    known = np.isfinite(temperature)
    if not known.any():
        return np.full(temperature.shape, np.nan)
    air = np.interp(
        np.arange(temperature.size), np.flatnonzero(known), temperature[known]
    )
    return backward_mean(air, MEMORY_HOURS)


def backward_mean(values: FloatArray, memory: float) -> FloatArray:
    """Mean that forgets exponentially, starting from the mean of its first memory.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Without gaps.
    memory : float
        Steps after which a value counts 1/e.

    Returns
    -------
    ndarray
        Shape (n,).

    Examples
    --------
    >>> backward_mean(np.full(3, 2.0), 10.0).tolist()
    [2.0, 2.0, 2.0]
    """
    keep = float(np.exp(-1.0 / memory))
    out = np.empty(values.size)
    state = float(values[: max(1, int(memory))].mean())
    for k, value in enumerate(values.tolist()):
        state = keep * state + (1.0 - keep) * value
        out[k] = state
    return out


def hour_of_year(time: TimeArray) -> FloatArray:
    """Hours since the start of the calendar year.

    Examples
    --------
    >>> hour_of_year(np.array(["2001-01-02T05"], dtype="datetime64[h]")).tolist()
    [29.0]
    """
    start = np.asarray(time)
    if start.size:
        first = start[0].astype("datetime64[h]")
        if np.array_equal(first + np.arange(start.size), start):
            # Places of one grid share their hours.
            return _hours_of_years(first, start.size)
    return _since_new_year(start)


def _since_new_year(time: TimeArray) -> FloatArray:
    result: FloatArray = (time - time.astype("datetime64[Y]")) / np.timedelta64(1, "h")
    return result


@lru_cache(maxsize=2)
def _hours_of_years(first: np.datetime64, hours: int) -> FloatArray:
    found = _since_new_year(first + np.arange(hours))
    found.flags.writeable = False
    return found


@compiled()
def _lying(
    temperature: FloatArray, precipitation: FloatArray, start: float
) -> FloatArray:
    out = np.empty(temperature.size)
    water = start
    for k in range(temperature.size):
        t, fall = temperature[k], precipitation[k]
        if t < FREEZING and fall > 0.0:
            water += fall
        if t > 0.0:
            water = max(0.0, water - MELT * t)
        out[k] = water
    return out


def snow_water(temperature: FloatArray, precipitation: FloatArray) -> FloatArray:
    """Water held in the snow on a roof, hour by hour.

    Parameters
    ----------
    temperature : ndarray, shape (n,)
        Air, °C.
    precipitation : ndarray, shape (n,)
        mm in the hour; NaN counts as none.

    Returns
    -------
    ndarray
        mm, shape (n,). A series longer than a year starts with what lay at the end
        of its first year.

    Notes
    -----
    All precipitation below 0.5 °C is snow; 3 mm melt per K and day above 0 °C (usual
    degree-day factors are 2 to 5).

    References
    ----------
    Degree-day melt: Hock (2003), J. Hydrology 282, 104-115 (from memory).

    Examples
    --------
    >>> snow_water(np.array([-2.0, -2.0, 8.0]), np.array([1.0, 0.5, 0.0])).tolist()
    [1.0, 1.5, 0.5]
    """
    fall = np.nan_to_num(np.asarray(precipitation, dtype=np.float64), nan=0.0)
    t = np.asarray(temperature, dtype=np.float64)
    start = 0.0
    if t.size >= 8760:
        start = float(_lying(t[:8760], fall[:8760], 0.0)[-1])
    return _lying(t, fall, start)


def bare_share(water: FloatArray) -> FloatArray:
    """Share of sun and sky that reaches a roof through the snow on it.

    Parameters
    ----------
    water : ndarray
        mm of water in the snow.

    Returns
    -------
    ndarray
        1 for a bare roof, falling to 0.15 under 10 mm of water and more.

    Notes
    -----
    Fresh snow sends back about 0.8 of the sun, and 10 to 20 cm of it insulate as
    much as a board roof: the temperature under the roof then hardly follows sun or
    clear nights. Fitted roughly to two monitored roof spaces (docs/storage.md).

    Examples
    --------
    >>> bare_share(np.array([0.0, 5.0, 80.0])).round(3).tolist()
    [1.0, 0.575, 0.15]
    """
    cover = np.minimum(np.asarray(water, dtype=np.float64) / COVERING, 1.0)
    result: FloatArray = 1.0 - (1.0 - SEEN_THROUGH) * cover
    return result
