"""A logger against the weather: two scatters, temperature and EMC."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.charts import style
from emcforecast.storage.compare import Comparison
from emcforecast.units import UnitSystem, celsius_to_fahrenheit

if TYPE_CHECKING:
    from matplotlib.axes import Axes


DAY = 24


def compare_figure(
    found: Comparison,
    *,
    system: UnitSystem = "si",
    source: str = "",
    look: style.Look = style.LIGHT,
    narrow: bool = False,
) -> Figure:
    """Draw daily means of a logger against those of the weather.

    Parameters
    ----------
    found : Comparison
        From `emcforecast.storage.compare.compare`.
    system : {"us", "si"}
        °F or °C.
    source : str
        Where the weather comes from, for the foot.
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright: one scatter above the other.

    Returns
    -------
    matplotlib.figure.Figure
        Temperature and EMC, one dot a day, with the line of equality.
    """
    size = (4.2, 8.0) if narrow else (9.0, 4.8)
    fig = Figure(figsize=size, facecolor=look.paper, layout="constrained")
    left, right = fig.subplots(2, 1) if narrow else fig.subplots(1, 2)
    day = found.time.astype("datetime64[D]")
    air = (found.weather_temperature, found.logger_temperature)
    if system == "us":
        air = (celsius_to_fahrenheit(air[0]), celsius_to_fahrenheit(air[1]))
    _scatter(left, look, day, *air, f"temperature, {'°F' if system == 'us' else '°C'}")
    _scatter(right, look, day, found.weather_emc, found.logger_emc, "EMC, % MC")
    title = "Logger against the weather of the same days"
    fig.suptitle(title, x=0.01, ha="left", fontsize=11, color=look.ink)
    style.footnote(
        fig,
        look,
        "One dot a day. Above the line the logger's air is the warmer, or the damper."
        f"\n{source}",
    )
    return fig


def _scatter(
    axes: "Axes",
    look: style.Look,
    day: NDArray[np.datetime64],
    weather: FloatArray,
    logger: FloatArray,
    what: str,
) -> None:
    style.dress(axes, look)
    _, number = np.unique(day, return_inverse=True)
    count = np.bincount(number)
    x, y = (np.bincount(number, values) / count for values in (weather, logger))
    whole = count >= DAY // 2
    axes.plot(x[whole], y[whole], ".", color=look.shed, markersize=6, alpha=0.6)
    ends = (min(x.min(), y.min()), max(x.max(), y.max()))
    axes.plot(ends, ends, color=look.mark, linewidth=1.0)
    pad = 0.04 * (ends[1] - ends[0]) or 1.0
    axes.set(xlim=(ends[0] - pad, ends[1] + pad), ylim=(ends[0] - pad, ends[1] + pad))
    axes.set_aspect("equal")
    axes.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    axes.annotate(
        "the same",
        (ends[0] + 0.97 * (ends[1] - ends[0]),) * 2,
        xytext=(3, -3),
        textcoords="offset points",
        ha="right",
        va="top",
        rotation=45,
        rotation_mode="anchor",
        fontsize=8,
        color=look.mark,
    )
    axes.set_xlabel(f"weather: {what}", color=look.ink)
    axes.set_ylabel(f"logger: {what}", color=look.ink)
