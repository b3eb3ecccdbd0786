"""What the weather archives of NOAA have in common."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

LICENCE = "public domain (US Government work)"
ATTRIBUTION = (
    "NOAA National Centers for Environmental Information (https://www.ncei.noaa.gov/)"
)
#: Integrated Surface Database quality marks of values that are suspect or wrong; all
#: others (0, 1, 4, 5, 9 and the letters A, C, I, M, P, R, U) are kept.
BAD_MARKS = ("2", "3", "6", "7")


def without_bad(
    values: npt.NDArray[np.float64], marks: npt.NDArray[np.str_]
) -> tuple[npt.NDArray[np.float64], int]:
    """Set suspect and wrong values missing.

    Parameters
    ----------
    values : ndarray of float
        Values in any unit, NaN where missing.
    marks : ndarray of str
        Quality mark of each.

    Returns
    -------
    tuple of ndarray and int
        The values, and how many were set missing.

    Examples
    --------
    >>> without_bad(np.array([1.0, 2.0]), np.array(["1", "3"]))
    (array([ 1., nan]), 1)
    """
    bad = np.isin(marks, BAD_MARKS) & np.isfinite(values)
    return np.where(bad, np.nan, values), int(bad.sum())
