"""A stack's moisture by day, behind today and ahead, for the picture of the yard."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.percentiles import bands
from emcforecast.yard.outlook import Outlook

BEHIND_DAYS, AHEAD_DAYS = 120, 400
"""Days kept, at most."""
WEEK = 7
"""Shell and core are told as the mean of so many days: a shell follows every shower."""


@dataclass(frozen=True)
class Course:
    """Moisture by day, % of oven-dry mass; every array has shape (days,).

    Parameters
    ----------
    dates : ndarray of datetime64[D]
    low, middle, high : ndarray
        In lucky, middling and cautious weather.
    shell, core : ndarray
        Middle, mean of a week.
    """

    dates: NDArray[np.datetime64]
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    shell: FloatArray
    core: FloatArray


def course_of(outlook: Outlook) -> Course:
    """Return the part of a stack's outlook that a picture shows."""
    whole = outlook.whole
    span = slice(max(outlook.now - BEHIND_DAYS, 0), outlook.now + AHEAD_DAYS + 1)
    low, middle, high = bands(whole.mean[span], whole.weight)
    shell, core = (
        _weekly(bands(path[span], whole.weight, [0.5])[0])
        for path in (whole.shell, whole.core)
    )
    return Course(whole.dates[span], low, middle, high, shell, core)


def _weekly(values: FloatArray) -> FloatArray:
    padded = np.pad(values, WEEK // 2, mode="edge")
    result: FloatArray = np.convolve(padded, np.full(WEEK, 1.0 / WEEK), mode="valid")
    return result
