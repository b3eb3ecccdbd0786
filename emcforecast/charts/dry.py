"""The picture of `dry`: the date against moisture content."""

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.dates import AutoDateLocator, date2num

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.ensemble.equilibrium import daily_emc
from emcforecast.ensemble.percentiles import bands
from emcforecast.language import N_, _
from emcforecast.report.boards import board_words
from emcforecast.report.dates import short
from emcforecast.report.names import place_title
from emcforecast.units import UnitSystem, format_length

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from emcforecast.forecast.dry_result import Dry

TOP = 45.0
"""The picture ends here, % MC: what matters happens below."""
EVENTS: tuple[Any, ...] = ((0, (1, 2)), (0, (1, 1)), (0, (4, 1, 1, 1)))
"""Strokes of moves and cuts, in turn."""
CUT = {"resaw": N_("resawn to {thickness}"), "plane": N_("planed to {thickness}")}
LINE_HEIGHT = 0.06
"""Of a line of words, share of the axis."""
MOST_NAMES = 7
"""Names that fit side by side below a wide picture."""
AFTER_DAYS = 180
"""Days shown after the last date that matters."""


def dry_figure(
    answer: "Dry",
    place: str,
    *,
    system: UnitSystem = "si",
    source: str = "",
    look: Look = LIGHT,
    narrow: bool = False,
) -> "Figure":
    """Draw the band, shell and core of a stack, with the air's EMC behind.

    Parameters
    ----------
    answer : Dry
        What `dry` found.
    place : str
        Where the stack lies, in words.
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
    """
    fig, axes = style.figure(look, narrow=narrow)
    runs = answer.runs
    count = _shown(answer)
    dates = date2num(runs.dates[:count])
    low, middle, high = bands(runs.mean[:count], runs.weight)
    shell = _week_mean(bands(runs.shell[:count], runs.weight, [0.5])[0])
    core = bands(runs.core[:count], runs.weight, [0.5])[0]
    colour = look.of(answer.route[-1][0].name)
    air = _week_mean(daily_emc(runs)[:count])
    target = answer.target.mc
    axes.fill_between(
        dates,
        low,
        high,
        color=colour,
        alpha=0.25,
        linewidth=0,
        label=_("8 chances in 10"),
    )
    axes.plot(dates, middle, color=colour, linewidth=2.2, label=_("likely"))
    axes.plot(dates, core, "--", color=colour, linewidth=1.1, label=_("core"))
    axes.plot(dates, shell, ":", color=colour, linewidth=1.3, label=_("shell"))
    axes.plot(
        dates, air, color=look.mark, linewidth=0.9, zorder=1, label=_("EMC of the air")
    )
    axes.axhline(
        target,
        color=look.mark,
        linewidth=1.1,
        linestyle=(0, (5, 4)),
        label=_("target {mc:g} %", mc=target),
    )
    _mark_readings(axes, answer, look)
    bottom = max(0.0, float(np.floor(min(low.min(), target))) - 3.0)
    axes.set_ylim(bottom, min(float(high.max()) * 1.05, TOP))
    axes.set_xlim(dates[0], dates[-1])
    highest = np.maximum.reduce([high, core, shell, air])
    _mark_dates(axes, answer, look, (dates, highest), 0.4 if narrow else 0.15)
    _mark_events(axes, answer, look, system)
    locator = AutoDateLocator(minticks=3 if narrow else 4, maxticks=7 if narrow else 9)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(style.DateFormatter(locator))
    axes.xaxis.get_offset_text().set_color(look.ink)
    axes.set_ylabel(_("moisture content, % of oven-dry mass"))
    board = board_words(answer.board, system)
    case = _("{place}, stacked {date}", place=place, date=_day(answer.begun))
    style.title(axes, look, f"{board}: {_finding(answer)}", case, narrow=narrow)
    named = len(axes.get_legend_handles_labels()[0])
    axes.legend(
        loc="upper left",
        bbox_to_anchor=(-0.02, -0.06),
        ncols=2 if narrow else named if named <= MOST_NAMES else 4,
        fontsize=8,
        frameon=False,
        labelcolor=look.ink,
    )
    style.footnote(fig, look, "\n".join(filter(None, [_legend(answer), source])))
    return fig


def _finding(answer: "Dry") -> str:
    """Say when the target, or else the last step that is, is likely reached."""
    target = answer.target
    if target.p50 is not None:
        return _("{mc:g} % about {date}", mc=target.mc, date=_day(target.p50))
    known = [step for step in answer.steps if step.p50 not in {None, answer.begun}]
    least = min(known, key=lambda step: step.mc, default=None)
    never = _("{mc:g} % not reached here", mc=target.mc)
    if least is None or least.p50 is None:
        return never
    reached = _("{mc:g} % about {date}", mc=least.mc, date=_day(least.p50))
    return f"{reached}, {never}"


