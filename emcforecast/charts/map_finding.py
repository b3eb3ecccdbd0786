"""What a map shows, in the sentence above it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.charts.cells import Cells
from emcforecast.language import _

Panels = Sequence[tuple[str, FloatArray]]
"""Words and values of each panel."""


def finding(held: Panels, cells: Cells) -> str:
    """Say what a map shows: the driest, the middle and the dampest of its area."""
    middles = _middles(held, cells)
    if not middles:
        return _("No place of the grid has air the whole year")
    if len(middles) > 1:
        parts = [f"{words.lower()} {middle:.0f} %" for words, middle, *__ in middles]
        return _(
            "How dry wood gets over half the area: {places}", places=", ".join(parts)
        )
    __, middle, low, high = middles[0]
    if round(low) == round(high):
        return _("Wood dries to {mc:.0f} % everywhere", mc=middle)
    if round(high) - round(low) < 3:
        return _(
            "Wood dries to {low:.0f} to {high:.0f} % everywhere", low=low, high=high
        )
    return _(
        "Wood dries to {mc:.0f} % or less over half the area: {low:.0f} % where it is "
        "driest, {high:.0f} % where it is dampest",
        mc=middle,
        low=low,
        high=high,
    )


def change_finding(held: Panels, cells: Cells, periods: str) -> str:
    """Say how much changes from one period or grid to another, over the area.

    Parameters
    ----------
    held : sequence of (str, ndarray)
        Words and changes, % MC, of each panel.
    cells : Cells
        Where they are.
    periods : str
        Names of the two, parted by "; ".
    """
    middles = _middles(held, cells)
    if not middles:
        return _("No place of the grid has air the whole year")
    first, _semicolon, second = periods.partition("; ")
    if len(middles) > 1:
        parts = [
            _("{place} {mc:+.1f} %", place=words.lower(), mc=middle)
            for words, middle, *__ in middles
        ]
        return _(
            "{second} less {first}, middle of the area: {places}",
            first=first,
            second=second,
            places=", ".join(parts),
        )
    __, middle, low, high = middles[0]
    return _(
        "{second} less {first}: {mc:+.1f} % MC in the middle of the area, {low:+.1f} "
        "to {high:+.1f} % from place to place",
        first=first,
        second=second,
        mc=middle,
        low=low,
        high=high,
    )


def _middles(held: Panels, cells: Cells) -> list[tuple[str, float, float, float]]:
    """Middle of the area, least and greatest of each panel; none without values."""
    weight = np.cos(np.radians(np.nan_to_num(cells.north)))
    middles = []
    for words, field in held:
        known = np.isfinite(field)
        if not known.any():
            return []
        order = np.argsort(field[known])
        share = np.cumsum(weight[known][order])
        middle = field[known][order][np.searchsorted(share, 0.5 * share[-1])]
        ends = float(field[known].min()), float(field[known].max())
        middles.append((words, float(middle), *ends))
    return middles
