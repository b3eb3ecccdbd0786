"""Percentiles over weather years and over weighted runs, where some never arrive."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray

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


@dataclass(frozen=True)
class YearRange(Range):
    """A range of one value a year.

    Parameters
    ----------
    p10, p50, p90 : float
        As in `Range`.
    least, most : float or None
        The lowest and highest year; None from a single year.
    """

    least: float | None = None
    most: float | None = None


def over_years(values: FloatArray) -> YearRange:
    """Return the range of one value a year.

    Parameters
    ----------
    values : ndarray, shape (years,)
        NaN where a year has none.

    Returns
    -------
    YearRange
        Linear-interpolated quantiles; all but p50 are None from a single year.

    Examples
    --------
    >>> over_years(np.array([12.0]))
    YearRange(p10=None, p50=12.0, p90=None, least=None, most=None)
    """
    known = values[~np.isnan(values)]
    if known.size == 0:
        return YearRange(None, float("nan"), None)
    if known.size == 1:
        return YearRange(None, float(known[0]), None)
    p10, p50, p90 = (float(v) for v in np.quantile(known, LEVELS))
    return YearRange(p10, p50, p90, float(known.min()), float(known.max()))


def over_years_of_many(values: FloatArray) -> FloatArray:
    """Return the ranges of one value a year, of many places at once.

    Parameters
    ----------
    values : ndarray, shape (years, …)
        NaN where a year has none.

    Returns
    -------
    ndarray, shape (3, …)
        As `over_years` has them; NaN for its None.

    Examples
    --------
    >>> over_years_of_many(np.array([[1.0, 5.0], [3.0, np.nan]]))[1].tolist()
    [2.0, 5.0]
    """
    found = levels_of_many(values)
    count = np.count_nonzero(~np.isnan(values), axis=0)
    found[[0, 2]] = np.where(count > 1, found[[0, 2]], np.nan)
    return found


def levels_of_many(values: FloatArray) -> FloatArray:
    """Quantiles of many columns at once, each of those of its values that are known.

    Parameters
    ----------
    values : ndarray, shape (years, …)
        NaN where a year has none.

    Returns
    -------
    ndarray, shape (3, …)
        Linear-interpolated at `LEVELS`; NaN where nothing is known.

    Examples
    --------
    >>> levels_of_many(np.array([[1.0, 5.0], [3.0, np.nan]])).round(1).tolist()
    [[1.2, 5.0], [2.0, 5.0], [2.8, 5.0]]
    """
    ordered = np.sort(values, axis=0)
    count = np.count_nonzero(~np.isnan(values), axis=0)
    found = np.empty((len(LEVELS), *values.shape[1:]))
    for row, level in zip(found, LEVELS, strict=True):
        at = level * np.maximum(count - 1, 0)
        below = np.floor(at).astype(np.int64)
        above = np.minimum(below + 1, np.maximum(count - 1, 0))
        low, high = (
            np.take_along_axis(ordered, k[None], axis=0)[0] for k in (below, above)
        )
        row[...] = low + (at - below) * (high - low)
    return found


def quantiles(
    values: FloatArray, weight: FloatArray, levels: Sequence[float] = LEVELS
) -> tuple[float, ...]:
    """Quantiles of weighted values; infinite ones count, at the top.

    Parameters
    ----------
    values : ndarray, shape (runs,)
        Infinite where a run never gets there.
    weight : ndarray, shape (runs,)
        Not negative, sum 1.
    levels : sequence of float
        0 to 1.

    Returns
    -------
    tuple of float
        Linear between the middles of the weights; infinite where the share that gets
        there is smaller than the level.

    Examples
    --------
    >>> even = np.full(4, 0.25)
    >>> quantiles(np.array([1.0, 2.0, 3.0, np.inf]), even, [0.5, 0.75, 0.9])
    (2.5, 3.0, inf)
    """
    order = np.argsort(values, kind="stable")
    sorted_values, share = values[order], weight[order]
    finite = np.isfinite(sorted_values)
    reached = float(share[finite].sum())
    middles = np.cumsum(share) - 0.5 * share
    found = []
    for level in levels:
        if not finite.any() or level > reached + 1e-9:
            found.append(float("inf"))
        else:
            found.append(
                float(np.interp(level, middles[finite], sorted_values[finite]))
            )
    return tuple(found)


def counted_quantile(values: FloatArray, level: float) -> float | None:
    """Quantile of equally likely values, counting those that are infinite as never.

    Examples
    --------
    >>> counted_quantile(np.array([3.0, 1.0, np.inf]), 0.5)
    3.0
    """
    value = float(np.quantile(values, level, method="inverted_cdf"))
    return value if np.isfinite(value) else None


def bands(
    paths: FloatArray, weight: FloatArray, levels: Sequence[float] = LEVELS
) -> NDArray[np.float64]:
    """Quantiles over runs, day by day.

    Parameters
    ----------
    paths : ndarray, shape (days, runs)
        No missing values.
    weight : ndarray, shape (runs,)
        Sum 1.
    levels : sequence of float
        0 to 1.

    Returns
    -------
    ndarray, shape (levels, days)
    """
    order = np.argsort(paths, axis=1)
    values = np.take_along_axis(paths, order, axis=1)
    share = weight[order]
    below = np.cumsum(share, axis=1) - 0.5 * share
    day = np.arange(paths.shape[0])
    last = paths.shape[1] - 1
    found = []
    for level in levels:
        right = np.minimum((below < level).sum(axis=1), last)
        left = np.maximum(right - 1, 0)
        a, b = below[day, left], below[day, right]
        part = np.clip((level - a) / np.where(b > a, b - a, 1.0), 0.0, 1.0)
        found.append(values[day, left] * (1.0 - part) + values[day, right] * part)
    return np.array(found)


def predictive(
    values: FloatArray,
    weight: FloatArray,
    year: NDArray[np.int64],
    levels: Sequence[float] = LEVELS,
    store: NDArray[np.int64] | None = None,
) -> tuple[float, ...]:
    """Return levels that allow for how few years the runs come from.

    Parameters
    ----------
    values : ndarray, shape (runs,)
        Infinite where a run never gets there.
    weight : ndarray, shape (runs,)
        Sum 1.
    year : ndarray of int, shape (runs,)
        Weather year of each run.
    levels : sequence of float
        As wanted of a year to come, 0 to 1.
    store : ndarray of int, shape (runs,), optional
        Draw of the storage levers of each run, where readings have singled out some:
        they are few then as years are, and no longer spread evenly over their range.

    Returns
    -------
    tuple of float
        Levels to read off the runs with `quantiles`.

    Notes
    -----
    A new year falls below the k-th of n years with probability k/(n+1): the quantile
    q of what is to come lies at q (n+1) of n values in order, which `quantiles` has at
    the level (q (n+1) - ½)/n. Traces of one year are no independent values: with the
    share r of their variance between years, 1/n = r/years + (1 - r) Σ weight². Likewise
    for the share between storage draws, each group counted by 1/Σ of its squared share.

    References
    ----------
    Weibull's plotting position, as in Makkonen (2006), Journal of Applied Meteorology
    and Climatology 45, 334-340 (from memory).

    Examples
    --------
    >>> years = np.arange(9)
    >>> low, _, high = predictive(1.0 * years, np.full(9, 1 / 9), years)
    >>> round(low, 3), round(high, 3)
    (0.056, 0.944)
    """
    n = _independent(values, weight, [year] if store is None else [year, store])
    return tuple(
        float(np.clip((level * (n + 1.0) - 0.5) / n, 0.0, 1.0)) for level in levels
    )


def _independent(
    values: FloatArray, weight: FloatArray, groupings: Sequence[NDArray[np.int64]]
) -> float:
    """Return how many independent values the runs are worth."""
    alone = 1.0 / float(np.square(weight).sum())
    # In ranks, so that "never" has a place.
    order = np.argsort(np.argsort(values, kind="stable"), kind="stable")
    off = order - float(weight @ order)
    whole = float(weight @ np.square(off))
    if whole <= 0.0:
        return alone
    inverse, left = 0.0, 1.0
    for grouping in groupings:
        names, index = np.unique(grouping, return_inverse=True)
        if names.size < 2:
            continue
        share = np.bincount(index, weights=weight)
        middle = np.bincount(index, weights=weight * off) / np.maximum(share, 1e-300)
        between = min(float(share @ np.square(middle)) / whole, left)
        inverse += between * float(np.square(share).sum())
        left -= between
    return 1.0 / (inverse + left / alone)


@dataclass(frozen=True)
class Reached:
    """When a moisture content is reached; p90 is the cautious date.

    Parameters
    ----------
    mc : float
        % of oven-dry mass.
    p10, p50, p90 : datetime64[D] or None
        Early, likely and late; None where it is not reached.
    fraction_reached : float
        Share of the runs that get there within the forecast.
    shell, core : float or None
        Middle of the runs on the day they get there, % of oven-dry mass.
    """

    mc: float
    p10: np.datetime64 | None
    p50: np.datetime64 | None
    p90: np.datetime64 | None
    fraction_reached: float
    shell: float | None
    core: float | None


def as_date(begun: np.datetime64, days: float) -> np.datetime64 | None:
    """Return the date some days on, or None for never.

    Examples
    --------
    >>> str(as_date(np.datetime64("2025-04-01"), 30.4))
    '2025-05-01'
    """
    return begun + np.timedelta64(int(days), "D") if np.isfinite(days) else None
