"""Write a weather series to a file and read it back without loss."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.weather.repairs import RepairKind, repair
from emcforecast.weather.series import VARIABLES, check_contract, make_series

MARK = "emcforecast_series"
"""Global attribute that holds all others, exactly."""

_STANDARD_NAMES = {
    "air_temperature": "air_temperature",
    "relative_humidity": "relative_humidity",
    "precipitation": "precipitation_amount",
    "wind_speed": "wind_speed",
    "shortwave": "surface_downwelling_shortwave_flux_in_air",
}


def require_target(path: Path) -> None:
    """Refuse a file that cannot become a weather file, before anything is fetched."""
    if path.suffix.lower() != ".nc":
        raise WeatherError(f"{path}: weather is written as NetCDF; end its name in .nc")
    folder = path.absolute().parent
    if not folder.is_dir() or not os.access(folder, os.W_OK):
        raise WeatherError(
            f"{path}: the folder {folder} is not there or not open to you; name another"
        )


def write_weather(ds: xr.Dataset, path: str | Path) -> None:
    """Write a weather series as NetCDF with CF names.

    Parameters
    ----------
    ds : xarray.Dataset
        A weather series.
    path : str or pathlib.Path
        Where; written whole or not at all.

    Raises
    ------
    WeatherError
        When it cannot be written.
    """
    check_contract(ds)
    target = Path(path)
    out = xr.Dataset(coords={"time": ds["time"].to_numpy()})
    out["time"].attrs = {"standard_name": "time", "long_name": "start of interval, UTC"}
    for name in ds.data_vars:
        units, long_name = VARIABLES[str(name)]
        out[str(name)] = (
            "time",
            ds[name].to_numpy(),
            {
                "units": "degree_Celsius" if units == "degC" else units,
                "long_name": long_name,
                "standard_name": _STANDARD_NAMES[str(name)],
            },
        )
    out.attrs = {
        "Conventions": "CF-1.11",
        "title": f"weather series, {ds.attrs['kind']}",
        "source": ds.attrs["source"],
        "license": ds.attrs["licence"],
        "attribution": ds.attrs["attribution"],
        MARK: json.dumps(dict(ds.attrs), ensure_ascii=False),
    }
    encoding: dict[str, dict[str, Any]] = {
        str(name): {"zlib": True, "complevel": 4} for name in ds.data_vars
    }
    encoding["time"] = {"units": "seconds since 1970-01-01", "dtype": "int64"}
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        out.to_netcdf(part, engine="h5netcdf", encoding=encoding)
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise WeatherError(
            f"{target}: cannot be written ({error.strerror or error}); "
            "name another file"
        ) from error


def series_of_own(opened: xr.Dataset) -> xr.Dataset:
    """Return the weather series in a file that `write_weather` wrote."""
    try:
        attrs = json.loads(opened.attrs[MARK])
        if isinstance(attrs["repairs"], list):  # sentences, of older versions
            attrs["repairs"] = [
                repair(RepairKind.STATED, text=line) for line in attrs["repairs"]
            ]
        variables = {
            str(name): opened[name].to_numpy().astype(np.float64)
            for name in opened.data_vars
        }
        return make_series(opened["time"].to_numpy(), variables, **attrs)
    except (KeyError, TypeError, json.JSONDecodeError) as error:
        raise WeatherError(
            f"the file says it was written here but is damaged ({error}); "
            "fetch it again"
        ) from error
