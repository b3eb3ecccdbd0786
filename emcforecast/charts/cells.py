"""Cells of a grid on a map: their edges in metres, the land among them, their areas."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from matplotlib.path import Path

from emcforecast._types import BoolArray, FloatArray
from emcforecast.charts.projection import Projection, fit


@dataclass(frozen=True)
class Cells:
    """Where the cells of a grid lie on a map.

    `x`, `y`: their middles (m, shape of the grid); `x_edges`, `y_edges`: one more each
    way; `north`, `east`: degrees; `projection`: of the map.
    """

    x: FloatArray
    y: FloatArray
    x_edges: FloatArray
    y_edges: FloatArray
    north: FloatArray
    east: FloatArray
    projection: Projection

    @property
    def outline(self) -> Path:
        """The edge of the grid, m."""
        sides = []
        for part in (self.x_edges, self.y_edges):
            around = (part[0], part[1:, -1], part[-1, -2::-1], part[-2::-1, 0])
            sides.append(np.concatenate(around))
        return Path(np.column_stack(sides), closed=True)

    def on(self, land: Path | None) -> BoolArray:
        """Tell which cells have their middle on land."""
        if land is None:
            return np.zeros(self.x.shape, dtype=bool)
        points = np.column_stack((self.x.ravel(), self.y.ravel()))
        return np.asarray(land.contains_points(points)).reshape(self.x.shape)


FINEST = 160
"""Points along a side up to which a coarse grid is drawn finer than it is."""


def drawn_finer(
    field: FloatArray, cells: Cells
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return points that cover all cells, edge to edge, and values between middles.

    `field`: shape of the grid. Returns x, y (m) and values, linear from middle to
    middle, NaN in cells that have none: colours and contours are drawn from these.
    """
    from scipy.ndimage import map_coordinates

    rows, columns = field.shape
    finer = max(2, min(12, FINEST // max(rows, columns)))
    at = np.meshgrid(
        np.linspace(0.0, rows, rows * finer + 1),
        np.linspace(0.0, columns, columns * finer + 1),
        indexing="ij",
    )
    corners = (cells.x_edges, cells.y_edges)
    x, y = (map_coordinates(part, at, order=1, mode="nearest") for part in corners)
    middle = [
        np.clip(a - 0.5, 0.0, n - 1.0) for a, n in zip(at, field.shape, strict=True)
    ]
    known = np.isfinite(field)
    if not known.any():
        return x, y, np.full(x.shape, np.nan)
    whole = field
    if not known.all():
        from scipy.ndimage import distance_transform_edt

        nearest = distance_transform_edt(
            ~known, return_distances=False, return_indices=True
        )
        whole = field[tuple(nearest)]
    values = map_coordinates(whole, middle, order=1, mode="nearest")
    row, column = (np.round(m).astype(int) for m in middle)
    return x, y, np.where(known[row, column], values, np.nan)


def place_cells(field: xr.DataArray) -> Cells:
    """Lay the cells of a field on a map that fits them.

    `field`: two dims, with ``latitude`` and ``longitude`` on one or two dims.
    """
    north, east = field["latitude"], field["longitude"]
    if north.ndim == 1 and east.ndim == 1:
        return _plain(north.to_numpy(), east.to_numpy())
    rows, columns = (
        xr.broadcast(north, east) if north.ndim != east.ndim else (north, east)
    )
    return _curved(
        rows.transpose(*field.dims).to_numpy(),
        columns.transpose(*field.dims).to_numpy(),
    )


def _plain(north: FloatArray, east: FloatArray) -> Cells:
    along = np.unwrap(np.asarray(east, dtype=np.float64), period=360.0)
    usual = _step(along) or _step(north) or 1.0
    north_edges = np.clip(_edges(north, _step(north) or usual), -90.0, 90.0)
    east_edges = _edges(along, usual)
    if east_edges.max() - east_edges.min() > 358.0:
        east_edges = np.clip(east_edges, -180.0, 180.0)
    projection = fit(east_edges, north_edges)
    x_edges, y_edges = projection.xy(*np.meshgrid(east_edges, north_edges))
    columns, rows = np.meshgrid(along, north)
    x, y = projection.xy(columns, rows)
    return Cells(x, y, x_edges, y_edges, rows, columns, projection)


def _curved(north: FloatArray, east: FloatArray) -> Cells:
    centre = float(np.nanmedian(east))
    along = (east - centre + 180.0) % 360.0 - 180.0 + centre
    projection = fit(along, north)
    x, y = (_whole(part) for part in projection.xy(along, north))
    x_edges, y_edges = (_edges_of(part) for part in (x, y))
    return Cells(x, y, x_edges, y_edges, north, along, projection)


def _step(axis: FloatArray) -> float:
    return float(np.median(np.abs(np.diff(axis)))) if axis.size > 1 else 0.0


def _edges(axis: FloatArray, step: float) -> FloatArray:
    """Return edges midway between points, the outer ones as far out.

    Examples
    --------
    >>> _edges(np.array([1.0, 2.0, 3.0]), 1.0).tolist()
    [0.5, 1.5, 2.5, 3.5]
    """
    held = np.asarray(axis, dtype=np.float64)
    if held.size == 1:
        return np.array([held[0] - step / 2, held[0] + step / 2])
    middle = 0.5 * (held[:-1] + held[1:])
    first, last = 2 * held[0] - middle[0], 2 * held[-1] - middle[-1]
    return np.concatenate(([first], middle, [last]))


def _edges_of(middle: FloatArray) -> FloatArray:
    """Return corners of cells from their middles, both ways."""
    steps = [np.abs(np.diff(middle, axis=k)) for k in (0, 1) if middle.shape[k] > 1]
    step = max((float(np.median(part)) for part in steps), default=1.0)
    rows = np.apply_along_axis(_edges, 0, middle, step)
    return np.asarray(np.apply_along_axis(_edges, 1, rows, step))


def _whole(metres: FloatArray) -> FloatArray:
    """Fill corners without a place from the plane through the others."""
    known = np.isfinite(metres)
    if known.all():
        return metres
    row, column = np.indices(metres.shape)
    terms = np.stack((np.ones(metres.shape), row, column), axis=-1)
    plane, *_ = np.linalg.lstsq(terms[known], metres[known], rcond=None)
    return np.where(known, metres, terms @ plane)
