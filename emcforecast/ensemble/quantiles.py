"""Ranges over weather years: driest in ten, middle, dampest in ten."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LEVELS = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Range:
    """A middle value with its one-in-ten and nine-in-ten neighbours.

    Parameters
    ----------
    p10, p90 : float or None
        None where one artificial or single year gives no range.
    p50 : float
        The middle.
    """

    p10: float | None
    p50: float
    p90: float | None


def over_years(values: NDArray[np.float64]) -> Range:
    """Return the range of one value a year.

    Parameters
    ----------
    values : ndarray, shape (years,)
        NaN where a year has none.

    Returns
    -------
    Range
        Linear-interpolated quantiles; p10 and p90 are None from a single year.

    Examples
    --------
    >>> over_years(np.array([12.0]))
    Range(p10=None, p50=12.0, p90=None)
    """
    known = values[~np.isnan(values)]
    if known.size == 0:
        return Range(None, float("nan"), None)
    if known.size == 1:
        return Range(None, float(known[0]), None)
    p10, p50, p90 = (float(v) for v in np.quantile(known, LEVELS))
    return Range(p10, p50, p90)
