"""Colours of moisture on maps: dry is near the paper's end, damp near the ink's."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.colors import BoundaryNorm, ListedColormap, to_rgb

from emcforecast._types import FloatArray
from emcforecast.charts.style import DARK, Look

MOST_COLOURS = 12
"""More could not be told apart by their lightness alone."""
_ON_LIGHT = (
    *("#ffeec5", "#f3ce88", "#c8b674", "#8aa184", "#608086", "#3e5b72", "#1a314e"),
)
"""Sand, over moss, to deep water: CIECAM02 lightness falls evenly from 93 to 14."""
_ON_DARK = (
    *("#ffeec5", "#f8d28c", "#d2bf7c", "#98af92", "#73949a", "#59768e", "#3f5674"),
)
"""The same hues down to 26 only, so that the dampest still stands out."""


def whole_levels(low: float, high: float) -> list[int]:
    """Return levels of whole per cent that hold a range, few enough to be told apart.

    Examples
    --------
    >>> whole_levels(7.3, 10.2)
    [7, 8, 9, 10, 11]
    >>> whole_levels(4.2, 21.0)
    [4, 6, 8, 10, 12, 14, 16, 18, 20, 22]
    """
    first, last = int(np.floor(low)), int(np.ceil(high))
    last = max(last, first + 1)
    step = next(
        s for s in (1, 2, 3, 5, 10, 20, 50) if (last - first) / s <= MOST_COLOURS
    )
    first = first // step * step
    last = -(-last // step) * step
    return list(range(first, last + step, step))


def change_levels(most: float) -> list[float]:
    """Return levels of even steps about no change, whose colours part at zero.

    Parameters
    ----------
    most : float
        Greatest change of either sign, % MC.

    Examples
    --------
    >>> change_levels(0.8)
    [-0.8, -0.6, -0.4, -0.2, 0.0, 0.2, 0.4, 0.6, 0.8]
    >>> change_levels(3.2)
    [-4.0, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 4.0]
    """
    step = next(
        s for s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0) if 5.0 * s >= most
    )
    count = max(int(np.ceil(round(most / step, 6))), 1)
    return [round(k * step, 1) for k in range(-count, count + 1)]


def colours(levels: Sequence[float], look: Look) -> tuple[ListedColormap, BoundaryNorm]:
    """Return one colour a step between levels, and how values find theirs."""
    anchors = np.array([to_rgb(c) for c in (_ON_DARK if look is DARK else _ON_LIGHT)])
    count = len(levels) - 1
    # A narrow range does not take the whole ramp: 1 % is no desert beside a swamp.
    reach = min(1.0, 0.16 * count)
    where = np.linspace(0.5 - reach / 2, 0.5 + reach / 2, count)
    at = np.linspace(0.0, 1.0, len(anchors))
    picked: FloatArray = np.column_stack(
        [np.interp(where, at, anchors[:, k]) for k in range(3)]
    )
    return ListedColormap(picked.tolist()), BoundaryNorm(levels, count)
