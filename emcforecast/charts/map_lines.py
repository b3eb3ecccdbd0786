"""The net of degrees on a map, its numbers at the edges."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.charts.projection import Projection
from emcforecast.charts.style import Look

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEPS = (0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0)
FEWEST = 3.0
"""Lines of latitude, about."""


def draw_graticule(axes: Axes, projection: Projection, look: Look) -> None:
    """Draw parallels and meridians; number them at the left and the foot of a region.

    A map of the world has its outline instead.
    """
    p = projection
    if p.is_world:
        edge = np.linspace(-90.0, 90.0, 181)
        for side in (-180.0, 180.0):
            axes.plot(*p.xy(np.full(181, side), edge), color=look.faint, linewidth=0.8)
        for north in (-90.0, 90.0):
            along = np.linspace(-180.0, 180.0, 61)
            ends = p.xy(along, np.full(61, north))
            axes.plot(*ends, color=look.faint, linewidth=0.8)
    step = next((s for s in _STEPS if p.span / s <= FEWEST * 2), _STEPS[-1])
    step = 30.0 if p.is_world else step
    for north in _between(p.south, p.north, step):
        east = np.linspace(p.west, p.east, 121)
        if p.is_world:
            east = np.linspace(-180.0, 180.0, 121)
        x, y = p.xy(east, np.full(121, north))
        _line(axes, x, y, look)
        if not (p.is_world or p.is_polar):
            _number(axes, (x, y), _degrees(north, "NS"), look, at_left=True)
    for east_line in _between(p.west, p.east, 2 * step if p.north > 60.0 else step):
        north_line = np.linspace(p.south, p.north, 121)
        x, y = p.xy(np.full(121, east_line), north_line)
        _line(axes, x, y, look)
        if not (p.is_world or p.is_polar):
            turned = (east_line + 180.0) % 360.0 - 180.0
            _number(axes, (x, y), _degrees(turned, "EW"), look, at_left=False)


def _between(low: float, high: float, step: float) -> FloatArray:
    return step * np.arange(np.ceil(low / step), np.floor(high / step) + 1)


def _line(axes: Axes, x: FloatArray, y: FloatArray, look: Look) -> None:
    axes.plot(x, y, color=look.mark, linewidth=0.35, alpha=0.5, zorder=1.5)


def _degrees(value: float, signs: str) -> str:
    sign = "" if abs(value) < 1e-9 else f" {signs[0] if value > 0 else signs[1]}"
    return f"{abs(value):g}°{sign}"


def _number(
    axes: Axes,
    line: tuple[FloatArray, FloatArray],
    words: str,
    look: Look,
    *,
    at_left: bool,
) -> None:
    """Write a number where a line leaves the axes at the left or at the foot."""
    x, y = line
    (low_x, high_x), (low_y, high_y) = axes.get_xlim(), axes.get_ylim()
    if at_left:
        k = int(np.argmin(x))
        if not low_y <= y[k] <= high_y:
            return
        spot, shift, ha, va = (x[k], y[k]), (-3, 0), "right", "center"
    else:
        k = int(np.argmin(y))
        if not low_x <= x[k] <= high_x:
            return
        spot, shift, ha, va = (x[k], y[k]), (0, -3), "center", "top"
    axes.annotate(
        words,
        spot,
        xytext=shift,
        textcoords="offset points",
        ha=ha,
        va=va,
        fontsize=8.0,
        color=look.mark,
        annotation_clip=False,
    )
