"""The picture of `floor`: twelve months against moisture content."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import MultipleLocator
from numpy.typing import NDArray

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.forecast.year_round import smooth

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from emcforecast.forecast.floor import Floor, SettingFloor

Row = NDArray[np.float64]


def floor_figure(
    answer: "Floor",
    titles: Mapping[str, str],
    *,
    targets: Mapping[str, float],
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
    targets : mapping of str to float
        Lines to draw: words and moisture content, %.
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
        year as a line, the targets dashed.
    """
    fig, axes = style.figure(look, narrow=narrow)
    days = np.arange(365) + 0.5
    for name, setting in answer.settings.items():
        colour = look.of(name)
        low, middle, high = (smooth(row, 7) for row in setting.day_range)
        axes.fill_between(days, low, high, color=colour, alpha=0.22, linewidth=0)
        axes.plot(days, middle, color=colour, linewidth=2.0)
        _place_bar(axes, setting, middle, colour)
        at = int(np.argmax(middle))
        axes.annotate(
            titles[name],
            (days[at], high[at]),
            xytext=(0, 4),
            textcoords="offset points",
            ha="left" if at < 120 else "right" if at > 245 else "center",
            color=colour,
            fontsize=9.5,
            fontweight="bold",
        )
    for word, value in targets.items():
        axes.axhline(value, color=look.mark, linewidth=1.1, linestyle=(0, (5, 4)))
        axes.annotate(
            word,
            (_clear_day(answer, value), value),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            color=look.mark,
            fontsize=8.5,
        )
    style.month_axis(axes, look)
    axes.set_ylim(bottom=max(0.0, min(4.0, np.floor(axes.get_ylim()[0]))))
    axes.yaxis.set_major_locator(MultipleLocator(2))
    axes.set_ylabel("moisture content, % of oven-dry mass")
    board = answer.board
    years = len(answer.years)
    spread = (
        f"line: middle of {years} years; band: driest to dampest year in ten"
        if years > 1
        else "one year: no year-to-year range"
    ) + "; upright bar: were the place not quite as taken"
    axes.set_title(
        f"{board.thickness_mm:.0f} mm {board.species}, dry, left in each place",
        loc="left",
        fontsize=11,
        color=look.ink,
    )
    style.footnote(fig, look, "\n".join(filter(None, [spread, source])))
    return fig


def _place_bar(axes: "Axes", setting: "SettingFloor", middle: Row, colour: str) -> None:
    """Mark, at the lowest day, what the place itself leaves open."""
    day = int(np.argmin(middle))
    lowest = setting.lowest
    low = middle[day] + lowest.place.low - lowest.p50
    high = middle[day] + lowest.place.high - lowest.p50
    axes.plot(
        [day + 0.5] * 2,
        [low, high],
        color=colour,
        linewidth=1.4,
        marker="_",
        markersize=9,
    )


def _clear_day(answer: "Floor", level: float) -> int:
    """Day of the year on which a label at a level is farthest from every curve."""
    curves = np.concatenate([s.day_range for s in answer.settings.values()])
    gap = np.nanmin(np.abs(curves - level), axis=0)
    return int(np.argmax(gap[50:315])) + 50
