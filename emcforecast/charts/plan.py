"""The pictures of `plan`: when to bring it in, and the air ahead by year and day."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.dates import date2num
from matplotlib.figure import Figure

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.dates import short_date, spoken
from emcforecast.ensemble.calendar import smooth
from emcforecast.forecast.plan.success import EVENS, NEARLY
from emcforecast.language import N_, _
from emcforecast.report.names import Form, place_title, use_name, wood_name
from emcforecast.report.words import capital

if TYPE_CHECKING:
    from datetime import date

    from matplotlib.axes import Axes

    from emcforecast.forecast.plan.result import Plan

WEEK, FORTNIGHT = 7, 15
LEAST_SHOWN = 15.0
"""In 100: below it there is no room for a word under the curve."""
MOST_NAMED = 14
"""More weather years than this are not all named."""
ROOM = 0.16
"""Free room right of the curve for its words, share of its length."""


def plan_figure(
    found: "Plan",
    *,
    source: str = "",
    air: bool = False,
    look: Look = LIGHT,
    narrow: bool = False,
) -> Figure:
    """Draw the chance of being ready against the date of coming in, or the way.

    Parameters
    ----------
    found : Plan
        What `plan` found.
    source : str
        Where the weather comes from, with its attribution.
    air : bool
        Below, also the EMC of the last place by weather year and day.
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright.

    Returns
    -------
    Figure
        The chance by date of the last move; where there is no move to make, or no
        move that would do, the dates of the way to take on a line.
    """
    several, curve = len(found.emc) > 1, bool(found.curve.size)
    curve = curve and float(found.curve.max()) > NEARLY
    heights = [1.0 if curve else 0.7]
    if air:
        heights.append(1.1 if several else 0.7)
    width, each = (4.2, 3.9) if narrow else (9.0, 3.6)
    fig = Figure(
        figsize=(width, each * sum(heights)), facecolor=look.paper, layout="constrained"
    )
    panels = fig.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
    for axes in panels:
        style.dress(axes, look)
    if curve:
        _bring_in(panels[0], found, look, narrow)
    else:
        _dates(panels[0], found, look, narrow)
    if air and several:
        _emc_by_day(fig, panels[-1], found, look)
    elif air:
        _emc_line(panels[-1], found, look)
    style.footnote(fig, look, source)
    return fig


def _finding(found: "Plan") -> str:
    """Say whether it can be ready in time, and when else."""
    chance = 100.0 * found.probability_by_need
    said = (
        N_("{wood} for {use}: over 99 in 100 to be ready on {date}")
        if chance > 99.0
        else N_("{wood} for {use}: under 1 in 100 to be ready on {date}")
        if chance < 1
        else N_("{wood} for {use}: {share:.0f} in 100 to be ready on {date}")
    )
    text = _(
        said,
        wood=capital(wood_name(found.board.wood.spoken)),
        use=use_name(found.target),
        share=chance,
        date=_short(found.need),
    )
    later = found.earliest or found.earliest_even
    if later is not None and chance < 50.0:
        other = _(
            "{share:.0f} in 100 on {date}",
            share=100 * later.chance,
            date=_short(later.ready),
        )
        text = f"{text}; {other}"
    return text


def _dates(axes: "Axes", found: "Plan", look: Look, narrow: bool) -> None:
    """Draw the stays of the way to take on one line, and the dates that matter."""
    later = found.earliest or found.earliest_even
    hopeless = found.probability_by_need < EVENS and later is not None
    legs = later.route if hopeless and later is not None else found.route
    last = later.ready if hopeless and later is not None else found.need
    end = max(last, found.need)
    for leg in legs:
        span = date2num(leg.start), date2num(leg.end or end)
        axes.plot(
            span, [0.0, 0.0], color=look.of(leg.setting), linewidth=7,
            solid_capstyle="butt",
        )  # fmt: skip
    marks = [(legs[0].start, _("stacked, {place}", place=place_title(legs[0].kind)))]
    marks += [
        (leg.start, _("to the {place}", place=place_title(leg.kind, "into the place")))
        for leg in legs[1:]
    ]
    if found.ready.p50 is not None and not hopeless:
        marks.append((found.ready.p50, _("likely ready")))
    marks.append((found.need, _("needed")))
    if hopeless and later is not None:
        ready = _("ready, {share:.0f} in 100", share=100 * later.chance)
        marks.append((later.ready, ready))
    first, final = float(date2num(legs[0].start)), float(date2num(end))
    axes.set_xlim(first - 0.02 * (final - first), final + 0.02 * (final - first))
    for number, (day, word) in enumerate(sorted(marks)):
        at = float(date2num(day))
        level = float(len(marks) - number)
        axes.plot([at, at], [0.0, level], color=look.ink, linewidth=0.8)
        right = at > first + 0.6 * (final - first)
        axes.annotate(
            f"{word}, {_short(day)}", (at, level), xytext=(-3 if right else 3, 2),
            textcoords="offset points", ha="right" if right else "left",
            fontsize=9, color=look.ink,
        )  # fmt: skip
    axes.set_ylim(-0.6, len(marks) + 1.2)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    axes.grid(visible=False)
    axes.xaxis_date()
    axes.xaxis.set_major_formatter(style.DateFormatter(axes.xaxis.get_major_locator()))
    style.title(axes, look, _finding(found), narrow=narrow)


def _title(axes: "Axes", look: Look, words: str) -> None:
    axes.set_title(words, loc="left", fontsize=10.5, color=look.ink, wrap=True)


def _bring_in(axes: "Axes", found: "Plan", look: Look, narrow: bool) -> None:
    colour = look.of(found.route[-1].setting)
    days, chance = date2num(found.curve_days), 100.0 * found.curve
    axes.fill_between(days, chance, step="post", color=colour, alpha=0.15, linewidth=0)
    axes.plot(days, chance, color=colour, linewidth=2, drawstyle="steps-post")
    room = (2.0 if narrow else 1.0) * ROOM * max(days[-1] - days[0], 30.0)
    axes.set_xlim(days[0] - 0.1 * room, days[-1] + room)
    axes.xaxis_date()
    axes.xaxis.set_major_formatter(style.DateFormatter(axes.xaxis.get_major_locator()))
    axes.set_ylim(0, 108)
    axes.set_yticks([0, 20, 40, 60, 80, 100])
    for level, day in ((90, found.bring_in_by), (50, found.bring_in_even)):
        axes.axhline(level, color=look.mark, linewidth=1, linestyle=(0, (5, 4)))
        if day is not None:
            at = date2num(day) + 1.0
            axes.plot([at], [level], "o", color=colour, markersize=5, clip_on=False)
            _word(axes, look, _("by {date}", date=_short(day)), (at, level), (6, 5))
    _surest(axes, found, look, (float(days[0]), float(days[-1])))
    need = float(date2num(found.need))
    axes.axvline(need, color=look.ink, linewidth=1)
    _word(axes, look, _("needed"), (need, 100.0), (4, 0))
    axes.set_ylabel(_("chances in 100 of being ready"))
    case = _(
        "by the day it comes into the {place}", place=_last(found, "into the place")
    )
    style.title(axes, look, _finding(found), case, narrow=narrow)


def _surest(axes: "Axes", found: "Plan", look: Look, span: tuple[float, float]) -> None:
    """Mark the day of the route, with its word at the foot of the curve."""
    day, chance = found.route[-1].start, 100.0 * found.probability_by_need
    near = found.bring_in_by is not None and (found.bring_in_by - day).days <= WEEK
    if near or chance < LEAST_SHOWN:
        return
    at = float(date2num(day))
    axes.plot([at, at], [0.0, chance], color=look.ink, linewidth=1, linestyle=":")
    left = at - span[0] > span[1] - at
    axes.annotate(
        _("best by") + f"\n{_short(day)}",
        (at, 3.0),
        xytext=(-5 if left else 5, 2),
        textcoords="offset points",
        ha="right" if left else "left",
        fontsize=9,
        color=look.ink,
    )


def _word(
    axes: "Axes",
    look: Look,
    words: str,
    spot: tuple[float, float],
    aside: tuple[int, int],
) -> None:
    axes.annotate(
        words,
        spot,
        xytext=aside,
        textcoords="offset points",
        fontsize=9,
        color=look.ink,
        bbox={"facecolor": look.paper, "edgecolor": "none", "pad": 1.0},
    )


def _short(day: "date") -> str:
    return short_date(day)


def _last(found: "Plan", form: Form) -> str:
    return place_title(found.route[-1].kind, form)


def _day_of_year(day: "date") -> float:
    return float(min(day.timetuple().tm_yday, 365)) - 0.5


def _emc_by_day(fig: Figure, axes: "Axes", found: "Plan", look: Look) -> None:
    """Draw one row a weather year, the first on top, one colour a day."""
    weekly = np.array([smooth(row, WEEK) for row in found.emc])
    years, days = weekly.shape
    mesh = axes.pcolormesh(
        np.arange(days + 1), np.arange(years + 1), weekly, cmap="cividis_r"
    )
    style.month_axis(axes, look)
    axes.grid(visible=False)
    axes.invert_yaxis()
    every = 1 if years <= MOST_NAMED else 5
    named = range(0, years, every)
    axes.set_yticks([k + 0.5 for k in named], [str(found.emc_years[k]) for k in named])
    axes.axvline(_day_of_year(found.need), color=look.paper, linewidth=3)
    axes.axvline(_day_of_year(found.need), color=look.ink, linewidth=1)
    _title(
        axes,
        look,
        _(
            "EMC in the {place}, % MC, weekly means\nline: {date}, when it is needed",
            place=_last(found, "in the place"),
            date=spoken(found.need, found.need),
        ),
    )
    bar = fig.colorbar(mesh, ax=axes, pad=0.01)
    bar.ax.tick_params(colors=look.ink, labelsize=8)
    if weekly.min() < found.target.high < weekly.max():
        bar.ax.axhline(found.target.high, color=look.paper, linewidth=3)
        bar.ax.axhline(found.target.high, color=look.ink, linewidth=1)
        bar.ax.set_title(_("line: target"), fontsize=8, color=look.ink, loc="right")


def _emc_line(axes: "Axes", found: "Plan", look: Look) -> None:
    """Draw the EMC of the only year as a line."""
    colour = look.of(found.route[-1].setting)
    weekly = smooth(found.emc[0], FORTNIGHT)
    axes.plot(np.arange(365) + 0.5, weekly, color=colour, linewidth=2)
    axes.axhline(found.target.high, color=look.mark, linewidth=1, linestyle=(0, (5, 4)))
    low = min(float(weekly.min()), found.target.high)
    high = max(float(weekly.max()), found.target.high)
    axes.set_ylim(low - 0.5, high + 0.12 * (high - low) + 0.5)
    spot = (2.0, found.target.high)
    target = _("target, {mc:g} %", mc=found.target.high)
    _word(axes, look, target, spot, (0, 4))
    style.month_axis(axes, look)
    axes.axvline(_day_of_year(found.need), color=look.ink, linewidth=1)
    axes.set_ylabel(_("% MC"))
    _title(
        axes,
        look,
        _(
            "EMC in the {place}, means of 15 days\nline: {date}, when it is needed",
            place=_last(found, "in the place"),
            date=spoken(found.need, found.need),
        ),
    )
