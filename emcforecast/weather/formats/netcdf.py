"""NetCDF with CF or common archive names -> a weather series at one point."""

from __future__ import annotations

import io
import re
import struct
from collections.abc import Collection
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.weather.formats.cf_units import in_series_units
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES
from emcforecast.weather.formats.header_words import (
    GRIB_PARAMETERS,
    LONG_NAMES,
    STANDARD_NAMES,
    VARIABLE_NAMES,
)
from emcforecast.weather.formats.netcdf_axes import Axis, at_point, time_axis
from emcforecast.weather.formats.parsed import Parsed, series_of_parsed
from emcforecast.weather.formats.series_file import is_own, series_of_own
from emcforecast.weather.hints import Format, Hints
from emcforecast.weather.mend.daily import hours_of_running_sums
from emcforecast.weather.repairs import RepairKind, repair

#: Words in a variable's name that make it something else than air near the ground.
_SKIP = re.compile(r"sea|soil|skin|snow|canopy|lake|850|500|gust|direction|stddev|flag")
#: What a damaged or foreign file makes the libraries raise.
_BROKEN = (
    *(OSError, ValueError, KeyError, IndexError, RuntimeError, TypeError, EOFError),
    *(AssertionError, OverflowError, AttributeError, struct.error),
)


def is_netcdf(head: bytes, name: str) -> bool:
    """Recognise NetCDF-4 (HDF5) and classic NetCDF by their first bytes."""
    return head[:8] == b"\x89HDF\r\n\x1a\n" or head[:4] in (b"CDF\x01", b"CDF\x02")


def _first_line(error: BaseException) -> str:
    text = str(error).strip()
    return text.splitlines()[0][:80] if text else type(error).__name__


def _require_whole(target: io.BytesIO | Path) -> None:
    """Fail on a damaged file before h5netcdf, which would complain at its end too."""
    import h5py  # type: ignore[import-untyped]

    with h5py.File(target, "r") as file:
        file.visititems(lambda _name, item: list(item.attrs) and None)
    if isinstance(target, io.BytesIO):
        target.seek(0)


def _open(source: bytes | Path) -> xr.Dataset:
    if isinstance(source, bytes):
        head, target = source[:8], io.BytesIO(source)
    else:
        with source.open("rb") as file:
            head = file.read(8)
        target = source  # type: ignore[assignment]
    # Classic files go through scipy, which pvlib brings along.
    engine = "h5netcdf" if head.startswith(b"\x89HDF") else "scipy"
    try:
        if engine == "h5netcdf":
            _require_whole(target)
        return xr.open_dataset(
            target, engine=engine, decode_times=False, mask_and_scale=True
        )
    except _BROKEN as error:
        raise WeatherError(
            f"the NetCDF file is cut off or damaged ({_first_line(error)}); "
            "get it again"
        ) from error


def read_netcdf(data: bytes, hints: Hints) -> xr.Dataset:
    """Read NetCDF content at one point."""
    return _read(data, hints)


def read_netcdf_path(path: Path, hints: Hints) -> xr.Dataset:
    """Read a NetCDF file at one point without holding all of it in memory."""
    return _read(path, hints)


def _read(source: bytes | Path, hints: Hints) -> xr.Dataset:
    with _open(source) as opened:
        if is_own(opened):
            own = xr.decode_cf(opened, decode_times=True)
            return _with_place(series_of_own(own), hints)
        parsed = parse_dataset(opened, hints)
        title = str(opened.attrs.get("title") or opened.attrs.get("institution") or "")
        source_name = f"NetCDF, {title[:80]}" if title else "NetCDF file"
    return series_of_parsed(parsed, hints, source_name, kind="reanalysis")


def _with_place(series: xr.Dataset, hints: Hints) -> xr.Dataset:
    given = {
        name: getattr(hints, name)
        for name in ("latitude", "longitude", "elevation", "utc_offset", "kind")
        if getattr(hints, name) is not None
    }
    return series.assign_attrs(given)


