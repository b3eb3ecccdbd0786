"""NetCDF at one point -> a weather series; a series -> NetCDF and back, unchanged."""

from __future__ import annotations

import io
import json
import mmap
import os
from collections.abc import Collection
from math import prod
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
import xarray as xr
from xarray.coders import CFDatetimeCoder

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.formats.cf import (
    choose_variables,
    require_weather,
)
from emcforecast.weather.formats.cf_units import in_series_units
from emcforecast.weather.formats.netcdf_axes import Axis, at_point, time_axis
from emcforecast.weather.formats.parsed import Parsed, series_of_parsed
from emcforecast.weather.hints import Format, Hints
from emcforecast.weather.mend.running_sums import hours_of_running_sums
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

MOST_TIMES = 10_000_000
"""Values along one dimension: a century of every five minutes."""
LARGEST_CHUNK = 400_000_000
"""Bytes of one piece of a variable, read whole for any value in it."""


def is_netcdf(head: bytes, name: str) -> bool:
    """Recognise NetCDF-4 (HDF5) and classic NetCDF by their first bytes."""
    return head[:8] == b"\x89HDF\r\n\x1a\n" or head[:4] in (b"CDF\x01", b"CDF\x02")


def _require_whole(target: io.BytesIO | Path) -> None:
    """Fail on a damaged file before h5netcdf, which would complain at its end too."""
    import h5py  # type: ignore[import-untyped]

    def look(name: str, item: Any) -> None:
        list(item.attrs)
        if isinstance(item, h5py.Dataset):
            # Opening reads axes whole; reading a point takes a chunk at a time.
            axis = item.size if item.ndim == 1 else 0
            chunk = prod(item.chunks or (1,)) * item.dtype.itemsize
            if axis > MOST_TIMES or chunk > LARGEST_CHUNK:
                _refuse_greedy(name)

    with h5py.File(target, "r") as file:
        file.visititems(look)
    if isinstance(target, io.BytesIO):
        target.seek(0)


_HEAP = b"GCOL\x01\0\0\0"


def _require_heaps(data: bytes | mmap.mmap) -> None:
    """Refuse a heap whose entries do not follow one another.

    The HDF5 library goes round for ever on an entry without a length (HDF5 file format
    3.0, III.E: 16 bytes of index, references and length, then the entry in eights).
    """
    at = data.find(_HEAP)
    while at >= 0:
        end = min(at + int.from_bytes(data[at + 8 : at + 16], "little"), len(data))
        spot = at + 16
        while end - spot >= 16:
            length = int.from_bytes(data[spot + 8 : spot + 16], "little")
            is_entry = any(data[spot : spot + 2])
            need = 16 + -(-length // 8) * 8 if is_entry else length
            if not 16 <= need <= end - spot:
                raise WeatherError(
                    _("the NetCDF file is cut off or damaged; get it anew")
                )
            spot += need
        at = data.find(_HEAP, at + 8)


def _refuse_greedy(name: str) -> NoReturn:
    raise WeatherError(
        _(
            "'{name}' asks for more memory than weather of one place "
            "needs; cut your place and years out of the file first",
            name=name[:40],
        )
    )


def _open(source: bytes | Path) -> xr.Dataset:
    if isinstance(source, bytes):
        head, target = source[:8], io.BytesIO(source)
    else:
        with source.open("rb") as file:
            head = file.read(8)
        target = source  # type: ignore[assignment]
    # Classic files go through scipy, which pvlib brings along.
    engine = "h5netcdf" if head.startswith(b"\x89HDF") else "scipy"
    if engine == "h5netcdf":
        if isinstance(source, bytes):
            _require_heaps(source)
            _require_whole(target)
        else:
            require_sound(source)
    opened = xr.open_dataset(
        target, engine=engine, decode_times=False, mask_and_scale=True
    )
    for name, size in opened.sizes.items():
        if size > MOST_TIMES:
            opened.close()
            _refuse_greedy(str(name))
    return opened


def require_sound(path: Path, largest: int | None = None) -> None:
    """Refuse an HDF5 file that its library would stumble over or never end with.

    `largest`: bytes up to which all of it is looked through.
    """
    with path.open("rb") as file:
        if largest is None or path.stat().st_size <= largest:
            with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as held:
                _require_heaps(held)
    _require_whole(path)


def read_netcdf(data: bytes, hints: Hints) -> xr.Dataset:
    """Read NetCDF content at one point."""
    return _read(data, hints)


def read_netcdf_path(path: Path, hints: Hints) -> xr.Dataset:
    """Read a NetCDF file at one point without holding all of it in memory."""
    return _read(path, hints)


def _read(source: bytes | Path, hints: Hints) -> xr.Dataset:
    with _open(source) as opened:
        if is_own(opened):
            # Times of no real calendar are refused, never another kind of object.
            own = xr.decode_cf(opened, decode_times=CFDatetimeCoder(use_cftime=False))
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

    `partial` accepts temperature or humidity alone.
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

    `from_start`: variables whose amounts are of the step that begins at their time,
    where the usual ones are of the step that ends there.
    """
    chosen = choose_variables(opened, hints)
    require_weather(opened, chosen, partial=partial)
    main = chosen.get("air_temperature", next(iter(chosen.values())))
    when = time_axis(opened, main)
    point, place, repairs = at_point(
        opened[list(chosen.values())], when.dimension, hints
    )
    raw = {
        quantity: _series(point[name], when.dimension)
        for quantity, name in chosen.items()
    }
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
            and is_accumulated(units, when.step)
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


def is_accumulated(units: str, step: str) -> bool:
    """Tell whether amounts of hourly values are summed up to their stamp."""
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
        if variable.sizes["expver"] > 9:
            _refuse_greedy("expver")
        first = variable.isel(expver=0)
        for index in range(1, variable.sizes["expver"]):
            first = first.fillna(variable.isel(expver=index))
        variable = first
        extra.remove("expver")
    for dim in extra:
        if variable.sizes[dim] != 1:
            raise WeatherError(
                _(
                    "variable {variable} has {size} values along '{dim}'; choose "
                    "one of them and write that to a file",
                    variable=variable.name,
                    size=variable.sizes[dim],
                    dim=dim,
                )
            )
        variable = variable.isel({dim: 0})
    if dimension not in variable.dims:
        raise WeatherError(
            _("variable {variable} does not change with time", variable=variable.name)
        )
    values: FloatArray = variable.to_numpy().astype(np.float64)
    return values


FORMAT = Format("NetCDF", is_netcdf, read_netcdf)


def require_target(path: Path) -> None:
    """Refuse a file that cannot become a weather file, before anything is fetched."""
    if path.suffix.lower() != ".nc":
        raise WeatherError(
            _("{path}: weather is written as NetCDF; end its name in .nc", path=path)
        )
    folder = path.absolute().parent
    if not folder.is_dir() or not os.access(folder, os.W_OK):
        raise WeatherError(
            _(
                "{path}: the folder {folder} is not there or not open to "
                "you; name another",
                path=path,
                folder=folder,
            )
        )


def write_weather(ds: xr.Dataset, path: str | Path) -> None:
    """Write a weather series as NetCDF with CF names.

    The file is written whole or not at all. Raises `WeatherError` when it cannot be.
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
            _(
                "{target}: cannot be written ({reason}); name another file",
                target=target,
                reason=error.strerror or error,
            )
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
            _(
                "the file says it was written here but is damaged ({error}); "
                "fetch it again",
                error=error,
            )
        ) from error
