"""Likelihoods to weights, and weights to a few draws that stand for all."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.evidence import MODEL_SD, Reading, log_likelihood
from emcforecast.ensemble.percentiles import quantiles

FEWEST = 16.0
"""The readings may not leave fewer effective draws than this; they are trusted less
until so many remain."""


def weigh(
    log_likely: FloatArray, fewest: float = FEWEST
) -> tuple[FloatArray, float, float]:
    """Turn log-likelihoods into weights, sparing enough draws.

    Parameters
    ----------
    log_likely : ndarray, shape (draws,)
        Up to a constant.
    fewest : float
        Effective number of draws, 1/Σw², that must remain.

    Returns
    -------
    weight : ndarray, shape (draws,)
        Sum 1.
    effective : float
        Effective number of draws.
    trust : float
        Power between 0 and 1 that the likelihood was raised to.

    Examples
    --------
    >>> weight, effective, trust = weigh(np.array([0.0, 0.0, -1.0]), fewest=2.0)
    >>> round(effective, 2), trust
    (2.63, 1.0)
    """
    fewest = min(fewest, log_likely.size / 2.0)

    def at(power: float) -> tuple[FloatArray, float]:
        weight = np.exp(power * (log_likely - log_likely.max()))
        weight = weight / weight.sum()
        return weight, float(1.0 / np.square(weight).sum())

    weight, effective = at(1.0)
    if effective >= fewest:
        return weight, effective, 1.0
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if at(middle)[1] >= fewest else (low, middle)
    weight, effective = at(low)
    return weight, effective, low


def resample(weight: FloatArray, count: int) -> IntArray:
    """Pick draws in proportion to their weight: a systematic sample.

    Parameters
    ----------
    weight : ndarray, shape (draws,)
        Sum 1.
    count : int
        Points of the systematic sample.

    Returns
    -------
    ndarray of int, shape (count,)
        Numbers of the draws in ascending order; a heavy one comes several times.

    Examples
    --------
    >>> resample(np.array([0.5, 0.0, 0.25, 0.25]), 4)
    array([0, 0, 2, 3])
    """
    points = (np.arange(count) + 0.5) / count
    last = weight.size - 1
    picked: IntArray = np.minimum(np.searchsorted(np.cumsum(weight), points), last)
    return picked


def representatives(weight: FloatArray, count: int = 64) -> IntArray:
    """Pick runs that stand for all, in proportion to their weight.

    Parameters
    ----------
    weight : ndarray, shape (runs,)
        Sum 1.
    count : int
        How many.

    Returns
    -------
    ndarray of int
        A heavy one comes several times; all in order where they are few and equal.
    """
    if np.ptp(weight) < 1e-12 and weight.size <= count:
        return np.arange(weight.size)
    order = np.random.default_rng(0).permutation(weight.size)
    picked: IntArray = order[resample(weight[order], count)]
    return picked


FAR = 2.5
"""Standard deviations of a reading beyond the outermost traces at which it is
questioned."""
OUTERMOST = (0.005, 0.995)
"""Levels at which the outermost traces are taken."""
WET_CHANCE = 0.02
"""A reading above the scale is questioned where the traces give it less than this."""


@dataclass(frozen=True)
class Outlier:
    """A reading that is kept but not used.

    Parameters
    ----------
    reading : Reading
        Which.
    low, high : float
        What the weather and the other readings leave room for, % MC.
    """

    reading: Reading
    low: float
    high: float


def set_aside_outliers(
    table: FloatArray, readings: Sequence[Reading]
) -> tuple[list[int], list[Outlier]]:
    """Set aside readings that the forecast and the other readings contradict.

    Parameters
    ----------
    table : ndarray, shape (readings, runs)
        What each reading should be in every run, % MC.
    readings : sequence of Reading
        In the same order.

    Returns
    -------
    list of int
        Numbers of those that count.
    list of Outlier
        The others, the farthest first.
    """
    used = list(range(len(readings)))
    found: list[Outlier] = []
    while used:
        far = [_distance(table, readings, k, [j for j in used if j != k]) for k in used]
        worst = int(np.argmax([distance for distance, _, _ in far]))
        distance, low, high = far[worst]
        if distance <= FAR:
            break
        k = used.pop(worst)
        found.append(Outlier(readings[k], low, high))
    return used, found


def _distance(
    table: FloatArray, readings: Sequence[Reading], k: int, others: list[int]
) -> tuple[float, float, float]:
    """Return how far a reading lies outside the room it has, in sd, and that room."""
    likely = [log_likelihood(table[j], readings[j]) for j in others]
    weight, _, _ = weigh(np.sum([np.zeros(table.shape[1]), *likely], axis=0))
    there, reading = table[k], readings[k]
    low, high = quantiles(there, weight, OUTERMOST)
    if reading.wet or reading.mc is None:
        chance = float(weight @ np.exp(log_likelihood(there, reading)))
        far = np.log(max(chance, 1e-30)) / np.log(WET_CHANCE)
        return float(FAR * far), low, high
    sd = float(np.hypot(reading.spread, MODEL_SD))
    outside = max(low - reading.mc, reading.mc - high) / sd
    return float(outside), max(low - FAR * sd, 0.0), high + FAR * sd
