"""What a file holds, in series units -> a weather series."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import BoolArray, FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.hints import Hints
from emcforecast.weather.humidity import humidity_from
from emcforecast.weather.mend.daily import hourly_from_daily
from emcforecast.weather.mend.quality import hourly_grid, without_impossible
from emcforecast.weather.repairs import Repair, RepairKind, add_repairs, repair
from emcforecast.weather.series import NOMINAL_YEAR, VARIABLES, make_series


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
    repairs : list of Repair
        Repairs and choices so far.
    columns : dict of str to str
        Quantity to "column (unit)", for the person to see.
    """

    time: TimeArray
    values: dict[str, FloatArray]
    step: str
    place: dict[str, float]
    repairs: list[Repair]
    columns: dict[str, str]


def series_of_parsed(
    parsed: Parsed, hints: Hints, source: str, kind: str = "observed"
) -> xr.Dataset:
    """Make a weather series of a parsed table."""
    values = dict(parsed.values)
    repairs = list(parsed.repairs)
    if "air_temperature" not in values and "daily_maximum" in values:
        values["air_temperature"] = 0.5 * (
            values["daily_maximum"] + values["daily_minimum"]
        )
        repairs.append(repair(RepairKind.MEAN_OF_EXTREMES, step=parsed.step))
    temperature = values["air_temperature"]
    humid, more = humidity_from(
        temperature, values, elevation=parsed.place.get("elevation")
    )
    repairs += more
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
            parsed.time,
            keep,
            kind=kind,
            source=source,
            repairs=repairs,
            **place,
            **extra,
        )
        return _note_coarse(ds, parsed.time)
    if parsed.step == "day":
        daily = {**keep}
        for name in ("daily_maximum", "daily_minimum"):
            if name in values:
                daily[name] = values[name]
        return hourly_from_daily(
            parsed.time,
            daily,
            kind=kind,
            source=source,
            repairs=repairs,
            **place,
            **extra,
        )
    return _monthly_series(
        parsed, keep, spread, kind, source, repairs, {**place, **extra}
    )


def _note_coarse(ds: xr.Dataset, time: TimeArray) -> xr.Dataset:
    if time.size >= ds.sizes["time"] or time.size < 2:
        return ds
    steps = np.diff(np.unique(time)) / np.timedelta64(1, "h")
    usual = float(np.median(steps)) if steps.size else 1.0
    if usual > 1.01:
        return add_repairs(ds, repair(RepairKind.HOURS_APART, hours=usual))
    return ds


def _monthly_series(
    parsed: Parsed,
    keep: dict[str, FloatArray],
    spread: FloatArray | None,
    kind: str,
    source: str,
    repairs: list[Repair],
    extra: dict[str, Any],
) -> xr.Dataset:
    order = np.argsort(parsed.time, kind="stable")
    time = parsed.time[order]
    ordered = {n: v[order] for n, v in keep.items()}
    keep, found = without_impossible(ordered, each="month")
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
            repairs.append(repair(RepairKind.MONTHS_LACKING, None, name))
    if spread is not None:
        extra["daily_range"] = [float(v) for v in _put(at, spread[order], axis.size)]
    return make_series(
        axis.astype("datetime64[ns]"),
        grid,
        step="month",
        kind=kind,
        source=source,
        repairs=[*repairs, *found],
        **extra,
    )


def _put(at: IntArray, values: FloatArray, size: int) -> FloatArray:
    out = np.full(size, np.nan)
    out[at] = values
    return out


