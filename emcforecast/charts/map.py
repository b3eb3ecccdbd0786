"""The picture of a grid: how dry wood gets, place by place, on a map."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from emcforecast._types import FloatArray
from emcforecast.charts import style
from emcforecast.charts.cells import Cells, drawn_finer, place_cells
from emcforecast.charts.coast import FINEST, coast_rings
from emcforecast.charts.map_finding import change_finding, finding
from emcforecast.charts.map_labels import (
    Name,
    Taken,
    city_names,
    label_contours,
    put_names,
)
from emcforecast.charts.map_lines import draw_graticule
from emcforecast.charts.ramp import change_levels, colours, whole_levels
from emcforecast.charts.style import LIGHT, Look
from emcforecast.errors import InputError
from emcforecast.grid.places import LIST
from emcforecast.language import N_, _

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.path import Path

SHOWN = ("year_lowest_p50", "lowest_p50", "emc_lowest_p50", "emc_p50", "emc")
"""What a map shows unless it is said, the first that there is."""
WORDS = {
    "year_lowest_p50": N_("lowest moisture of the year, middle year"),
    "lowest_p50": N_("lowest moisture of the driest month, middle year"),
    "emc_lowest_p50": N_("lowest equilibrium moisture content (EMC), middle year"),
    "emc_p50": N_(
        "equilibrium moisture content (EMC) of the driest month, middle year"
    ),
    "emc": N_("equilibrium moisture content (EMC) of the driest month"),
    "emc_change": N_("change of the year's mean EMC"),
    "emc_change_mean": N_("change of the year's mean EMC, mean of the models"),
    "year_lowest_p50_change": N_("change of the lowest moisture of the year"),
    "year_lowest_p50_change_mean": N_(
        "change of the lowest moisture of the year, mean of the models"
    ),
}
PLACES = {"outdoor": N_("Outdoors"), "shed": N_("Shed"), "indoor": N_("Indoors")}
ICE = -58.0
"""Degrees north: maps of the world end here where the sea is left out."""
LINE, ZERO_LINE = 0.45, 1.4
"""Widths of contours, pt; the line of no change stands out."""
LAND_ONLY = 20.0
"""Degrees from which on the sea is left out: wood is dried on land."""


SHOWN_OF_CHANGE = (
    *("year_lowest_p50_change_mean", "year_lowest_p50_change"),
    *("emc_change_mean", "emc_change"),
)
"""What the picture of a comparison shows, the first that there is."""


def shown_first(result: xr.Dataset) -> str | None:
    """Return what a comparison shows first; None of a single map."""
    return next((name for name in SHOWN_OF_CHANGE if name in result), None)


def require_rows(ds: xr.Dataset) -> None:
    """Refuse a list of cells, of which no picture can be drawn; raises `InputError`."""
    if LIST in ds.dims:
        raise InputError(
            _("a picture needs rows and columns; this grid is a list of cells")
        )


def map_figure(
    result: xr.Dataset,
    *,
    variable: str | None = None,
    title: str = "",
    names: Sequence[Name] | bool = False,
    look: Look = LIGHT,
    narrow: bool = False,
    land_only: bool | None = None,
) -> Figure:
    """Draw a variable of a map's answer, a panel for each place to store wood.

    Parameters
    ----------
    result : Dataset
        With ``latitude`` and ``longitude``; of months the driest is shown, of changes
        their mean.
    variable : str, optional
        Which, in % of oven-dry mass; the first of `SHOWN` otherwise.
    title : str
        The finding; made from the numbers otherwise.
    names : sequence of Name, or bool
        Places to write on the map; True for cities.
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright.
    land_only : bool, optional
        Leave out the sea; by default on maps of over twenty degrees.

    Raises
    ------
    InputError
        For a list of cells.

    Returns
    -------
    Figure
        Cells coloured by whole per cent, contours with their numbers, coasts.
    """
    require_rows(result)
    name = variable or next(n for n in SHOWN if n in result)
    is_change = "_change" in name
    panels = _panels(result[name], is_change)
    cells = place_cells(panels[0][1])
    projection = cells.projection
    is_clipped = projection.span > LAND_ONLY if land_only is None else land_only
    rings = coast_rings()
    if is_clipped and projection.is_world:
        # Not by the edge of the axes: an SVG has room for one clip, and it is the land.
        rings = tuple(ring for ring in rings if ring[:, 1].max() > ICE)
    land = projection.land(rings) if projection.span >= FINEST else None
    seen = np.ones(cells.x.shape, dtype=bool)
    if is_clipped and land is not None and cells.on(land).any():
        seen = cells.on(land) & (cells.north > ICE if projection.is_world else True)
    held = [(words, np.where(seen, field, np.nan)) for words, field in _values(panels)]
    levels = _levels([field for __, field in held], is_change)
    bottom = float(cells.y_edges.min())
    if is_clipped and projection.is_world:
        bottom = max(bottom, float(projection.xy(0.0, ICE)[1]))
    fig, axes = _figure(len(held), cells, bottom, look, narrow)
    canvas = FigureCanvasAgg(fig)
    drawn = []
    for place, (words, whole) in zip(axes, _values(panels), strict=True):
        clip = land if seen.sum() < seen.size else None
        drawn.append(_draw(place, whole, cells, land, clip, levels, look))
        if len(held) > 1:
            place.set_title(words, loc="left", fontsize=10, color=look.ink)
    unit = _("% of oven-dry mass; 0: no change") if is_change else ""
    _legend(fig, drawn[0][0], axes, levels, look, unit, narrow=narrow)
    label = str(result[name].attrs.get("long_name", name))
    case = _(WORDS[name]) if name in WORDS else label
    said = (
        change_finding(held, cells, str(result.attrs.get("periods", "")))
        if is_change
        else finding(held, cells)
    )
    _title(fig, look, title or said, case, narrow=narrow)
    source = str(result.attrs.get("source", ""))
    note = str(result.attrs.get("attribution", ""))
    style.footnote(fig, look, "\n".join(t for t in (source, note) if t))
    fig.draw_without_rendering()
    # Words are put into the room that is left: it must not move any more.
    fig.set_layout_engine("none")
    cities = city_names() if names is True else list(names or [])
    for place, (__, contours) in zip(axes, drawn, strict=True):
        taken = Taken(place, canvas)
        put_names(place, cities, projection, taken, look, narrow=narrow)
        label_contours(
            place, contours, taken, look, land if is_clipped else None, narrow=narrow
        )
    return fig


def _panels(field: xr.DataArray, is_change: bool) -> list[tuple[str, xr.DataArray]]:
    space = {*field["latitude"].dims, *field["longitude"].dims}
    if "month" in field.dims:
        field = field.mean("month") if is_change else field.min("month")
    for dim in [d for d in field.dims if d not in space and d != "place"]:
        field = field.isel({dim: 0})
    if "place" not in field.dims:
        return [("", field)]
    return [
        (
            _(PLACES[str(word)]) if str(word) in PLACES else str(word),
            field.isel(place=k),
        )
        for k, word in enumerate(field["place"].to_numpy())
    ]


def _values(panels: list[tuple[str, xr.DataArray]]) -> list[tuple[str, FloatArray]]:
    return [
        (words, np.asarray(field.to_numpy(), dtype=np.float64))
        for words, field in panels
    ]


def _levels(fields: Sequence[FloatArray], is_change: bool) -> Sequence[float]:
    known = np.concatenate([f[np.isfinite(f)] for f in fields])
    if not known.size:
        return [0, 1]
    if is_change:
        return change_levels(float(np.quantile(np.abs(known), 0.998)))
    return whole_levels(float(np.quantile(known, 0.002)), float(known.max()))


def _figure(
    count: int, cells: Cells, bottom: float, look: Look, narrow: bool
) -> tuple[Figure, list[Axes]]:
    wide = float(np.ptp(cells.x_edges)) or 1.0
    tall = float(cells.y_edges.max()) - bottom or 1.0
    shape = max(tall / wide, 0.12)
    width = 4.2 if narrow else 9.0
    beside = 1 if narrow or shape < 0.62 else min(count, 3)
    rows = -(-count // beside)
    each = (width - 0.4) / beside
    tallest = 5.4 if count == 1 else 4.2
    height = rows * (min(each * shape, tallest) + (0.35 if count > 1 else 0.1))
    fig = Figure(
        figsize=(width, height + (2.1 if narrow else 1.5)),
        facecolor=look.paper,
        layout="constrained",
    )
    places = []
    for k in range(count):
        axes = fig.add_subplot(rows, beside, k + 1)
        axes.set_facecolor(look.paper)
        axes.set_aspect("equal")
        axes.set_xticks([])
        axes.set_yticks([])
        for side in axes.spines.values():
            side.set_visible(False)
        margin = 0.01 * max(wide, tall)
        axes.set_xlim(cells.x_edges.min() - margin, cells.x_edges.max() + margin)
        axes.set_ylim(bottom - margin, cells.y_edges.max() + margin)
        axes.set_autoscale_on(False)
        places.append(axes)
    return fig, places


def _draw(
    axes: Axes,
    field: FloatArray,
    cells: Cells,
    land: Path | None,
    clip: Path | None,
    levels: Sequence[float],
    look: Look,
) -> tuple[Any, Any]:
    """Draw cells, contours, coasts and the net of degrees; return the first two."""
    tones, norm = colours(levels, look)
    x, y, values = drawn_finer(field, cells)
    shown = np.ma.masked_invalid(np.clip(values, levels[0], levels[-1] - 1e-9))
    mesh = axes.contourf(x, y, shown, levels=levels, cmap=tones, norm=norm, zorder=1)
    contours = None
    if len(levels) > 2:
        contours = axes.contour(
            x,
            y,
            shown,
            levels=levels[1:-1],
            colors=look.ink,
            linewidths=[LINE if level else ZERO_LINE for level in levels[1:-1]],
            alpha=0.75,
            zorder=2,
        )
    if clip is not None:
        mesh.set_clip_path(clip, axes.transData)
        if contours is not None:
            contours.set_clip_path(clip, axes.transData)
    draw_graticule(axes, cells.projection, look)
    if land is not None:
        from matplotlib.patches import PathPatch

        coast = PathPatch(
            land,
            facecolor="none",
            edgecolor=look.ink if clip is None else look.mark,
            linewidth=0.9 if clip is None else 0.5,
            zorder=3,
        )
        axes.add_patch(coast)
        coast.set_clip_path(cells.outline, axes.transData)
    return mesh, contours


def _legend(
    fig: Figure,
    mesh: Any,
    axes: Sequence[Axes],
    levels: Sequence[float],
    look: Look,
    unit: str,
    *,
    narrow: bool,
) -> None:
    bar = fig.colorbar(
        mesh,
        ax=list(axes),
        orientation="horizontal",
        shrink=0.9 if narrow else 0.55,
        aspect=30 if narrow else 40,
        pad=0.03,
        ticks=levels,
    )
    bar.ax.tick_params(colors=look.ink, labelsize=9, length=0)
    bar.outline.set_visible(False)
    bar.set_label(unit or _("% of oven-dry mass"), color=look.ink, fontsize=9)


def _title(fig: Figure, look: Look, found: str, case: str, *, narrow: bool) -> None:
    letters = style.NARROW_TITLE if narrow else style.WIDE_TITLE
    lines = [
        textwrap.fill(part, letters, break_on_hyphens=False)
        for part in (found, case[:1].upper() + case[1:])
        if part
    ]
    fig.set_label(f"{found}\n{case}")
    fig.suptitle("\n".join(lines), x=0.01, ha="left", fontsize=11, color=look.ink)
