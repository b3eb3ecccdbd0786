"""Variables of a grid -> quantities: CF names first, then the names in use."""

from __future__ import annotations

import re
from collections.abc import Mapping

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.language import _, did_you_mean
from emcforecast.weather.formats.cf import STANDARD_NAMES, quantity_of
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES
from emcforecast.weather.quantities import quantity_name

SEA_LEVEL_PRESSURE, ELEVATION = "sea_level_pressure", "elevation"
_SEA_LEVEL = ("msl", "psl", "slp", "prmsl", "mslp", "mslet", "mean_sea_level_pressure")
_HEIGHTS = (
    *("orog", "orography", "z_surface", "topo", "topography", "hgt", "hsurf", "oro"),
    *("elevation", "altitude", "elev", "height", "zsurf", "hgt_m", "phis", "z"),
    *("geopotential", "alt", "dem"),
)
_HEIGHT_NAMES = ("surface_altitude", "height_above_reference_ellipsoid", "altitude")
_BEST = re.compile(r"2m|2t|2d|m2|tas|huss|hurs|2_m", re.IGNORECASE)
_ALOFT = re.compile(r"isobaric|plev|pressure_?level|hybrid|depth|sigma|layer")
"""Axes of what is above the ground or in it."""
QUANTITIES = (
    *("air_temperature", "daily_maximum", "daily_minimum"),
    *HUMIDITY_MEASURES,
    *("pressure", SEA_LEVEL_PRESSURE, "precipitation", "wind_speed"),
    *("eastward_wind", "northward_wind", "shortwave", ELEVATION),
)


def grid_quantity(name: str, variable: xr.DataArray) -> str | None:
    """Say what a variable of a grid is: as for one point, and pressures and heights."""
    if variable.dtype.kind not in "iuf":
        return None
    attrs = variable.attrs
    standard = str(attrs.get("standard_name", "")).lower()
    label = str(attrs.get("long_name", "")).lower()
    low = name.lower()
    if standard in _HEIGHT_NAMES:
        return ELEVATION
    if "sea_level" in standard or "sea level pressure" in label or low in _SEA_LEVEL:
        return SEA_LEVEL_PRESSURE
    if standard == "surface_pressure":
        return "pressure"
    if low in _HEIGHTS and standard not in STANDARD_NAMES:
        return ELEVATION if _is_height(attrs) else None
    description = str(attrs.get("description", "")).lower()
    if low == "q2" and description.startswith("qv"):
        return "mixing_ratio"
    return quantity_of(name, variable)


def _is_height(attrs: Mapping[str, object]) -> bool:
    units = re.sub(r"[\s*^]", "", str(attrs.get("units", ""))).lower()
    return units in ("m", "metre", "meter", "metres", "meters", "gpm", "m2s-2", "m2/s2")


def choose(ds: xr.Dataset, given: Mapping[str, str]) -> dict[str, str]:
    """Choose a variable of a file for each quantity it holds.

    `given`: names by quantity, as the person says. Raises `WeatherError` where two may
    be the same quantity.
    """
    found: dict[str, list[str]] = {}
    for key, variable in ds.data_vars.items():
        quantity = grid_quantity(str(key), variable)
        if quantity is not None and _is_near_ground(ds, variable, quantity):
            found.setdefault(quantity, []).append(str(key))
    chosen = {
        quantity: _one_of(ds, quantity, names)
        for quantity, names in found.items()
        if quantity not in given
    }
    for quantity, name in given.items():
        if name in ds.data_vars:
            chosen = {q: n for q, n in chosen.items() if n != name}
            chosen[quantity] = name
    return chosen


def check_given(given: Mapping[str, str], files: list[xr.Dataset]) -> None:
    """Refuse names of quantities or variables that nobody knows."""
    for quantity, name in given.items():
        if quantity not in QUANTITIES:
            raise WeatherError(
                _(
                    "'{quantity}' is no quantity of a grid.{near} Known: {quantities}",
                    quantity=quantity,
                    near=did_you_mean(quantity, QUANTITIES),
                    quantities=", ".join(QUANTITIES),
                )
            )
        if not any(name in ds.data_vars for ds in files):
            names = dict.fromkeys(str(key) for ds in files for key in ds.data_vars)
            raise WeatherError(
                _(
                    "no file has a variable '{name}'; they have {names}",
                    name=name,
                    names=", ".join(names)[:200],
                )
            )


def _is_near_ground(ds: xr.Dataset, variable: xr.DataArray, quantity: str) -> bool:
    """Tell whether a height or level that is said is that of a weather screen."""
    if quantity not in ("air_temperature", *HUMIDITY_MEASURES):
        return True
    below = re.compile(r"isobaric|plev|pressure_?level|hybrid|depth|sigma|layer")
    if any(
        below.search(str(key).lower()) for key in (*variable.dims, *variable.coords)
    ):
        return False
    for key, coordinate in variable.coords.items():
        name = str(key).lower()
        if coordinate.size != 1 or coordinate.dtype.kind not in "iuf":
            continue
        level = float(coordinate.to_numpy().ravel()[0])
        if name in ("heightaboveground", "height") and not 0.0 <= level <= 12.0:
            return False
        if name in ("heightabovesea", "potentialtemperature", "tropopause", "maxwind"):
            return False
    return True


def _one_of(ds: xr.Dataset, quantity: str, names: list[str]) -> str:
    if len(names) == 1:
        return names[0]
    spare = {n: sum(ds.sizes[d] > 1 for d in ds[n].dims) for n in names}
    flat = [n for n in names if spare[n] == min(spare.values())]
    best = [n for n in flat if _BEST.search(n)] or flat
    standard = [n for n in best if ds[n].attrs.get("standard_name") in STANDARD_NAMES]
    best = standard if len(standard) == 1 else best
    if len(best) == 1 or quantity not in ("air_temperature", *HUMIDITY_MEASURES):
        return best[0]
    raise WeatherError(
        _(
            "several variables may be the {quantity}: {best}; say which: "
            "--variable {quantity2}=NAME, in Python "
            "variables={{'{quantity2}': 'NAME'}}",
            quantity=quantity_name(quantity),
            best=", ".join(best),
            quantity2=quantity,
        )
    )


def require_air(found: Mapping[str, object], names: list[str]) -> None:
    """Refuse grids without temperature or without humidity."""
    has_temperature = "air_temperature" in found or (
        "daily_maximum" in found and "daily_minimum" in found
    )
    has_humidity = any(measure in found for measure in HUMIDITY_MEASURES)
    listed = ", ".join(names)[:200] or "none"
    if has_temperature and has_humidity:
        return
    if has_temperature:
        raise WeatherError(
            _(
                "the grid has temperature but no humidity (variables: "
                "{listed}); give the file of relative humidity, dew point, "
                "vapour pressure or specific humidity too",
                listed=listed,
            )
        )
    if has_humidity:
        raise WeatherError(
            _(
                "the grid has humidity but no air temperature (variables: "
                "{listed}); give that file too, or say --variable "
                "air_temperature=NAME",
                listed=listed,
            )
        )
    raise WeatherError(
        _(
            "no variable is recognised as air temperature or humidity "
            "(variables: {listed}); say --variable air_temperature=NAME "
            "and relative_humidity=NAME",
            listed=listed,
        )
    )


def heights_of(variable: xr.DataArray) -> xr.DataArray:
    """Return heights in m of a variable in m or, as geopotential, in m² s⁻²."""
    units = re.sub(r"[\s*^]", "", str(variable.attrs.get("units", "m"))).lower()
    values = variable.astype(np.float64)
    return values / 9.80665 if units in ("m2s-2", "m2/s2") else values
