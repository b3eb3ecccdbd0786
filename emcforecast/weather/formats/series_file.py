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
from emcforecast.weather.series import (
    CONVENTIONS,
    KINDS,
    MARK,
    STEPS,
    TIME_ATTRS,
    VARIABLES,
    cf_attributes,
    check_contract,
    make_series,
)


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
    out["time"].attrs = dict(TIME_ATTRS)
    for name in ds.data_vars:
        about = cf_attributes(str(name), ds.attrs["step"])
        if about["units"] == "degC":
            about["units"] = "degree_Celsius"
        out[str(name)] = ("time", ds[name].to_numpy(), about)
    out.attrs = {
        "Conventions": CONVENTIONS,
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


def is_own(opened: xr.Dataset) -> bool:
    """Tell a file of `write_weather`, or of a series' own `to_netcdf`."""
    if MARK in opened.attrs:
        return True
    return (
        opened.attrs.get("step") in STEPS
        and opened.attrs.get("kind") in KINDS
        and bool(opened.attrs.get("source"))
        and all(
            name in VARIABLES and variable.attrs.get("units") == VARIABLES[name][0]
            for name, variable in ((str(k), v) for k, v in opened.data_vars.items())
        )
    )


def series_of_own(opened: xr.Dataset) -> xr.Dataset:
    """Return the weather series in a file that `is_own`."""
    try:
        attrs = dict(opened.attrs)
        if MARK in attrs:
            attrs = json.loads(attrs[MARK])
        if not isinstance(attrs["repairs"], str):  # sentences, of older versions
            attrs["repairs"] = [
                repair(RepairKind.STATED, text=str(line))
                for line in np.atleast_1d(attrs["repairs"])
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
