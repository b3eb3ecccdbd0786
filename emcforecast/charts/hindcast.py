"""The picture of `hindcast`: what the ranges held, and how near the middle came."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from emcforecast.charts import style
from emcforecast.charts.style import LIGHT, Look
from emcforecast.language import _

if TYPE_CHECKING:
    from emcforecast.forecast.hindcast_scores import Hindcast

PROMISED = 80.0
HONEST = (70.0, 90.0)


def _tick(what: str) -> str:
    """Name a score below its dot, in two lines: "90 days", "date of 20 %"."""
    if what.startswith("days to "):
        return _("date\nof {mc}", mc=what.removeprefix("days to "))
    return _("{days}\ndays", days=what.removesuffix(" days ahead"))


def hindcast_figure(
    answer: "Hindcast",
    *,
    source: str = "",
    look: Look = LIGHT,
    narrow: bool = False,
) -> Figure:
    """Draw coverage and CRPS by days ahead.

    Parameters
    ----------
    answer : Hindcast
        What `hindcast` found.
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
    size = (4.2, 6.6) if narrow else (9.0, 3.9)
    fig = Figure(figsize=size, facecolor=look.paper, layout="constrained")
    left, right = fig.subplots(2, 1) if narrow else fig.subplots(1, 2)
    for axes in (left, right):
        style.dress(axes, look)
    scores = [*answer.moisture, *answer.dates]
    places = np.arange(len(scores))
    names = [_tick(s.what) for s in scores]
    left.axhspan(*HONEST, color=look.shed, alpha=0.15, linewidth=0)
    left.axhline(PROMISED, color=look.mark, linewidth=1.0, linestyle=(0, (5, 4)))
    shares = [100 * s.coverage for s in scores]
    left.plot(places, shares, "o", color=look.shed)
    for place, share in zip(places, shares, strict=True):
        left.annotate(
            f"{share:.0f}",
            (place, share),
            xytext=(0, -15),
            textcoords="offset points",
            ha="center",
            color=look.ink,
            fontsize=8.5,
            bbox={"facecolor": look.paper, "edgecolor": "none", "pad": 1.0},
        )
    left.set_xlim(-0.6, len(scores) - 0.4)
    left.set_ylim(min(40.0, min(shares) - 10.0), 102)
    left.set_xticks(places, names)
    whole = 100.0 * answer.whole.coverage
    style.title(
        left,
        look,
        _(
            "{share:.0f} of 100 came true within the range, {promised:.0f} promised",
            share=whole,
            promised=PROMISED,
        ),
        narrow=True,
    )
    left.set_ylabel(_("came true, in 100"))
    leads = np.arange(len(answer.moisture))
    for shift, values, colour, word in (
        (-0.2, [s.crps for s in answer.moisture], look.outdoor, _("forecast")),
        (0.2, [s.reference for s in answer.moisture], look.mark, _("the month alone")),
    ):
        bars = right.bar(leads + shift, values, 0.36, color=colour, label=word)
        right.bar_label(bars, fmt="%.1f", fontsize=8, color=look.ink, padding=2)
        if colour == look.mark:
            for bar in bars:
                bar.set(hatch="//", edgecolor=look.paper, linewidth=0)
    right.set_xticks(leads, names[: leads.size])
    style.title(
        right,
        look,
        _("The error of the forecast (CRPS, % MC) beside the month's alone"),
        narrow=True,
    )
    legend = right.legend(frameon=False, fontsize=9)
    for text in legend.get_texts():
        text.set_color(look.ink)
    cases = _(
        "{cases} forecasts over {years} left-out years",
        cases=answer.whole.cases,
        years=len(answer.years),
    )
    key = _("dashed: promised; band: 70 to 90 of 100, as good as so few years can tell")
    style.footnote(fig, look, "\n".join(filter(None, [cases, key, source])))
    return fig