def typical_year(
    variables: dict[str, FloatArray],
    *,
    source: str,
    offset: float,
    repairs: list[Repair],
    hints: Hints,
    **place: Any,
) -> xr.Dataset:
    """Turn local hours of a typical year to the nominal year in UTC.

    Parameters
    ----------
    variables : dict of str to ndarray, shape (8760,)
        Series variables in series units, from the first local hour of January.
    source : str
        As in `make_series`.
    offset : float
        Local standard time minus UTC (h).
    repairs : list of Repair
        Those made before.
    hints : Hints
        Place, where it shall differ.
    **place
        Further arguments of `make_series`.
    """
    clean, found = without_impossible(variables)
    size = clean["air_temperature"].size
    if size != 8760:
        raise WeatherError(
            f"the file holds {size} of the 8760 hours of a typical year; it seems cut "
            "off: get it again"
        )
    for name in ("air_temperature", "relative_humidity"):
        if not np.isfinite(clean[name]).any():
            raise WeatherError(
                f"every {name.replace('_', ' ')} value of the file is missing"
            )
    if offset != round(offset):
        repairs.append(repair(RepairKind.HALF_HOUR_CLOCK, offset=offset))
    shift = -int(np.floor(offset + 0.5))
    axis = np.datetime64(f"{NOMINAL_YEAR}-01-01", "ns") + np.arange(
        8760
    ) * np.timedelta64(1, "h")
    turned = {
        name: np.roll(values, shift)
        for name, values in clean.items()
        if np.isfinite(values).any()
    }
    for name, value in (
        ("latitude", hints.latitude),
        ("longitude", hints.longitude),
        ("elevation", hints.elevation),
    ):
        if value is not None:
            place[name] = value
    return make_series(
        axis,
        turned,
        step="hour",
        kind="typical year",
        source=source,
        repairs=[*repairs, *found],
        utc_offset=offset,
        **place,
    )


def column_of(frame: pd.DataFrame, name: str, missing: float) -> FloatArray:
    """Return a column as numbers.

    Returns
    -------
    ndarray of float, shape (n,)
        NaN where missing.
    """
    values: FloatArray = pd.to_numeric(frame[name], errors="coerce").to_numpy(
        np.float64
    )
    return np.where(np.abs(values) >= missing, np.nan, values)


def without_leap_day(
    frame: pd.DataFrame, leap: BoolArray
) -> tuple[pd.DataFrame, list[Repair]]:
    """Leave 29 February out of a year that has it.

    Parameters
    ----------
    frame : pandas.DataFrame
        The hours.
    leap : ndarray of bool, shape (n,)
        Which are of 29 February.

    Returns
    -------
    pandas.DataFrame
        The hours left.
    list of Repair
        What was left out.
    """
    if len(frame) == 8784 and int(leap.sum()) == 24:
        return frame[~leap], [repair(RepairKind.LEAP_DAY_LEFT_OUT)]
    return frame, []


def add_rain(variables: dict[str, FloatArray], rain: FloatArray) -> list[Repair]:
    """Use the rain where the file has it for most of the year.

    Parameters
    ----------
    variables : dict of str to ndarray
        The series variables; ``precipitation`` is added.
    rain : ndarray, shape (n,)
        mm per hour, NaN where missing.
    """
    known = int(np.count_nonzero(np.isfinite(rain)))
    if not known or not np.nansum(rain) > 0.0:
        return [repair(RepairKind.RAIN_ABSENT)]
    if known < 0.5 * rain.size:
        return [repair(RepairKind.RAIN_SPARSE, known, of=rain.size)]
    variables["precipitation"] = rain
    return []


def air_of(
    temperature: FloatArray, given: dict[str, FloatArray]
) -> tuple[dict[str, FloatArray], list[Repair]]:
    """Return the temperature with a humidity from the best that is given.

    Parameters
    ----------
    temperature : ndarray, shape (n,)
        Air temperature (°C).
    given : dict of str to ndarray, shape (n,)
        As in `humidity_from`.
    """
    humid, repairs = humidity_from(temperature, given)
    if humid is None or not np.isfinite(humid).any():
        raise WeatherError(
            "the file has no humidity; temperature and humidity are both needed"
        )
    return {"air_temperature": temperature, "relative_humidity": humid}, repairs
