"""Readings that the forecast and the other readings speak against."""

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
class Doubt:
    """A reading that is kept but not used.

    Parameters
    ----------
    reading : Evidence
        Which.
    reason : str
        What speaks against it, in words, and what to do.
    """

    reading: Evidence
    reason: str


def questioned(
    table: FloatArray, readings: Sequence[Evidence]
) -> tuple[list[int], list[Doubt]]:
    """Set aside readings that the forecast and the others speak against.

    Parameters
    ----------
    table : ndarray, shape (readings, traces)
        What each reading should be in every trace, % MC.
    readings : sequence of Evidence
        In the same order.

    Returns
    -------
    list of int
        Numbers of those that count.
    list of Doubt
        The others, the farthest first.
    """
    used = list(range(len(readings)))
    doubts: list[Doubt] = []
    while used:
        far = [_distance(table, readings, k, [j for j in used if j != k]) for k in used]
        worst = int(np.argmax([distance for distance, _, _ in far]))
        distance, low, high = far[worst]
        if distance <= FAR:
            break
        k = used.pop(worst)
        doubts.append(Doubt(readings[k], _reason(readings[k], low, high)))
    return used, doubts


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


def _reason(reading: Evidence, low: float, high: float) -> str:
    what = (
        "wet, above 30," if reading.wet or reading.mc is None else f"{reading.mc:.1f} %"
    )
    return (
        f"{what} on {reading.day}: the weather and the other readings leave room for "
        f"{low:.0f} to {high:.0f} %. It is kept, not used; read another board, or "
        "check the date, the species setting and the battery"
    )
