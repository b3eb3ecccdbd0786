"""Pictures of places: their air beside each other, and a place against its logger."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.charts import style
from emcforecast.language import _
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.report.names import place_title
from emcforecast.storage.air import air_in
from emcforecast.storage.compare import Comparison
from emcforecast.storage.references import (
    en_15026_climate,
    en_15026_emc,
    iso_13788_emc,
)
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem, celsius_to_fahrenheit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


_STROKES: tuple[Any, ...] = (
    "-", (0, (7, 1.5)), (0, (2, 1)), (0, (6, 1, 1, 1)), (0, (1, 1.2)),
    (0, (9, 1, 1, 1, 1, 1)), (0, (4, 3)),
)  # fmt: skip
PANEL, LABELS, WORD = 2.6, 120.0, 0.075
"""Inches of a panel; days to the right of it for the names of its lines; height of a
name, share of a panel."""


def settings_figure(
    weather: xr.Dataset,
    settings: Sequence[Setting],
    *,
    source: str = "",
    look: style.Look = style.LIGHT,
    narrow: bool = False,
) -> "Figure":
    """Draw the monthly EMC of settings and of published indoor climates.

    Parameters
    ----------
    weather : xarray.Dataset
        An hourly weather series.
    settings : sequence of Setting
        What to draw.
    source : str
        Where the weather comes from, for the foot.
    look : Look
        Light or dark.
    narrow : bool
        For a phone held upright.

    Returns
    -------
    matplotlib.figure.Figure
        Settings as lines. Beside indoor ones EN 15026 (normal and high occupancy) and
        the upper limits of ISO 13788 classes 2 and 3 as thin lines, in the climate
        outside; beside the others the air outdoors.
    """
    month = weather["time"].dt.month.to_numpy()
    middle = np.array(style.MONTH_STARTS) + 15.0
    outside_t = weather["air_temperature"].to_numpy()
    outside_e = vapour_pressure(outside_t, weather["relative_humidity"].to_numpy())
    t_o, e_o = _by_month(outside_t, month), _by_month(outside_e, month)
    # The classes are for heated rooms; in summer rooms are no cooler than outdoors.
    room = np.maximum(en_15026_climate(t_o)[0], t_o)
    design = {
        "EN 15026 normal": en_15026_emc(t_o),
        "EN 15026 high": en_15026_emc(t_o, True),
        "ISO 13788 class 2": iso_13788_emc(t_o, e_o, 2, room),
        "ISO 13788 class 3": iso_13788_emc(t_o, e_o, 3, room),
    }
    outdoors = _by_month(
        equilibrium_moisture_content(
            outside_t, weather["relative_humidity"].to_numpy()
        ),
        month,
    )
    groups = [
        (name, [one for one in settings if one.name == name])
        for name in dict.fromkeys(setting.name for setting in settings)
    ]
    size = (4.2, 1.25 * PANEL) if narrow else (9.0, PANEL)
    fig = Figure(
        figsize=(size[0], size[1] * len(groups) + 0.8),
        facecolor=look.paper,
        layout="constrained",
    )
    panels = fig.subplots(len(groups), 1, squeeze=False)[:, 0]
    for axes, (name, group) in zip(panels, groups, strict=True):
        style.dress(axes, look)
        beside = design if name == "indoor" else {_("the air outdoors"): outdoors}
        lines = [(label, values, look.mark, 0.9) for label, values in beside.items()]
        for setting in group:
            air = air_in(weather, setting)
            emc = equilibrium_moisture_content(
                air["air_temperature"].to_numpy(), air["relative_humidity"].to_numpy()
            )
            monthly = _by_month(emc, month)
            lines.append((place_title(setting.kind), monthly, look.of(name), 2.0))
        for number, (label, values, colour, width) in enumerate(reversed(lines)):
            axes.plot(
                middle, values, color=colour, linewidth=width, label=label,
                linestyle=_STROKES[number % len(_STROKES)],
            )  # fmt: skip
        style.month_axis(axes, look)
        if narrow:
            axes.legend(
                loc="upper left", bbox_to_anchor=(0.0, -0.1), ncols=1,
                fontsize=8.6, frameon=False, labelcolor=look.ink,
            )  # fmt: skip
        else:
            _name_lines(axes, middle, lines, look)
    label = _("EMC of the air, % of oven-dry mass")
    fig.supylabel(label, fontsize=9, color=look.ink)
    style.title(panels[0], look, _extremes(list(panels), settings), narrow=narrow)
    notes = [_("Monthly means of the hourly EMC.")]
    if any(name == "indoor" for name, _group in groups):
        notes.append(_("Grey lines: published design climates, no measurements."))
    style.footnote(fig, look, f"{' '.join(notes)}\n{source}")
    return fig


def _extremes(panels: "Sequence[Axes]", shown: Sequence[Setting]) -> str:
    """Say which place is driest in its driest month, and which dampest."""
    lines = [
        (float(np.min(line.get_ydata())), str(line.get_label()))
        for axes in panels
        for line in axes.get_lines()
        if line.get_linewidth() > 1.0
    ]
    (low, driest), (high, dampest) = min(lines), max(lines)
    inside = {
        place_title(one.kind): place_title(one.kind, "in the place") for one in shown
    }
    if driest == dampest:
        return _(
            "The air of the {place}: down to {low:.0f} % EMC", place=driest, low=low
        )
    return _(
        "Driest month of the year: {low:.0f} % EMC in the {driest}, {high:.0f} % in "
        "the {dampest}",
        low=low,
        driest=inside[driest],
        high=high,
        dampest=inside[dampest],
    )


def _name_lines(
    axes: "Axes",
    middle: FloatArray,
    lines: Sequence[tuple[str, FloatArray, str, float]],
    look: style.Look,
) -> None:
    """Write each line's name beside its end, none over another."""
    low, high = axes.get_ylim()
    axes.set_xlim(0.0, 365.0 + LABELS)
    step, level = WORD * (high - low), -np.inf
    for label, values, colour, width in sorted(lines, key=lambda line: line[1][-1]):
        level = max(float(values[-1]), level + step)
        ink = look.ink if width > 1.0 else colour
        axes.plot([middle[-1], 368.0], [values[-1], level], color=colour, linewidth=0.6)
        axes.annotate(
            label, (370.0, level), va="center", color=ink, fontsize=8.6,
            annotation_clip=False,
        )  # fmt: skip
    axes.set_ylim(low, max(high, level + step))


def _by_month(values: FloatArray, month: NDArray[np.int64]) -> FloatArray:
    return np.array([np.nanmean(values[month == m]) for m in range(1, 13)])


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
    unit = "°F" if system == "us" else "°C"
    _scatter(left, look, day, *air, _("temperature, {unit}", unit=unit))
    _scatter(right, look, day, found.weather_emc, found.logger_emc, _("EMC, % MC"))
    title = _("Logger against the weather of the same days")
    fig.suptitle(title, x=0.01, ha="left", fontsize=11, color=look.ink)
    style.footnote(
        fig,
        look,
        _(
            "One dot a day. Above the line the logger's air is the warmer, or the "
            "damper."
        )
        + f"\n{source}",
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
    _days, number = np.unique(day, return_inverse=True)
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
        _("the same"),
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
    axes.set_xlabel(_("weather: {what}", what=what), color=look.ink)
    axes.set_ylabel(_("logger: {what}", what=what), color=look.ink)
