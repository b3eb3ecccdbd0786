"""Whether a logger's clock agrees with the weather's, by correlation."""

from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray

MOST_HOURS = 15
"""Shifts looked at, either way."""
PLAIN_GAIN = 0.08
"""How much better the correlation must get before a shift is plain."""
PLAIN_MATCH = 0.6
"""And how good it must be."""


@dataclass(frozen=True)
class ClockShift:
    """How late a logger's clock runs.

    Parameters
    ----------
    hours : int
        The logger's stamps less the true time: positive when they are too late.
    correlation, unshifted : float
        Of the two courses of temperature with and without the shift.
    """

    hours: int
    correlation: float
    unshifted: float

    @property
    def plain(self) -> bool:
        """Whether the shift plainly betters the match."""
        return (
            self.hours != 0
            and self.correlation >= PLAIN_MATCH
            and self.correlation - self.unshifted >= PLAIN_GAIN
        )


def clock_shift(logger: FloatArray, expected: FloatArray) -> ClockShift:
    """Find the shift at which a logger's temperature follows the expected best.

    Parameters
    ----------
    logger, expected : ndarray, shape (hours,)
        Temperature read and expected at the same stamps, °C; NaN where unknown.

    Returns
    -------
    ClockShift
        The best of all shifts up to 15 h either way.

    Notes
    -----
    Each course is freed from its running daily mean, so that the daily course decides.

    Examples
    --------
    >>> hours = np.arange(24 * 20)
    >>> true = 10.0 + 4.0 * np.sin(2 * np.pi * hours / 24) + np.sin(hours / 31.0)
    >>> clock_shift(np.roll(true, 3), true).hours
    3
    """
    read, due = _daily_course(logger), _daily_course(expected)
    n = read.size
    found: dict[int, float] = {}
    for shift in range(-MOST_HOURS, MOST_HOURS + 1):
        a = read[max(0, shift) : n + min(0, shift)]
        b = due[max(0, -shift) : n - max(0, shift)]
        found[shift] = _correlation(a, b)
    best = max(found, key=lambda s: (found[s], -abs(s)))
    return ClockShift(best, found[best], found[0])


def _daily_course(values: FloatArray) -> FloatArray:
    known = np.isfinite(values)
    held = np.where(known, values, 0.0)
    window = np.ones(25)
    count = np.convolve(known.astype(np.float64), window, mode="same")
    mean = np.convolve(held, window, mode="same") / np.maximum(count, 1.0)
    result: FloatArray = np.where(known, values - mean, np.nan)
    return result


def _correlation(a: FloatArray, b: FloatArray) -> float:
    known = np.isfinite(a) & np.isfinite(b)
    if np.count_nonzero(known) < 48:
        return -1.0
    x, y = a[known] - a[known].mean(), b[known] - b[known].mean()
    size = float(np.sqrt((x @ x) * (y @ y)))
    return float(x @ y) / size if size > 0.0 else 0.0
