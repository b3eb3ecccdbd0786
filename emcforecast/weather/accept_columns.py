"""Which columns of a table or Dataset hold which quantity, and in what unit."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES
from emcforecast.weather.formats.headers import read_header
from emcforecast.weather.formats.netcdf import quantity_of
from emcforecast.weather.series import VARIABLES

if TYPE_CHECKING:
    import pandas as pd

UNITS_ASKED = {
    "air_temperature": "degC",
    "dew_point": "degC",
    "wet_bulb": "degC",
    "relative_humidity": "%",
    "vapour_pressure": "hPa",
    "pressure": "hPa",
    "specific_humidity": "kg/kg",
    "mixing_ratio": "kg/kg",
    "precipitation": "mm",
    "wind_speed": "m/s",
    "eastward_wind": "m/s",
    "northward_wind": "m/s",
    "shortwave": "W/m2",
}
"""What can be accepted, and the unit that a refusal gives as an example."""
_HEADER_UNITS = {"C": "degC", "F": "degF", "percent": "%", "fraction": "1"}


def quantities_of(
    data: Any, units: Mapping[str, str], columns: Mapping[str, str]
) -> tuple[xr.Dataset, dict[str, str]]:
    """Return the variables with their units, and which holds each quantity."""
    pandas = sys.modules.get("pandas")
    if isinstance(data, xr.Dataset):
        dataset, names = data, _variables_of(data)
    elif pandas is not None and isinstance(data, pandas.DataFrame):
        dataset, names = _of_frame(data)
    else:
        raise WeatherError(
            f"weather is a Dataset or a DataFrame, not {type(data).__name__}; "
            "read_weather(path) reads files"
        )
    chosen = _chosen(dataset, names, columns)
    known = {*map(str, dataset.data_vars), *chosen}
    for name in units:
        if name not in known:
            raise WeatherError(
                f"units names '{name}', which is not among the columns: "
                f"{', '.join(map(str, dataset.data_vars))[:200]}"
            )
    stated: dict[str, xr.DataArray] = {}
    for quantity, name in chosen.items():
        attrs = dataset[name].attrs
        unit = units.get(name, units.get(quantity, attrs.get("units")))
        if unit is None or not str(unit).strip():
            raise WeatherError(
                f"{name} does not say its unit; give it, as in "
                f"units={{'{name}': '{UNITS_ASKED[quantity]}'}}"
            )
        if unit != attrs.get("units"):
            stated[name] = dataset[name].assign_attrs(units=str(unit))
    return dataset.assign(stated) if stated else dataset, chosen


def _variables_of(data: xr.Dataset) -> dict[str, list[str]]:
    """Return the variables of a Dataset by what they hold."""
    found: dict[str, list[str]] = {}
    for key, variable in data.data_vars.items():
        quantity = str(key) if key in VARIABLES else quantity_of(str(key), variable)
        if quantity in UNITS_ASKED and variable.ndim > 0:
            found.setdefault(quantity, []).append(str(key))
    return found


def _of_frame(data: pd.DataFrame) -> tuple[xr.Dataset, dict[str, list[str]]]:
    """Return the columns of a DataFrame as variables, and what they hold."""
    import pandas as pd

    index = data.index
    if not isinstance(index, pd.DatetimeIndex):
        raise WeatherError(
            f"the index is a {type(index).__name__}; a DatetimeIndex in UTC is needed: "
            "data.set_index(pd.to_datetime(data['time'], utc=True))"
        )
    if index.tz is not None:
        index = index.tz_convert("UTC").tz_localize(None)
    said = data.attrs.get("units")
    said = said if isinstance(said, Mapping) else {}
    found: dict[str, list[str]] = {}
    variables: dict[str, xr.DataArray] = {}
    for place, column in enumerate(data.columns):
        name = str(column)
        if name in variables:
            raise WeatherError(f"two columns are called '{name}'; rename one")
        header = read_header(name)
        unit = said.get(column, _HEADER_UNITS.get(header.unit or "", header.unit))
        values = data.iloc[:, place]
        quantity = name if name in VARIABLES else header.quantity
        if values.dtype.kind not in "fiu":
            if quantity in UNITS_ASKED:
                raise WeatherError(
                    f"column '{name}' holds {values.dtype}, not numbers; convert it: "
                    f"pd.to_numeric(data['{name}'], errors='coerce'), or drop it"
                )
            continue
        variables[name] = xr.DataArray(
            values.to_numpy(dtype=np.float64), dims="time", attrs={"units": unit or ""}
        )
        if quantity in UNITS_ASKED:
            found.setdefault(quantity, []).append(name)
    coords = {"time": index.to_numpy().astype("datetime64[ns]")}
    kept = {str(k): v for k, v in data.attrs.items() if k != "units"}
    return xr.Dataset(variables, coords=coords, attrs=kept), found


def _chosen(
    dataset: xr.Dataset, names: Mapping[str, list[str]], columns: Mapping[str, str]
) -> dict[str, str]:
    """Return the one variable for each quantity that there is."""
    for quantity, name in columns.items():
        if quantity not in UNITS_ASKED:
            raise WeatherError(
                f"'{quantity}' in columns is not known; one of {', '.join(UNITS_ASKED)}"
            )
        if name not in dataset.data_vars:
            raise WeatherError(
                f"there is no column '{name}' of numbers; there are "
                f"{', '.join(map(str, dataset.data_vars))[:200]}"
            )
    for quantity, several in names.items():
        if len(several) > 1 and quantity not in (*columns, *several):
            raise WeatherError(
                f"several columns may be the {quantity}: {', '.join(several)}; choose "
                f"one: columns={{'{quantity}': '{several[0]}'}}"
            )
    chosen = {
        quantity: quantity if quantity in several else several[0]
        for quantity, several in names.items()
    }
    chosen |= columns
    have = ", ".join(map(str, dataset.data_vars))[:200] or "none"
    if "air_temperature" not in chosen:
        raise WeatherError(
            f"no column is known as the air temperature (columns: {have}); say "
            "columns={'air_temperature': NAME}"
        )
    if not set(chosen) & set(HUMIDITY_MEASURES):
        raise WeatherError(
            f"no column tells the humidity (columns: {have}); relative humidity, dew "
            "point, vapour pressure or specific humidity is needed"
        )
    return chosen
