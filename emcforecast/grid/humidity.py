"""Air of a grid from what its files hold, block by block: the formulas of one place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.bounds import WEATHER
from emcforecast.physics.kernels.grids import keep_possible
from emcforecast.physics.moist_air import (
    SEA_LEVEL,
    pressure_at_height,
    relative_humidity,
    standard_pressure,
)
from emcforecast.weather.formats.cf_units import Conversion
from emcforecast.weather.formats.parsed import NEED_PRESSURE, vapour_pressure_of
from emcforecast.weather.repairs import Repair, RepairKind, repair

HIGHEST = 120.0
"""% RH; model fields pass 100 over ice and in monthly means. What lies between is taken
as 100, what is above as missing."""
LOWEST = -5.0
"""% RH; interpolated and packed fields fall this far below 0, taken as 0."""


@dataclass(frozen=True)
class Raw:
    """A variable as it stands in its files, and how it becomes series units."""

    values: xr.DataArray
    conversion: Conversion


def in_units(raw: Raw, quantity: str) -> xr.DataArray:
    """Return a variable in series units, impossible values missing; lazily."""
    low, high = WEATHER.get(quantity, (-np.inf, np.inf))
    if quantity == "precipitation":
        high = np.inf
    return _lazily(
        _converted, raw.values, conversion=raw.conversion, low=low, high=high
    )


def _converted(
    values: FloatArray, *, conversion: Conversion, low: float, high: float
) -> FloatArray:
    return _possible(_series_units(values, conversion), low, high, low, high)


def humidity(
    temperature: Raw,
    measure: str,
    humid: Raw,
    pressure: Raw | None,
    elevation: xr.DataArray | None,
    *,
    at_sea_level: bool = False,
) -> tuple[xr.DataArray, list[Repair]]:
    """Relative humidity (%) of any measure of humidity, lazily.

    `measure`: which one, as `humidity_from` of `weather` knows them; `pressure`: at the
    ground or, `at_sea_level`, reduced to the sea, which the height corrects. Without
    any, that of the standard atmosphere at the height.
    """
    if measure == "relative_humidity":
        return _lazily(_bounded, humid.values, conversion=humid.conversion), []
    parts: list[Any] = [temperature.values, humid.values]
    conversions = [temperature.conversion, humid.conversion, None]
    found: list[Repair] = [repair(RepairKind.HUMIDITY_DERIVED, None, measure)]
    uses_height = False
    if measure in NEED_PRESSURE:
        if pressure is not None:
            conversions[2] = pressure.conversion
        parts.append(SEA_LEVEL[0] if pressure is None else pressure.values)
        needs_height = pressure is None or at_sea_level
        if needs_height and elevation is not None:
            uses_height = True
            parts.append(elevation)
        found += _about_pressure(pressure, at_sea_level, uses_height)
    result = _lazily(
        _derived,
        *parts,
        measure=measure,
        conversions=tuple(conversions),
        uses_height=uses_height,
    )
    return result, found


def _about_pressure(
    pressure: Raw | None, at_sea_level: bool, uses_height: bool
) -> list[Repair]:
    if pressure is None:
        if uses_height:
            return [repair(RepairKind.PRESSURE_OF_HEIGHTS)]
        return [repair(RepairKind.STANDARD_PRESSURE, elevation=None)]
    if not at_sea_level:
        return []
    if uses_height:
        return [repair(RepairKind.SEA_LEVEL_CORRECTED)]
    # Humidity goes with pressure: too high by as much as pressure is at the height.
    share = SEA_LEVEL[0] / standard_pressure(1000.0) - 1.0
    return [repair(RepairKind.SEA_LEVEL_PRESSURE, too_high_at_1000_m=share)]


def _derived(
    temperature: FloatArray,
    humid: FloatArray,
    pressure: FloatArray | float | None = None,
    height: FloatArray | None = None,
    *,
    measure: str,
    conversions: tuple[Conversion | None, ...],
    uses_height: bool,
) -> FloatArray:
    t, h = (
        np.asarray(values, dtype=np.float64)
        if how is None
        else how.apply(np.asarray(values, dtype=np.float64))
        for values, how in zip((temperature, humid), conversions[:2], strict=True)
    )
    p: FloatArray | None = None
    if pressure is not None:
        p = np.asarray(pressure, dtype=np.float64)
        if conversions[2] is not None:
            p = conversions[2].apply(p)
    with np.errstate(all="ignore"):
        if uses_height and height is not None and p is not None:
            p = pressure_at_height(p, height, t)
        e = vapour_pressure_of(measure, t, h, p)
        # Packing takes very dry air below nothing.
        e = np.where(e < 0.0, np.where(e > -50.0, 0.0, np.nan), e)
        e = np.where(np.abs(t) < 95.0, e, np.nan)
        return _within(relative_humidity(t, e))


def _bounded(values: FloatArray, *, conversion: Conversion) -> FloatArray:
    return _within(_series_units(values, conversion))


def _series_units(values: FloatArray, conversion: Conversion) -> FloatArray:
    """Convert in double precision; what is in series units is not copied for it."""
    if conversion.changes_nothing and values.dtype.kind == "f":
        return values
    return conversion.apply(np.asarray(values, dtype=np.float64))


def _within(percent: FloatArray) -> FloatArray:
    return _possible(percent, LOWEST, HIGHEST, 0.0, 100.0)


def _possible(
    values: FloatArray, low: float, high: float, least: float, most: float
) -> FloatArray:
    flat = np.ascontiguousarray(values).reshape(-1)
    out = np.empty(flat.size)
    keep_possible(flat, low, high, least, most, out)
    return out.reshape(values.shape)


def _lazily(function: Any, *parts: Any, **about: Any) -> xr.DataArray:
    result: xr.DataArray = xr.apply_ufunc(
        function,
        *parts,
        kwargs=about,
        dask="parallelized",
        output_dtypes=[np.float64],
        keep_attrs=False,
    )
    return result
