"""What a table holds, in series units -> a weather series."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.hints import Hints
from emcforecast.weather.humidity import humidity_from
from emcforecast.weather.mend.daily import hourly_from_daily
from emcforecast.weather.mend.quality import hourly_grid, without_impossible
from emcforecast.weather.series import VARIABLES, make_series


@dataclass(frozen=True)
class Parsed:
    """What a table holds, in series units.

    Attributes
    ----------
    time : ndarray of datetime64[ns], shape (n,)
        UTC; start of month or day for longer steps.
    values : dict of str to ndarray, shape (n,)
        Quantities found, °C, %, Pa, kg/kg, kg/m³, mm, m/s, W/m².
    step : str
        As in `Timeline`.
    place : dict of str to float
        What the table says of its place, and the clock's offset.
    notes : list of str
        Repairs and choices so far.
    columns : dict of str to str
        Quantity to "column (unit)", for the person to see.
    """

    time: TimeArray
    values: dict[str, FloatArray]
    step: str
    place: dict[str, float]
    notes: list[str]
    columns: dict[str, str]


def series_of_parsed(
    parsed: Parsed, hints: Hints, source: str, kind: str = "observed"
) -> xr.Dataset:
    """Make a weather series of a parsed table.

    Parameters
    ----------
    parsed : Parsed
        What the table holds.
    hints : Hints
        Kind of weather, when the person says so.
    source : str
        Where it comes from, in words.
    kind : str
        What the weather is, when neither the person nor its shape says.

    Returns
    -------
    xarray.Dataset
        Hourly or monthly series; gaps are still gaps.

    Raises
    ------
    WeatherError
        When temperature or humidity is missing throughout.
    """
    values = dict(parsed.values)
    notes = list(parsed.notes)
    if "air_temperature" not in values and "daily_maximum" in values:
        values["air_temperature"] = 0.5 * (
            values["daily_maximum"] + values["daily_minimum"]
        )
        notes.append("mean temperature taken midway between the extremes")
    temperature = values["air_temperature"]
    humid, words = humidity_from(
        temperature, values, elevation=parsed.place.get("elevation")
    )
    notes += words
    if humid is None:
        raise WeatherError("the file has no humidity that can be used; add a column")
    keep = {n: values[n] for n in VARIABLES if n in values}
    keep["relative_humidity"] = humid
    kind = hints.kind or ("normals" if parsed.step == "normals" else kind)
    place: dict[str, Any] = dict(parsed.place)
    spread = None
    if "daily_maximum" in values and "daily_minimum" in values:
        spread = values["daily_maximum"] - values["daily_minimum"]
    extra: dict[str, Any] = {
        "columns": [f"{name}: {label}" for name, label in parsed.columns.items()]
    }
    if parsed.step == "hour":
        ds = hourly_grid(
            parsed.time, keep, kind=kind, source=source, notes=notes, **place, **extra
        )
        return _note_coarse(ds, parsed.time)
    if parsed.step == "day":
        daily = {**keep}
        for name in ("daily_maximum", "daily_minimum"):
            if name in values:
                daily[name] = values[name]
        return hourly_from_daily(
            parsed.time, daily, kind=kind, source=source, notes=notes, **place, **extra
        )
    return _monthly(parsed, keep, spread, kind, source, notes, {**place, **extra})


def _note_coarse(ds: xr.Dataset, time: TimeArray) -> xr.Dataset:
    if time.size >= ds.sizes["time"] or time.size < 2:
        return ds
    steps = np.diff(np.unique(time)) / np.timedelta64(1, "h")
    usual = float(np.median(steps)) if steps.size else 1.0
    if usual > 1.01:
        note = f"readings are {usual:g} h apart; the hours between are bridged"
        ds.attrs["repairs"] = [*ds.attrs["repairs"], note]
    return ds


def _monthly(
    parsed: Parsed,
    keep: dict[str, FloatArray],
    spread: FloatArray | None,
    kind: str,
    source: str,
    notes: list[str],
    extra: dict[str, Any],
) -> xr.Dataset:
    order = np.argsort(parsed.time, kind="stable")
    time = parsed.time[order]
    ordered = {n: v[order] for n, v in keep.items()}
    keep, words = without_impossible(ordered, each="month")
    months = time.astype("datetime64[M]")
    if np.unique(months).size != months.size:
        raise WeatherError("a month comes twice in the file; keep one row a month")
    axis = np.arange(months[0], months[-1] + 1)
    at = (months - months[0]).astype(np.int64)
    if axis.size != months.size:
        lost = str(axis[~np.isin(axis, months)][0])
        raise WeatherError(
            f"{lost} is missing between the months of the file; add it, or cut the "
            "file there"
        )
    grid = {name: _put(at, values, axis.size) for name, values in keep.items()}
    for name in [n for n in grid if not np.isfinite(grid[n]).all()]:
        if name not in ("air_temperature", "relative_humidity"):
            del grid[name]
            notes.append(f"{name.replace('_', ' ')} lacks months; not used")
    if spread is not None:
        extra["daily_range"] = [float(v) for v in _put(at, spread[order], axis.size)]
    return make_series(
        axis.astype("datetime64[ns]"),
        grid,
        step="month",
        kind=kind,
        source=source,
        repairs=[*notes, *words],
        **extra,
    )


def _put(at: npt.NDArray[np.int64], values: FloatArray, size: int) -> FloatArray:
    out = np.full(size, np.nan)
    out[at] = values
    return out
