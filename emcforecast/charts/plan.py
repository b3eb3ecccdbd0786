"""The pictures of `plan`: when to bring it in, and the air ahead by year and day."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.dates import ConciseDateFormatter, date2num
from matplotlib.figure import Figure

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from emcforecast.forecast.plan import Plan


def plan_figure(
    found: "Plan",
    place: str,
    *,
    source: str = "",
    look: Look = LIGHT,
    narrow: bool = False,
) -> Figure:
    """Draw the chance of being ready against the date of coming in, and the EMC.

    Parameters
    ----------
    found : Plan
        What `plan` found.
    place : str
        The last place in words.
    source : str
        Where the weather comes from, with its attribution.
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright.

    Returns
    -------
    Figure
    """
    size = (4.2, 7.5) if narrow else (9.0, 7.0)
    fig = Figure(figsize=size, facecolor=look.paper, layout="constrained")
    top, below = fig.subplots(2, 1)
    for axes in (top, below):
        style.dress(axes, look)
    colour = look.of(found.route[-1].setting)
    top.plot(date2num(found.curve_days), 100 * found.curve, color=colour, linewidth=2)
    top.xaxis_date()
    top.xaxis.set_major_formatter(ConciseDateFormatter(top.xaxis.get_major_locator()))
    top.set_ylim(0, 103)
    for level, day in ((90, found.bring_in_by), (50, found.bring_in_even)):
        top.axhline(level, color=look.mark, linewidth=1, linestyle=(0, (5, 4)))
        if day is not None:
            top.annotate(
                f"{day.day} {day:%b}",
                (date2num(day), level),
                xytext=(-4, 4),
                textcoords="offset points",
                ha="right",
                fontsize=9,
                color=look.ink,
            )
    top.set_ylabel("years in 100")
    top.set_title(
        f"Ready by {found.need.day} {found.need:%B %Y}, against the day it comes in",
        loc="left",
        fontsize=10.5,
        color=look.ink,
        wrap=True,
    )
    _emc_by_day(fig, below, found, place, look)
    style.footnote(fig, look, source)
    return fig


def _emc_by_day(
    fig: Figure, axes: "Axes", found: "Plan", place: str, look: Look
) -> None:
    years, days = found.emc.shape
    mesh = axes.pcolormesh(
        np.arange(days + 1), np.arange(years + 1), found.emc, cmap="cividis_r"
    )
    style.month_axis(axes, look)
    axes.grid(visible=False)
    axes.set_yticks([0.5, years - 0.5], ["first", "last"] if years > 1 else ["", ""])
    axes.set_ylabel("weather year")
    axes.set_title(
        f"EMC of the air in the {place}, % MC, day by day",
        loc="left",
        fontsize=10.5,
        color=look.ink,
        wrap=True,
    )
    bar = fig.colorbar(mesh, ax=axes, pad=0.01)
    bar.ax.tick_params(colors=look.ink, labelsize=8)