def parse_netcdf(data: bytes, hints: Hints, *, partial: bool = False) -> Parsed:
    """Read NetCDF content without yet asking it to be whole weather.

    Parameters
    ----------
    data : bytes
        The content.
    hints : Hints
        What the user states.
    partial : bool
        Accept temperature or humidity alone.

    Returns
    -------
    Parsed
        Times and values at the point.
    """
    with _open(data) as opened:
        return parse_dataset(opened, hints, partial=partial)


def parse_dataset(
    opened: xr.Dataset,
    hints: Hints,
    *,
    partial: bool = False,
    from_start: Collection[str] = (),
) -> Parsed:
    """Read a dataset, opened or made in memory, as `parse_netcdf` reads a file.

    Parameters
    ----------
    opened : xarray.Dataset
        Times decoded or not.
    hints : Hints
        What the person said.
    partial : bool
        Accept temperature or humidity alone.
    from_start : collection of str
        Variables whose amounts are of the step that begins at their time, where the
        usual ones are of the step that ends there.
    """
    chosen = _choose(opened, hints)
    _require(opened, chosen, partial=partial)
    try:
        main = chosen.get("air_temperature", next(iter(chosen.values())))
        when = time_axis(opened, main)
        point, place, repairs = at_point(
            opened[list(chosen.values())], when.dimension, hints
        )
        raw = {
            quantity: _series(point[name], when.dimension)
            for quantity, name in chosen.items()
        }
    except _BROKEN as error:
        if isinstance(error, WeatherError):
            raise
        raise WeatherError(
            f"the NetCDF file is cut off or damaged ({str(error)[:80]}); get it again"
        ) from error
    values: dict[str, FloatArray] = {}
    columns: dict[str, str] = {}
    monthly = when.step in ("month", "normals")
    for quantity, given in raw.items():
        name = chosen[quantity]
        units = str(opened[name].attrs.get("units", ""))
        if hints.temperature_unit and quantity == "air_temperature":
            units = hints.temperature_unit
        converted, why = in_series_units(
            quantity, name, given, units, hours=when.hours, monthly=monthly
        )
        repairs += why
        if (
            quantity in ("precipitation", "shortwave")
            and name not in from_start
            and _accumulated(units, when.step)
        ):
            converted, running = _from_each_stamp(when, converted)
            if running:
                repairs.append(repair(RepairKind.RUNNING_SUMS, variable=name))
        values[quantity] = converted
        columns[quantity] = f"{name} ({units or 'no units'})"
    east, north = values.pop("eastward_wind", None), values.pop("northward_wind", None)
    columns.pop("northward_wind", None)
    if east is not None and north is not None and "wind_speed" not in values:
        values["wind_speed"] = np.hypot(east, north)
    if hints.utc_offset is not None:
        place["utc_offset"] = hints.utc_offset
    return Parsed(
        when.time, values, when.step, place, [*when.repairs, *repairs], columns
    )


def _accumulated(units: str, step: str) -> bool:
    return step == "hour" and units.replace(" ", "").lower() in (
        *("m", "jm-2", "jm**-2", "j/m2", "mm"),
    )


def _from_each_stamp(when: Axis, values: FloatArray) -> tuple[FloatArray, bool]:
    """Move what was summed up to each stamp to the row that begins a step before it.

    What has no such row, as after a gap, is left out.
    """
    order = np.argsort(when.time, kind="stable")
    time = when.time[order]
    amounts, running = hours_of_running_sums(time, values[order])
    steps = np.diff(time) / np.timedelta64(1, "h")
    follows = (steps > 0.0) & (steps < 1.5 * when.hours)
    moved = np.full(values.size, np.nan)
    moved[order[:-1]] = np.where(follows, amounts[1:], np.nan)
    return moved, running