def _day(day: "np.datetime64") -> str:
    """Return a day for a label: "6 Jul 2025"."""
    return short(day)


def _mark_dates(
    axes: "Axes",
    answer: "Dry",
    look: Look,
    drawn: "tuple[NDArray[np.float64], NDArray[np.float64]]",
    width: float,
) -> None:
    """Mark the middle date of each step, and name it clear above what is drawn.

    ``drawn`` is the dates and the highest line of each; ``width`` the share of the
    picture that a name takes.
    """
    dates, top = drawn
    first, last = axes.get_xlim()
    low, high = axes.get_ylim()
    line = LINE_HEIGHT * (high - low)
    ceiling, taken = high - line, first
    steps = {s.mc: s for s in (*answer.steps, answer.target)}.values()
    for step in sorted(steps, key=lambda s: -s.mc):
        if step.p50 is None or step.p50 == answer.begun:
            continue
        at = float(date2num(step.p50))
        if not first <= at <= last:
            continue
        axes.plot(at, step.mc, "o", color=look.ink, markersize=4.5, zorder=5)
        ends = [date2num(day) for day in (step.p10, step.p90) if day is not None]
        late_end = [] if step.p90 is not None else [last]
        span = [*ends, *late_end]
        axes.plot(span, [step.mc] * len(span), color=look.ink, linewidth=1.2, zorder=5)
        late = at + width * (last - first) > last
        reach = np.sort([at, at + (-width if late else width) * (last - first)])
        beside = top[(dates >= reach[0]) & (dates <= reach[1])]
        if reach[0] > taken:  # Nothing named before reaches this far.
            ceiling = high - line
        level = max(
            min(float(beside.max()) + line / 2.0, ceiling), step.mc + line / 2.0
        )
        ceiling, taken = level - line, reach[1]
        axes.annotate(
            _("{mc:g} %: {date}", mc=step.mc, date=_day(step.p50)),
            (at, step.mc),
            xytext=(at, level),
            textcoords="data",
            ha="right" if late else "left",
            va="bottom",
            color=look.ink,
            fontsize=8.5,
            zorder=6,
            arrowprops={
                "arrowstyle": "-",
                "color": look.ink,
                "linewidth": 0.7,
                "relpos": (1.0 if late else 0.0, 0.0),
            },
        )


def _mark_readings(axes: "Axes", answer: "Dry", look: Look) -> None:
    """Mark the readings: a cross where used, an open square where questioned."""
    if answer.update is None:
        return
    doubted = [one.reading for one in answer.update.outliers]
    for readings, marker, word in (
        (answer.update.used, "x", _("reading")),
        (doubted, "s", _("reading not used")),
    ):
        known = [(r.day, r.mc) for r in readings if r.mc is not None]
        if known:
            days, contents = zip(*known, strict=True)
            axes.plot(
                date2num(np.array(days)),
                contents,
                marker,
                color=look.ink,
                markerfacecolor="none",
                markersize=7,
                markeredgewidth=1.6,
                zorder=6,
                label=word,
            )


def _mark_events(axes: "Axes", answer: "Dry", look: Look, system: UnitSystem) -> None:
    """Draw an upright line where the stack is moved or cut; the legend says which."""
    events = [
        (day, _("to the {place}", place=place_title(s.kind, "into the place")))
        for s, day in answer.route[1:]
    ]
    events += [
        (cut.day, _(CUT[cut.how], thickness=format_length(cut.thickness_mm, system)))
        for cut in answer.runs.stack.cuts
    ]
    for number, (day, label) in enumerate(sorted(events)):
        axes.axvline(
            float(date2num(day)),
            color=look.mark,
            linewidth=1.3,
            linestyle=EVENTS[number % len(EVENTS)],
            label=label,
        )


def _shown(answer: "Dry") -> int:
    """Days worth showing: half a year past the last date that matters."""
    dates = [answer.target.p90, answer.no_gain_after, answer.steps[-1].p90]
    known = [d for d in dates if d is not None]
    last = max(known, default=answer.until)
    days = int((last - answer.begun).astype(np.int64)) + AFTER_DAYS
    return int(min(max(days, 365), answer.runs.days)) + 1


def _week_mean(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
    padded = np.pad(values, 3, mode="edge")
    result: NDArray[np.float64] = np.convolve(padded, np.full(7, 1 / 7), mode="valid")
    return result


def _legend(answer: "Dry") -> str:
    said = _(
        N_(
            "Dots: likely dates; bars: early to late, over {years} weather years and "
            "what is not known of wood and place."
        )
        if answer.many_years
        else N_(
            "Dots: likely dates; bars: early to late, what is not known of wood and "
            "place; one weather year."
        ),
        years=len(answer.years),
    )
    if answer.start_mc <= TOP:
        return said
    start = _("Starts at {mc:.0f} %.", mc=answer.start_mc)
    return f"{said} {start}"
