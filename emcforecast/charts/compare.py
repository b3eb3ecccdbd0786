"""A logger against the weather: two scatters, temperature and EMC."""

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from emcforecast.charts import style
from emcforecast.storage.compare import Comparison

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

DAY = 24


def compare_figure(
    found: Comparison,
    *,
    source: str = "",
    look: style.Look = style.LIGHT,
    narrow: bool = False,
) -> Figure:
    """Draw daily means of a logger against those of the weather.

    Parameters
    ----------
    found : Comparison
        From `emcforecast.storage.compare.compare`.
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
    _scatter(
        left, look, day, found.weather_temperature, found.logger_temperature,
        "temperature, °C",
    )  # fmt: skip
    _scatter(right, look, day, found.weather_emc, found.logger_emc, "EMC, % MC")
    style.footnote(fig, look, f"{source}\nOne dot a day.")
    return fig


def _scatter(
    axes: "Axes",
    look: style.Look,
    day: NDArray[np.datetime64],
    weather: Array,
    logger: Array,
    what: str,
) -> None:
    style.dress(axes, look)
    _, number = np.unique(day, return_inverse=True)
    count = np.bincount(number)
    x, y = (np.bincount(number, values) / count for values in (weather, logger))
    whole = count >= DAY // 2
    axes.plot(x[whole], y[whole], ".", color=look.shed, markersize=5, alpha=0.6)
    ends = (min(x.min(), y.min()), max(x.max(), y.max()))
    axes.plot(ends, ends, color=look.mark, linewidth=1.0)
    axes.annotate(
        "equal", ends[1:] * 2, xytext=(-4, -12), textcoords="offset points",
        ha="right", fontsize=8, color=look.mark,
    )  # fmt: skip
    axes.set_xlabel(f"weather: {what}", color=look.ink)
    axes.set_ylabel(f"logger: {what}", color=look.ink)
