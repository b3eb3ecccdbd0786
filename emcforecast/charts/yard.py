"""The picture of `yard`: every stack against the date, with what is next."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.dates import AutoDateLocator, date2num
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.dates import spoken
from emcforecast.language import _
from emcforecast.report.names import place_title, wood_name
from emcforecast.report.yard_actions import next_words
from emcforecast.units import UnitSystem

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from emcforecast.yard.result import StackState, YardState

TOP, LEAST_SPAN = 32.0, 10.0
"""What matters happens below the first; a row spans the second at least, % MC."""
ROW, NARROW_ROW, FRAME = 1.3, 1.75, 1.1
"""Height of a stack and of what stands around them, inches."""
MOST_TALL, LEAST_ROW = 40.0, 0.75
"""A long yard is drawn lower, down to the second, rather than taller than the first."""
WORDS_WIDE, WORDS_NARROW = 110, 52
"""Letters of the next step that have room above its stack."""


def yard_figure(
    state: "YardState",
    *,
    system: UnitSystem = "si",
    source: str = "",
    look: Look = LIGHT,
    narrow: bool = False,
) -> Figure:
    """Draw every stack's moisture, behind today and ahead, and its next step.

    Parameters
    ----------
    state : YardState
        Worked out with `paths`.
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
        One row a stack, the most urgent first: the band of eight chances in
        ten, shell and core, the target, readings, today, the next step and the
        day it is needed.
    """
    stacks = [one for one in state.stacks if one.path is not None]
    row = NARROW_ROW if narrow else ROW
    row = max(min(row, MOST_TALL / max(len(stacks), 1)), LEAST_ROW)
    fig = Figure(
        figsize=(4.2 if narrow else 9.0, FRAME + row * len(stacks)),
        facecolor=look.paper,
        layout="constrained",
    )
    rows = fig.subplots(len(stacks), 1, sharex=True, squeeze=False)[:, 0]
    for one, axes in zip(stacks, rows, strict=True):
        style.dress(axes, look)
        _draw(axes, one, state, look, system=system, narrow=narrow)
    _date_axis(rows[-1], stacks, look, narrow=narrow)
    fig.suptitle(
        f"{state.yard.name}, {spoken(state.today)}",
        x=0.01,
        ha="left",
        fontsize=11,
        color=look.ink,
    )
    label = _("moisture content, % of oven-dry mass")
    fig.supylabel(label, fontsize=9, color=look.ink)
    style.footnote(fig, look, "\n".join(filter(None, [_legend(state), source])))
    return fig


def _draw(
    axes: "Axes",
    one: "StackState",
    state: "YardState",
    look: Look,
    *,
    system: UnitSystem,
    narrow: bool,
) -> None:
    path = one.path
    if path is None:
        return
    colour = look.of(one.storage.name)
    dates = date2num(path.dates)
    bottom, top = _limits(one)
    axes.set_ylim(bottom, top)
    axes.yaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 5, 10], integer=True))
    if one.target is not None:
        low = one.target.low if one.target.low is not None else bottom
        axes.axhspan(low, one.target.high, color=look.mark, alpha=0.22, linewidth=0)
    axes.fill_between(dates, path.low, path.high, color=colour, alpha=0.28, linewidth=0)
    axes.plot(dates, path.middle, color=colour, linewidth=1.9)
    for line, dashes in ((path.shell, (1, 1.5)), (path.core, (4, 2))):
        axes.plot(dates, line, color=colour, linewidth=0.9, linestyle=(0, dashes))
    now = float(date2num(state.today))
    axes.axvline(now, color=look.ink, linewidth=0.9)
    _above(axes, look, _("today"), (now, top))
    if one.stack.need is not None:
        need = float(date2num(one.stack.need))
        axes.axvline(need, color=look.ink, linewidth=0.9, linestyle=(0, (2, 2)))
        end = need > dates[0] + 0.8 * np.ptp(dates)
        if need > now:
            _above(axes, look, _("needed"), (need, top), left=end)
    _readings(axes, one, (dates[0], top), look)
    when = float(date2num(one.next.day))
    if when > now:
        axes.plot(
            when,
            bottom,
            marker=(3, 0, 0),
            markersize=9,
            color=look.ink,
            clip_on=False,
            zorder=5,
        )
    _head(axes, one, state, look, system=system, narrow=narrow)


def _above(
    axes: "Axes",
    look: Look,
    word: str,
    spot: tuple[float, float],
    *,
    left: bool = False,
) -> None:
    """Write a word beside the top of an upright line."""
    axes.annotate(
        word, spot, xytext=(-3 if left else 3, -9), textcoords="offset points",
        ha="right" if left else "left", color=look.ink, fontsize=8.6,
        bbox={"facecolor": look.paper, "edgecolor": "none", "pad": 0.5},
    )  # fmt: skip


def _limits(one: "StackState") -> tuple[float, float]:
    """Return the range of a row: all that is ahead, and the target, up to the top."""
    path, target = one.path, one.target
    if path is None:
        return 0.0, TOP
    goal = () if target is None else (target.high, target.low or target.high)
    bottom = max(min(float(path.low.min()), *goal, TOP) - 1.0, 0.0)
    shown = [r.mc for r in one.effect.readings if r.mc is not None]
    top = min(max(float(path.high.max()), *goal, bottom + LEAST_SPAN) + 1.0, TOP)
    # A reading is never cut off, nor a stack that stays wetter than the usual top.
    top = max(top, float(path.middle.min()) + LEAST_SPAN, *(mc + 1.0 for mc in shown))
    return bottom, max(top, bottom + LEAST_SPAN)


def _head(
    axes: "Axes",
    one: "StackState",
    state: "YardState",
    look: Look,
    *,
    system: UnitSystem,
    narrow: bool,
) -> None:
    """Write the stack's name, wood and moisture, and its next step."""
    wood = _(
        "{thickness} {wood}",
        thickness=one.stack.thickness.label(system),
        wood=wood_name(one.stack.wood),
    )
    name = f"{one.stack.name}: {wood}, {place_title(one.storage.kind)}"
    moist = _(
        "{mc:.0f} % now (shell {shell:.0f}, core {core:.0f})",
        mc=one.mean.p50,
        shell=one.shell.p50,
        core=one.core.p50,
    )
    room = WORDS_NARROW if narrow else WORDS_WIDE
    words = next_words(one.next, one, state.yard, state.today)
    words = words[:1].upper() + words[1:]
    if narrow:
        told = textwrap.wrap(words, room, max_lines=2, placeholder=" …")
        lines = [name, moist, *told]
    else:
        lines = [f"{name}, {moist}", _shortened(words, room)]
    axes.set_title("\n".join(lines), loc="left", fontsize=8.5, color=look.ink, pad=3)


