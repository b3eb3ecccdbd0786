"""Where a word fits in a picture: beside its own band, clear of every other."""

from dataclasses import dataclass, field

import numpy as np

from emcforecast._types import FloatArray

STEP_DAYS = 4
STEEP = 0.4
"""How much a spot loses for each unit that its band falls off beneath the word."""
BELOW = 0.1
"""How much a spot below a band loses against one above, in word heights."""
ENOUGH = 1.5
"""Clearance, in word heights, beyond which more does not count."""


@dataclass
class Room:
    """What is drawn already, by day of the year.

    Parameters
    ----------
    bottom, top : float
        Ends of the moisture axis.
    height : float
        Height of a word on that axis.
    bands : list of (low, high) arrays, shape (365,)
        Bands and, as narrow bands, the words placed so far; NaN where there is none.
    """

    bottom: float
    top: float
    height: float
    bands: list[tuple[FloatArray, FloatArray]] = field(default_factory=list)

    def place(
        self, low: FloatArray, high: FloatArray, width: float
    ) -> tuple[float, float]:
        """Find the middle of a word beside a band and keep its place.

        Parameters
        ----------
        low, high : ndarray, shape (365,)
            The band the word names.
        width : float
            Of the word, days.

        Returns
        -------
        day, level : float
            Of the middle of the word.

        Examples
        --------
        >>> flat = np.full(365, 10.0)
        >>> room = Room(0.0, 20.0, 1.0, [(flat, flat)])
        >>> room.place(flat, flat, 60.0)[1]
        11.0
        """
        half = min(int(width / 2) + 1, 180)
        best, found = -np.inf, (182.0, float(high.max()) + self.height)
        for day in range(half, 365 - half, STEP_DAYS):
            window = slice(day - half, day + half + 1)
            for above in (True, False):
                edge = float(high[window].max() if above else low[window].min())
                level = edge + (self.height if above else -self.height)
                score = min(self._clear(level, window) / self.height, ENOUGH)
                fall = float(np.ptp(high[window] if above else low[window]))
                score -= STEEP * fall / self.height + (0.0 if above else BELOW)
                if score > best:
                    best, found = score, (float(day), level)
        self._take(found, half)
        return found

    def _clear(self, level: float, window: slice) -> float:
        """Distance from a word's nearer edge to anything, negative inside it."""
        half = self.height / 2.0
        gaps = [level - half - self.bottom, self.top - level - half]
        for low, high in self.bands:
            gap = np.maximum(low[window] - level - half, level - half - high[window])
            if not np.isnan(gap).all():
                gaps.append(float(np.nanmin(gap)))
        return min(gaps)

    def _take(self, middle: tuple[float, float], half: int) -> None:
        day, level = int(middle[0]), middle[1]
        low, high = np.full(365, np.nan), np.full(365, np.nan)
        low[max(day - half, 0) : day + half + 1] = level - self.height / 2.0
        high[max(day - half, 0) : day + half + 1] = level + self.height / 2.0
        self.bands.append((low, high))
