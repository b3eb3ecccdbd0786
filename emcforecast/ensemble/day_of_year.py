"""A year as 365 days: slots, months, smoothing over New Year."""

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray

SMOOTHING_DAYS = 15
"""Days over which a yearly curve is averaged before dates are read off it."""


def day_slot(days: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Day of a 365-day year, 0 to 364; 29 February counts as the 28th.

    Examples
    --------
    >>> day_slot(np.array(["2020-02-29", "2020-03-01", "2021-12-31"], "datetime64[D]"))
    array([ 58,  59, 364])
    """
    years = days.astype("datetime64[Y]")
    ordinal = (days - years.astype("datetime64[D]")).astype(np.int64)
    year = years.astype(np.int64) + 1970
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    result: NDArray[np.int64] = ordinal - (leap & (ordinal >= 59))
    return result


def month_of_day(slot: int) -> int:
    """Month (1 to 12) of a day of a 365-day year counted from 0."""
    day = np.datetime64("2001-01-01") + slot
    return int(day.astype("datetime64[M]").astype(np.int64) % 12 + 1)


def smooth(curve: FloatArray, days: int = SMOOTHING_DAYS) -> FloatArray:
    """Average a year-round daily curve over some days, wrapping over New Year.

    Parameters
    ----------
    curve : ndarray, shape (365,)
        One value a day.
    days : int
        Width of the mean, days.
    """
    half = days // 2
    wrapped = np.concatenate([curve[-half:], curve, curve[:half]])
    result: FloatArray = np.convolve(wrapped, np.full(days, 1.0 / days), mode="valid")
    return result
