"""The picture of `dry`: the date against moisture content."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.forecast.rest import daily_emc
from emcforecast.forecast.spread import bands

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from emcforecast.forecast.dry import Dry

TOP = 45.0
"""The picture ends here, % MC: what matters happens below."""
AFTER_DAYS = 180
"""Days shown after the last date that matters."""


def dry_figure(
    answer: "Dry",
    place: str,
    *,
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
    traces = answer.traces
    count = _shown(answer)
    dates = date2num(traces.dates[:count])
    low, middle, high = bands(traces.mean[:count], traces.weight)
    shell = bands(traces.shell[:count], traces.weight, [0.5])[0]
    core = bands(traces.core[:count], traces.weight, [0.5])[0]
    colour = look.of(answer.route[-1][0].name)
    air = _week_mean(daily_emc(answer.bank, traces)[:count])
    axes.plot(dates, air, color=look.mark, alpha=0.6, linewidth=1.0, zorder=1)
    axes.fill_between(dates, low, high, color=colour, alpha=0.25, linewidth=0)
    axes.plot(dates, middle, color=colour, linewidth=2.2)
    axes.plot(dates, shell, color=colour, linewidth=1.0, linestyle=(0, (1, 1.5)))
    axes.plot(dates, core, color=colour, linewidth=1.0, linestyle=(0, (4, 2)))
    top = min(float(high.max()) * 1.05, TOP)
    bottom = max(0.0, float(np.floor(min(low.min(), answer.target.mc))) - 3.0)
    axes.set_ylim(bottom, top)
    axes.set_xlim(dates[0], dates[-1])
    target = answer.target.mc
    axes.axhline(target, color=look.mark, linewidth=1.1, linestyle=(0, (5, 4)))
    _name_lines(axes, dates, {"core": core, "shell": shell}, top, colour)
    axes.annotate(
        f"target {target:g} %",
        (dates[0], target),
        xytext=(4, -11),
        textcoords="offset points",
        ha="left",
        color=look.mark,
        fontsize=8.5,
    )
    locator = AutoDateLocator(minticks=3, maxticks=5 if narrow else 9)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))
    axes.xaxis.get_offset_text().set_color(look.ink)
    axes.set_ylabel("moisture content, % of oven-dry mass")
    title = f"{answer.board.thickness_mm:.0f} mm {answer.board.species}"
    join = ",\n" if narrow else ", "
    axes.set_title(f"{title}{join}{place}", loc="left", fontsize=11, color=look.ink)
    style.footnote(
        fig, look, "\n".join(filter(None, [_legend(answer, narrow), source]))
    )
    return fig


def _shown(answer: "Dry") -> int:
    """Days worth showing: half a year past the last date that matters."""
    dates = [answer.target.p90, answer.no_gain_after, answer.steps[-1].p90]
    known = [d for d in dates if d is not None]
    last = max(known, default=answer.until)
    days = int((last - answer.begun).astype(np.int64)) + AFTER_DAYS
    return int(min(max(days, 365), answer.traces.days)) + 1


def _week_mean(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
    padded = np.pad(values, 3, mode="edge")
    result: NDArray[np.float64] = np.convolve(padded, np.full(7, 1 / 7), mode="valid")
    return result


def _name_lines(
    axes: "object",
    dates: "NDArray[np.float64]",
    lines: "dict[str, NDArray[np.float64]]",
    top: float,
    colour: str,
) -> None:
    """Write the name of each line where it first is well inside the picture."""
    for name, values in lines.items():
        inside = np.flatnonzero(values < (0.85 if name == "core" else 0.6) * top)
        at = int(inside[0]) if inside.size else len(values) // 2
        axes.annotate(  # type: ignore[attr-defined]
            name,
            (dates[at], values[at]),
            xytext=(5, 3) if name == "core" else (2, -12),
            textcoords="offset points",
            ha="left",
            color=colour,
            fontsize=8.5,
        )


def _legend(answer: "Dry", narrow: bool) -> str:
    spread = (
        f"band: lucky to cautious over {len(answer.years)} years"
        if answer.many_years
        else "band: what is not known of wood and place; one weather year"
    )
    start = f"; starts at {answer.start_mc:.0f} %" if answer.start_mc > TOP else ""
    lines = f"thick line: middle; grey: EMC of the air{start}"
    return f"{lines}\n{spread}" if narrow else f"{lines}; {spread}"
