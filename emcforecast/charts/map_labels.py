"""Names and numbers on a map that cross neither one another nor its edges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patheffects import withStroke

from emcforecast.charts.projection import Projection
from emcforecast.charts.style import PHONE_NOTE, Look
from emcforecast.tables import rows

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.path import Path
    from matplotlib.text import Text
    from matplotlib.transforms import Bbox

MOST_NAMES = 24
MOST_OF_LEVEL = 5
"""Numbers on the contours of one level."""
SIZE = 7.5
"""Points of names and numbers on a wide map."""
CLEAR = 2.0
"""Points between two words."""


@dataclass(frozen=True)
class Name:
    """A place to write on a map: its name, degrees north and east.

    `is_own`: the person's own place, whose dot is drawn even where its name finds no
    room.
    """

    name: str
    latitude: float
    longitude: float
    is_own: bool = True


def city_names() -> list[Name]:
    """Return cities of the packaged table, the best known first."""
    held = sorted(rows("cities"), key=lambda row: int(row["rank"]))
    return [
        Name(row["name"], float(row["latitude"]), float(row["longitude"]), is_own=False)
        for row in held
    ]


class Taken:
    """The room that words have taken on a pair of axes, in pixels."""

    def __init__(self, axes: Axes, canvas: Any) -> None:
        self.axes = axes
        self.renderer = canvas.get_renderer()
        self.boxes: list[Bbox] = [
            text.get_window_extent(self.renderer).padded(CLEAR) for text in axes.texts
        ]
        self.inside = axes.get_window_extent(self.renderer)

    def fits(self, text: Text) -> bool:
        """Keep the room of a word if it is free and inside, and tell whether it was."""
        box = text.get_window_extent(self.renderer).padded(CLEAR)
        within = (
            self.inside.x0 <= box.x0
            and box.x1 <= self.inside.x1
            and self.inside.y0 <= box.y0
            and box.y1 <= self.inside.y1
        )
        if not within or any(box.overlaps(other) for other in self.boxes):
            return False
        self.boxes.append(box)
        return True


def put_names(
    axes: Axes,
    names: list[Name],
    projection: Projection,
    taken: Taken,
    look: Look,
    *,
    narrow: bool,
) -> None:
    """Write the names of places that lie on a map, the first ones first."""
    done = 0
    most = MOST_NAMES // 2 if narrow else MOST_NAMES
    for name in names:
        spot = _on_map(name, projection)
        if spot is None or done >= most:
            continue
        size = PHONE_NOTE if narrow else SIZE
        text = _beside(axes, name.name, spot, taken, look, size)
        if text is None and not name.is_own:
            continue
        axes.plot(
            *spot,
            marker="o",
            markersize=3.2 if name.is_own else 2.2,
            color=look.ink,
            markeredgecolor=look.paper,
            markeredgewidth=0.7,
            zorder=6,
        )
        done += 1


def _on_map(name: Name, p: Projection) -> tuple[float, float] | None:
    turns = (name.longitude - 360.0, name.longitude, name.longitude + 360.0)
    east = next((e for e in turns if p.west <= e <= p.east), None)
    if east is None or not p.south <= name.latitude <= p.north:
        return None
    x, y = p.xy(east, name.latitude)
    return float(x), float(y)


def _beside(
    axes: Axes,
    words: str,
    spot: tuple[float, float],
    taken: Taken,
    look: Look,
    size: float,
) -> Text | None:
    for shift, ha, va in (
        ((4, 0), "left", "center"),
        ((-4, 0), "right", "center"),
        ((0, 4), "center", "bottom"),
        ((0, -4), "center", "top"),
    ):
        text = axes.annotate(
            words,
            spot,
            xytext=shift,
            textcoords="offset points",
            ha=ha,
            va=va,
            fontsize=size,
            color=look.ink,
            path_effects=[withStroke(linewidth=2.0, foreground=look.paper)],
            zorder=7,
        )
        if taken.fits(text):
            return text
        text.remove()
    return None


def label_contours(
    axes: Axes,
    contours: Any,
    taken: Taken,
    look: Look,
    land: Path | None,
    *,
    narrow: bool,
) -> None:
    """Write the numbers of contours where there is room, on `land` alone if given."""
    if contours is None:
        return
    low, high = axes.get_xlim()
    shortest = 0.06 * (high - low)
    size = PHONE_NOTE if narrow else SIZE
    for level, path in zip(contours.levels, contours.get_paths(), strict=True):
        parts = [(_length(p), p) for p in path.to_polygons(closed_only=False)]
        parts.sort(key=lambda part: -part[0])
        long = [part for length, part in parts if length > shortest]
        most = MOST_OF_LEVEL // (2 if narrow else 1)
        for part in long:
            if most == 0:
                break
            most -= _number(axes, f"{level:g}", part, taken, look, land, size)


def _length(line: Any) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _number(
    axes: Axes,
    words: str,
    line: Any,
    taken: Taken,
    look: Look,
    land: Path | None,
    size: float,
) -> bool:
    """Write a number on a line where it fits, and tell whether it did."""
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    for share in (0.5, 0.35, 0.65, 0.2, 0.8):
        x = float(np.interp(share * away[-1], away, line[:, 0]))
        y = float(np.interp(share * away[-1], away, line[:, 1]))
        if land is not None and not land.contains_point((x, y)):
            continue
        text = axes.text(
            x,
            y,
            words,
            ha="center",
            va="center",
            fontsize=size,
            color=look.ink,
            path_effects=[withStroke(linewidth=2.2, foreground=look.paper)],
            zorder=5,
            clip_on=True,
        )
        if taken.fits(text):
            return True
        text.remove()
    return False