def _shortened(words: str, room: int) -> str:
    """Return a step that fits: whole, or up to its first pause, or cut at a word."""
    if len(words) <= room:
        return words
    head = words.partition(";")[0]
    if len(head) <= room:
        return head
    return head[: room - 1].rpartition(" ")[0] + " …"


def _readings(
    axes: "Axes", one: "StackState", corner: tuple[float, float], look: Look
) -> None:
    """Dot the corrected readings; hollow where they are questioned."""
    for reading in one.effect.readings:
        when = float(date2num(reading.reading.day))
        if reading.mc is None or when < corner[0]:
            continue
        axes.plot(
            when,
            min(reading.mc, corner[1]),
            "o",
            markersize=4.5,
            markeredgecolor=look.ink,
            markerfacecolor=look.ink if reading.used else look.paper,
            clip_on=False,
            zorder=4,
        )


def _date_axis(
    axes: "Axes", stacks: "list[StackState]", look: Look, *, narrow: bool
) -> None:
    found = [one.path.dates for one in stacks if one.path is not None]
    axes.set_xlim(
        date2num(min(dates[0] for dates in found)),
        date2num(max(dates[-1] for dates in found)),
    )
    locator = AutoDateLocator(minticks=3, maxticks=7 if narrow else 9)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(style.DateFormatter(locator))
    axes.xaxis.get_offset_text().set_color(look.ink)


def _legend(state: "YardState") -> str:
    parts = [
        _(
            "Thick line: likely; dotted: shell; dashed: core; colour band: 8 chances "
            "in 10; grey band: target; triangle: next step; dark blue outdoors, green "
            "under a roof, orange indoors"
        )
    ]
    if any(one.effect.readings for one in state.stacks):
        parts.append(_("dots: readings, hollow where questioned"))
    return "; ".join(parts)
