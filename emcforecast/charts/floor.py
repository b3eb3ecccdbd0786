"""The picture of `floor`: twelve months against moisture content."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import MultipleLocator

from emcforecast._types import FloatArray
from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.ensemble.calendar import smooth
from emcforecast.forecast.targets import Target
from emcforecast.language import N_, _
from emcforecast.report.boards import board_words
from emcforecast.report.names import own_place, place_title, target_words
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from emcforecast.forecast.floor_result import Floor, SettingFloor


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


HEAD = 0.06
"""Room above the highest band, share of it."""
WORD_HEIGHT = 0.05
"""Of a line of words, share of the axis."""
WIDE_LETTER, NARROW_LETTER, BOLD = 2.9, 7.2, 1.25
"""Width of a letter, days; how much wider a bold one of the larger size is."""


def floor_figure(
    answer: "Floor",
    titles: Mapping[str, str],
    *,
    targets: Sequence[Target],
    system: UnitSystem = "si",
    source: str = "",
    look: Look = LIGHT,
    narrow: bool = False,
) -> "Figure":
    """Draw the running moisture of a board through the year in each setting.

    Parameters
    ----------
    answer : Floor
        What `floor` found.
    titles : mapping
        Words for each setting, such as "open-sided shed".
    targets : sequence of Target
        Moistures to mark: a band for a range, a dashed line for a number.
    system : {"us", "si"}
        Units of the thickness.
    source : str
        Where the weather comes from, with its attribution.
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright.

    Returns
    -------
    Figure
        A band per setting from the driest to the dampest year in ten, the middle
        year as a line, the targets marked.
    """
    fig, axes = style.figure(look, narrow=narrow)
    days = np.arange(365) + 0.5
    bands = {}
    drawn: dict[str, int] = {}
    for name, setting in answer.settings.items():
        group = name if name in style.DASHES else KINDS[setting.kind].setting
        drawn[group] = drawn.get(group, 0) + 1
        colour = look.of(group)
        low, middle, high = (smooth(row, 7) for row in setting.day_range)
        axes.fill_between(days, low, high, color=colour, alpha=0.22, linewidth=0)
        stroke = style.DASHES[group] if drawn[group] == 1 else style.OTHER_DASHES
        thick = 2.0 if drawn[group] == 1 else 3.2 / drawn[group]
        axes.plot(days, middle, color=colour, linewidth=thick, linestyle=stroke)
        bands[name] = _lowest(axes, setting, (low, middle, high), colour)
    for target in targets:
        _mark(axes, target, look)
    bottom = max(0.0, min(4.0, np.floor(axes.get_ylim()[0])))
    top = max(float(high.max()) for _, high in bands.values()) * (1 + HEAD)
    axes.set_ylim(bottom, top)
    lines = [np.full(365, target.high) for target in targets if target.low is None]
    room = Room(
        *(bottom, top, (top - bottom) * WORD_HEIGHT),
        [*bands.values(), *zip(lines, lines, strict=True)],
    )
    letter = NARROW_LETTER if narrow else WIDE_LETTER
    for name, (low, high) in bands.items():
        word = titles[name]
        spot = room.place(low, high, letter * BOLD * len(word))
        _write(axes, word, spot, look.ink, 9.5, weight="bold")
    for target in targets:
        level = np.full(365, target.high)
        foot = level if target.low is None else np.full(365, target.low)
        spot = room.place(foot, level, letter * len(target_words(target)))
        _write(axes, target_words(target), spot, look.mark, 8.5)
    style.month_axis(axes, look)
    axes.yaxis.set_major_locator(MultipleLocator(2))
    axes.set_ylabel(_("moisture content, % of oven-dry mass"))
    years = len(answer.years)
    spread = _(
        N_(
            "line: middle of {years} years; band: driest to dampest year in ten; dot: "
            "the year's lowest, the bar if your place differs"
        )
        if years > 1
        else N_(
            "one year: no range over years; dot: the year's lowest, the bar if your "
            "place differs"
        ),
        years=years,
    )
    lows = [
        _(
            "{mc:.0f} % in the {place}",
            mc=setting.lowest.p50,
            place=place_of(answer, name, titles[name]),
        )
        for name, setting in answer.settings.items()
    ]
    finding = _(
        "{board} dries to {lows}",
        board=board_words(answer.board, system),
        lows=", ".join(lows),
    )
    case = _("air-dry, left in each place")
    style.title(axes, look, finding, case, narrow=narrow)
    style.footnote(fig, look, "\n".join(filter(None, [spread, source])))
    return fig


def place_of(answer: "Floor", name: str, title: str) -> str:
    """Name a place inside a sentence: by its kind, or as it was said."""
    if title == name:
        return own_place(name, "in the place")
    return place_title(answer.settings[name].kind, "in the place")


def _write(
    axes: "Axes",
    word: str,
    spot: tuple[float, float],
    colour: str,
    size: float,
    weight: str = "normal",
) -> None:
    axes.annotate(
        word, spot, ha="center", va="center", color=colour, fontsize=size, weight=weight
    )


def _mark(axes: "Axes", target: Target, look: Look) -> None:
    """Mark a target: a hatched band, or a dashed line where only the top matters."""
    if target.low is None:
        axes.axhline(target.high, color=look.mark, linewidth=1.1, linestyle=(0, (5, 4)))
        return
    axes.axhspan(
        target.low,
        target.high,
        facecolor="none",
        edgecolor=look.mark,
        alpha=0.35,
        hatch="///",
        linewidth=0,
        zorder=0,
    )


def _lowest(
    axes: "Axes",
    setting: "SettingFloor",
    rows: tuple[FloatArray, FloatArray, FloatArray],
    colour: str,
) -> tuple[FloatArray, FloatArray]:
    """Dot the year's lowest as the words say it, and what the place leaves open.

    Returns the lower and upper edge of what is drawn for the setting, by day.
    """
    low, middle, high = rows
    day = int(np.argmin(middle))
    least = setting.lowest
    ends = [least.place.low, least.place.high]
    at = [day + 0.5] * 2
    axes.plot(at, ends, color=colour, linewidth=1.4, marker="_", markersize=9)
    axes.plot(at[:1], [least.p50], "o", color=colour, markersize=5)
    low, high = low.copy(), high.copy()
    about = slice(max(day - 4, 0), day + 5)
    low[about] = np.minimum(low[about], min(*ends, least.p50))
    high[about] = np.maximum(high[about], max(*ends, least.p50))
    return low, high
