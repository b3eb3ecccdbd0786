"""What a file holds, in series units -> a weather series; humidity of any measure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.conversions import KELVIN
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import (
    MOLAR_RATIO,
    R_V,
    relative_humidity,
    saturation_vapour_pressure,
    standard_pressure,
    vapour_pressure_from_specific_humidity,
)
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend.hours_from_means import hourly_from_daily
from emcforecast.weather.mend.months import monthly_series
from emcforecast.weather.mend.plausible import questioned
from emcforecast.weather.mend.quality import hourly_grid
from emcforecast.weather.repairs import Repair, RepairKind, add_repairs, repair
from emcforecast.weather.series import VARIABLES

PSYCHROMETER = 6.53e-4
"""Coefficient of the ventilated psychrometer over water, 1/K."""


def vapour_pressure_from_wet_bulb(
    temperature: npt.ArrayLike, wet_bulb: npt.ArrayLike, pressure: npt.ArrayLike
) -> FloatArray:
    """Vapour pressure (Pa) from a ventilated psychrometer: °C, °C and barometric Pa.

    The bulb is covered with water also below freezing. Negative where the readings
    contradict one another.

    Notes
    -----
    e = e_s(t_w) - 6.53e-4 (1 + 9.44e-4 t_w) p (t - t_w).

    References
    ----------
    WMO No. 8, Guide to Instruments and Methods of Observation, Annex 4.B.

    Examples
    --------
    >>> round(float(vapour_pressure_from_wet_bulb(20.0, 15.0, 101325.0)))
    1366
    """
    t = np.asarray(temperature, dtype=np.float64)
    t_w = np.asarray(wet_bulb, dtype=np.float64)
    p = np.asarray(pressure, dtype=np.float64)
    slope = PSYCHROMETER * (1.0 + 9.44e-4 * t_w)
    result: FloatArray = saturation_vapour_pressure(t_w) - slope * p * (t - t_w)
    return result


def humidity_from(
    temperature: FloatArray,
    given: Mapping[str, FloatArray],
    *,
    elevation: float | None = None,
) -> tuple[FloatArray | None, list[Repair]]:
    """Relative humidity from whatever measure of humidity there is.

    `temperature`: °C. `given`: any of ``relative_humidity`` (%), ``dew_point`` (°C),
    ``vapour_pressure`` (Pa), ``absolute_humidity`` (kg/m³), ``specific_humidity`` and
    ``mixing_ratio`` (kg/kg), ``wet_bulb`` (°C), with ``pressure`` (Pa) for the last
    three; earlier ones are preferred, later ones fill what they lack. `elevation`:
    height (m) from which pressure is taken when there is none. Returns %, not capped,
    or None when nothing serves, and what was derived from what.
    """
    pressure = given.get("pressure")
    repairs: list[Repair] = []
    result: FloatArray | None = None
    for name in PREFERRED:
        if name not in given:
            continue
        if name == "relative_humidity":
            result = np.array(given[name], dtype=np.float64)
            continue
        p_pa = pressure
        if name in NEED_PRESSURE:
            p_pa, more = _some_pressure(temperature, pressure, elevation)
            repairs += more
        with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
            e_pa = vapour_pressure_of(name, temperature, given[name], p_pa)
            e_pa = np.where((e_pa > 0.0) & (np.abs(temperature) < 95.0), e_pa, np.nan)
            derived = relative_humidity(temperature, e_pa)
        if result is None:
            result = np.full(temperature.shape, np.nan)
        use = np.isnan(result) & np.isfinite(derived)
        count = int(np.count_nonzero(use))
        if count:
            result = np.where(use, derived, result)
            # No count where it is all of them, however many.
            some = None if count == temperature.size else count
            repairs.append(repair(RepairKind.HUMIDITY_DERIVED, some, name))
    return result, repairs


PREFERRED = (
    *("relative_humidity", "dew_point", "vapour_pressure", "absolute_humidity"),
    *("specific_humidity", "mixing_ratio", "wet_bulb"),
)
"""Measures of humidity, the best one first."""
NEED_PRESSURE = ("specific_humidity", "mixing_ratio", "wet_bulb")


def _some_pressure(
    temperature: FloatArray, pressure: FloatArray | None, elevation: float | None
) -> tuple[FloatArray, list[Repair]]:
    fallback = standard_pressure(elevation or 0.0)
    if pressure is not None and np.isfinite(pressure).any():
        usual = np.nanmedian(pressure)
        return np.where(np.isfinite(pressure), pressure, usual), []
    return np.full(temperature.shape, fallback), [
        repair(RepairKind.STANDARD_PRESSURE, elevation=elevation)
    ]


def vapour_pressure_of(
    name: str, temperature: FloatArray, values: FloatArray, pressure: FloatArray | None
) -> FloatArray:
    """Vapour pressure (Pa) from any measure of humidity but relative, elementwise.

    `name`: one of `PREFERRED`; units as in `humidity_from`; `pressure` (Pa) for those
    of `NEED_PRESSURE`. NaN where a dew point or wet bulb lies above the air.
    """
    if name == "dew_point":
        # A dew point within rounding of the air is kept; one well above it is not.
        fits = (values <= temperature + 1.0) & (values > -90.0)
        return np.where(fits, saturation_vapour_pressure(values), np.nan)
    if name == "vapour_pressure":
        return values
    if name == "absolute_humidity":
        return values * R_V * (temperature + KELVIN)
    p_pa = np.asarray(pressure, dtype=np.float64)
    if name == "specific_humidity":
        return vapour_pressure_from_specific_humidity(values, p_pa)
    if name == "mixing_ratio":
        ratio: FloatArray = values * p_pa / (MOLAR_RATIO + values)
        return ratio
    fits = (values <= temperature + 0.5) & (values > -90.0)
    return np.where(
        fits, vapour_pressure_from_wet_bulb(temperature, values, p_pa), np.nan
    )


@dataclass(frozen=True)
class Parsed:
    """What a table holds, in series units.

    `time`: UTC, shape (n,), start of month or day for longer steps; `quantities`: °C,
    %, Pa, kg/kg, kg/m³, mm, m/s, W/m², shape (n,); `step` as in `Timeline`; `place`:
    what it says of its place and its clock's offset; `columns`: "column (unit)" by
    quantity, to show.
    """

    time: TimeArray
    quantities: dict[str, FloatArray]
    step: str
    place: dict[str, float]
    repairs: list[Repair]
    columns: dict[str, str]


def series_of_parsed(
    parsed: Parsed, hints: Hints, source: str, kind: str = "observed"
) -> xr.Dataset:
    """Make a weather series of a parsed table."""
    values = dict(parsed.quantities)
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
        raise WeatherError(_("the file has no humidity that can be used; add a column"))
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
        ds = questioned(ds, extra["columns"])
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
    return monthly_series(
        parsed.time,
        keep,
        kind=kind,
        source=source,
        repairs=repairs,
        daily_range=spread,
        **place,
        **extra,
    )


def _note_coarse(ds: xr.Dataset, time: TimeArray) -> xr.Dataset:
    if time.size >= ds.sizes["time"] or time.size < 2:
        return ds
    steps = np.diff(np.unique(time)) / np.timedelta64(1, "h")
    usual = float(np.median(steps)) if steps.size else 1.0
    if usual > 1.01:
        return add_repairs(ds, repair(RepairKind.HOURS_APART, hours=usual))
    return ds
