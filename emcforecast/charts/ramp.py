"""Colours of moisture on maps: dry is near the paper's end, damp near the ink's."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import BoundaryNorm, ListedColormap, to_rgb

from emcforecast._types import FloatArray
from emcforecast.charts.style import DARK, Look

MOST_COLOURS = 9
"""More could not be told apart by their lightness alone."""
_DRY_TO_DAMP = (
    "#f7e8c4",
    "#e3bd7c",
    "#bb9a63",
    "#6f8b6b",
    "#3c6f74",
    "#1f4c6b",
    "#0d2440",
)
"""Sand, over moss, to deep water: lightness falls all the way, in even steps of hue."""
_DARK_PAPER = (
    "#fbedc8",
    "#e6c283",
    "#c3a36c",
    "#83a17f",
    "#5a8f95",
    "#47749a",
    "#3d5a8f",
)


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


def colours(levels: list[int], look: Look) -> tuple[ListedColormap, BoundaryNorm]:
    """Return one colour a step between levels, and how values find theirs."""
    anchors = np.array(
        [to_rgb(c) for c in (_DARK_PAPER if look is DARK else _DRY_TO_DAMP)]
    )
    count = len(levels) - 1
    where = np.linspace(0.0, 1.0, count) if count > 1 else np.array([0.4])
    at = np.linspace(0.0, 1.0, len(anchors))
    picked: FloatArray = np.column_stack(
        [np.interp(where, at, anchors[:, k]) for k in range(3)]
    )
    return ListedColormap(picked.tolist()), BoundaryNorm(levels, count)
