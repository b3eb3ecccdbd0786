"""A projection that fits what a map shows: equal areas, little bent shapes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from matplotlib.path import Path
from matplotlib.transforms import Bbox

from emcforecast._types import FloatArray

WORLD = 200.0
"""Degrees of longitude from which on a map is one of the world."""
FINE = 2.0
"""Degrees between points of a side that is drawn straight."""
LOCAL = 12.0
"""Degrees up to which one plane touches the earth well enough."""


@dataclass(frozen=True)
class Projection:
    """A map's projection and the part of the earth it shows.

    Parameters
    ----------
    west, east, south, north : float
        Degrees; `east` may be beyond 180 where the date line is crossed.
    """

    west: float
    east: float
    south: float
    north: float

    @property
    def middle(self) -> float:
        """Longitude in the middle, degrees."""
        return 0.5 * (self.west + self.east)

    @property
    def is_world(self) -> bool:
        """Whether the map is one of the world."""
        return self.east - self.west > WORLD and not self.is_polar

    @property
    def is_polar(self) -> bool:
        """Whether the map lies round a pole and ends before the equator."""
        return self.east - self.west > 120.0 and (self.south > 20 or self.north < -20)

    @property
    def span(self) -> float:
        """Degrees of latitude or of longitude, whichever are more on the ground."""
        wide = np.cos(np.radians(0.5 * (self.south + self.north)))
        return float(max(self.north - self.south, (self.east - self.west) * wide))

    @property
    def name(self) -> str:
        """The projection as PROJ knows it.

        Equal Earth for the world; a plane that touches in the middle for a region of a
        few degrees, across the equator or round a pole; a cone for a continent.
        """
        low, high = self.south, self.north
        if self.is_world:
            return "+proj=eqearth +lon_0=0 +ellps=sphere"
        if self.is_polar:
            return f"+proj=laea +lat_0={90.0 if low > 0 else -90.0} +ellps=sphere"
        centre = 0.5 * (low + high)
        if self.span <= LOCAL or (low < 10.0 < high + 20.0 and abs(centre) < 15.0):
            return f"+proj=laea +lat_0={centre:.6f} +ellps=sphere"
        sixth = (high - low) / 6.0
        one, two = low + sixth, high - sixth
        if abs(one + two) < 1.0:
            return f"+proj=laea +lat_0={centre:.6f} +ellps=sphere"
        return (
            f"+proj=aea +lat_1={one:.6f} +lat_2={two:.6f} +lat_0={centre:.6f} "
            "+ellps=sphere"
        )

    @cached_property
    def _turn(self) -> Any:
        from pyproj import Proj

        return Proj(self.name)

    def xy(self, east: Any, north: Any) -> tuple[FloatArray, FloatArray]:
        """Return metres on the map of places (degrees), elementwise."""
        middle = 0.0 if self.is_world else self.middle
        away = np.asarray(east, dtype=np.float64) - middle
        x, y = self._turn(away, np.clip(np.asarray(north, dtype=np.float64), -90, 90))
        return np.asarray(x), np.asarray(y)

    def land(self, rings: tuple[FloatArray, ...]) -> Path | None:
        """Return the land within the map as one path, in metres, or None at sea."""
        parts = [np.column_stack(self.xy(*ring.T)) for ring in self._within(rings)]
        if not parts:
            return None
        return Path.make_compound_path(*(Path(part, closed=True) for part in parts))

    def _within(self, rings: tuple[FloatArray, ...]) -> Iterator[FloatArray]:
        is_round = self.east - self.west > 358.0
        margin = 0.0 if is_round else 0.6 * self.span + 2.0
        west, east = (-180.0, 180.0) if is_round else (self.west, self.east)
        box = Bbox.from_extents(
            west - margin,
            max(self.south - margin - is_round * 9.0, -89.9),
            east + margin,
            min(self.north + margin + is_round * 9.0, 89.9),
        )
        for ring in rings:
            whole = _unwrapped(ring)
            for turn in (-360.0, 0.0, 360.0):
                moved = whole + np.array([turn, 0.0])
                low, high = moved.min(axis=0), moved.max(axis=0)
                if (low > box.max).any() or (high < box.min).any():
                    continue
                inside = Path(moved, closed=False).clip_to_bbox(box, inside=True)
                cut = np.asarray(inside.vertices)
                if len(cut) > 2:
                    yield _dense(cut)


def _unwrapped(ring: FloatArray) -> FloatArray:
    """Let a ring run on over the date line; one round a pole is closed there."""
    along = np.unwrap(ring[:, 0], period=360.0)
    whole = np.column_stack((along, ring[:, 1]))
    if abs(along[-1] - along[0]) > 180.0:
        pole = np.copysign(90.0, ring[:, 1].mean())
        whole = np.vstack((whole, (along[-1], pole), (along[0], pole)))
    return whole


def _dense(ring: FloatArray) -> FloatArray:
    """Put points on long sides, so that they bend as the projection does."""
    closed = np.vstack((ring, ring[:1]))
    sides = np.hypot(*np.diff(closed, axis=0).T)
    at = np.concatenate(([0.0], np.cumsum(sides)))
    points = [
        np.linspace(at[k], at[k + 1], max(2, int(side / FINE) + 2))[:-1]
        for k, side in enumerate(sides)
    ]
    where = np.concatenate(points)
    return np.column_stack([np.interp(where, at, closed[:, k]) for k in (0, 1)])


def fit(east: FloatArray, north: FloatArray) -> Projection:
    """Return the projection for cells whose edges are at these places (degrees).

    `east` runs on where the date line is crossed.
    """
    west, far = float(np.nanmin(east)), float(np.nanmax(east))
    if far - west > 358.0:
        west, far = -180.0, 180.0
    return Projection(west, far, float(np.nanmin(north)), float(np.nanmax(north)))