def _series(variable: xr.DataArray, dimension: str) -> FloatArray:
    extra = [str(dim) for dim in variable.dims if dim != dimension]
    if "expver" in extra:
        # Final analyses first, the preliminary ones only where those are missing.
        first = variable.isel(expver=0)
        for index in range(1, variable.sizes["expver"]):
            first = first.fillna(variable.isel(expver=index))
        variable = first
        extra.remove("expver")
    for dim in extra:
        if variable.sizes[dim] != 1:
            raise WeatherError(
                f"variable {variable.name} has {variable.sizes[dim]} values along "
                f"'{dim}'; choose one of them and write that to a file"
            )
        variable = variable.isel({dim: 0})
    if dimension not in variable.dims:
        raise WeatherError(f"variable {variable.name} does not change with time")
    values: FloatArray = variable.to_numpy().astype(np.float64)
    return values


def quantity_of(name: str, variable: xr.DataArray) -> str | None:
    """Say what a variable is, from its parameter number, standard name, name, label."""
    attrs = variable.attrs
    low = name.lower()
    label = str(attrs.get("long_name", "")).lower()
    found = VARIABLE_NAMES.get(low)
    number = attrs.get("GRIB_paramId", attrs.get("param_id"))
    if found is None and number is not None:
        found = GRIB_PARAMETERS.get(int(number))
    if found is None:
        found = STANDARD_NAMES.get(str(attrs.get("standard_name", "")))
        if found is not None and _SKIP.search(low):
            return None
    if found is None:
        found = next(
            (q for pattern, q in LONG_NAMES if re.search(pattern, label)), None
        )
    if found not in ("air_temperature", "relative_humidity", "wind_speed"):
        return found
    methods = str(attrs.get("cell_methods", "")).lower()
    extreme = next((w for w in ("maximum", "minimum") if w in methods), None)
    if extreme is None and found == "air_temperature":
        extreme = next(
            (w for w in ("maximum", "minimum") if re.search(rf"\b{w}\b", label)), None
        )
    if extreme is None:
        return found
    return f"daily_{extreme}" if found == "air_temperature" else None


def _choose(opened: xr.Dataset, hints: Hints) -> dict[str, str]:
    given = dict(hints.columns)
    for name in given.values():
        if name not in opened.data_vars:
            raise WeatherError(
                f"the file has no variable '{name}'; it has "
                f"{', '.join(map(str, opened.data_vars))[:200]}"
            )
    found: dict[str, list[str]] = {}
    for key, variable in opened.data_vars.items():
        quantity = quantity_of(str(key), variable)
        if quantity is not None and variable.ndim > 0:
            found.setdefault(quantity, []).append(str(key))
    chosen = {quantity: names[0] for quantity, names in found.items()}
    for quantity in ("air_temperature", "relative_humidity"):
        if len(found.get(quantity, ())) > 1 and quantity not in given:
            raise WeatherError(
                f"several variables may be the {quantity.replace('_', ' ')}: "
                f"{', '.join(found[quantity])}; choose one with "
                f"--column {quantity}=NAME"
            )
    return {**chosen, **given}


def _require(opened: xr.Dataset, chosen: dict[str, str], *, partial: bool) -> None:
    names = ", ".join(map(str, opened.data_vars))[:160] or "none"
    has_temperature = "air_temperature" in chosen or (
        {"daily_maximum", "daily_minimum"} <= set(chosen)
    )
    has_humidity = bool(set(chosen) & set(HUMIDITY_MEASURES))
    if (has_temperature and has_humidity) or (
        partial and (has_temperature or has_humidity)
    ):
        return
    if has_temperature:
        raise WeatherError(
            f"the file has temperature but no humidity (variables: {names}); relative "
            "humidity, dew point, vapour pressure or specific humidity is needed: get "
            "it too and give both files, joined by +"
        )
    what = "air temperature" if has_humidity else "weather"
    raise WeatherError(
        f"no variable is recognised as {what} (variables: {names}); both temperature "
        "and humidity are needed: say "
        "--column air_temperature=NAME"
    )


FORMAT = Format("NetCDF", is_netcdf, read_netcdf)
