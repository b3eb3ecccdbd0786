"""Readings that contradict the forecast and the other readings: outliers."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.evidence import MODEL_SD, Evidence, log_likelihood
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.weights import weigh

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
    reading : Evidence
        Which.
    low, high : float
        What the weather and the other readings leave room for, % MC.
    """

    reading: Evidence
    low: float
    high: float


def set_aside_outliers(
    table: FloatArray, readings: Sequence[Evidence]
) -> tuple[list[int], list[Outlier]]:
    """Set aside readings that the forecast and the other readings contradict.

    Parameters
    ----------
    table : ndarray, shape (readings, runs)
        What each reading should be in every run, % MC.
    readings : sequence of Evidence
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
    table: FloatArray, readings: Sequence[Evidence], k: int, others: list[int]
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
