"""Open gridded weather as a grid series: one file or many, whatever their layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.grid.accumulated import of_each_step
from emcforecast.grid.chunks import Chunks
from emcforecast.grid.combine import Whole, combine, on_grid_of
from emcforecast.grid.heights import find_height
from emcforecast.grid.humidity import Raw, humidity, in_units
from emcforecast.grid.names import (
    ELEVATION,
    SEA_LEVEL_PRESSURE,
    check_given,
    choose,
    require_air,
)
from emcforecast.grid.origin import origin_of_files
from emcforecast.grid.pieces import Piece, read_piece
from emcforecast.grid.series import ELEVATION as ELEVATION_ATTRS
from emcforecast.grid.series import STEPS, check_grid
from emcforecast.grid.sources import expanded, open_raw, require
from emcforecast.language import _
from emcforecast.weather.formats.cf_units import Conversion
from emcforecast.weather.formats.content import whole
from emcforecast.weather.formats.parsed import NEED_PRESSURE, PREFERRED
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    counted,
    repair,
    repairs_to_text,
)
from emcforecast.weather.series import TIME_ATTRS, cf_attributes

Height = float | str | Path | xr.DataArray | xr.Dataset
Paths = str | Path | xr.Dataset | Iterable[str | Path | xr.Dataset]
_SERVING = ("precipitation", "wind_speed", "shortwave")


def open_grid(
    paths: Paths,
    *,
    variables: Mapping[str, str] | None = None,
    height: Height | None = None,
    chunks: Chunks = "auto",
    member: int | None = None,
    kind: str | None = None,
) -> xr.Dataset:
    """Open gridded temperature and humidity lazily as a grid series.

    Parameters
    ----------
    paths : path, Dataset, or several
        NetCDF, zarr or GRIB, of hours to months; temperature, humidity and pressure in
        one file or each in its own, each of them in one piece or many. Patterns with
        ``*`` are written out. A dataset that is open already serves too.
    variables : mapping, optional
        Names of variables by quantity where they do not say it themselves, such as
        ``{"air_temperature": "T_scr"}``.
    height : float, path or DataArray, optional
        Height of the ground above the sea (m), where the files hold none.
    chunks : as xarray has them
        By dims of the file, or ``time``, ``latitude``, ``longitude``.
    member : int, optional
        Which member of an ensemble, from 0.
    kind : str, optional
        What the weather is, one of `emcforecast.grid.series.GRID_KINDS`; otherwise told
        by the files.

    Returns
    -------
    Dataset
        As `emcforecast.grid.series` says; nothing but a sample is read.

    Raises
    ------
    WeatherError
        For what is no grid, and for what cannot be told from the files.
    """
    require("dask", "grid")
    with whole(_("the grid")):
        return _grid(paths, dict(variables or {}), height, chunks, member, kind)


def _grid(
    paths: Paths,
    given: Mapping[str, str],
    height: Height | None,
    chunks: Chunks,
    member: int | None,
    kind: str | None,
) -> xr.Dataset:
    files, shown = _opened(paths, given.values())
    check_given(given, files)
    pieces: dict[str, list[Piece]] = {}
    names: list[str] = []
    repairs: list[Repair] = []
    for ds in files:
        names += [str(name) for name in ds.data_vars]
        for quantity, name in choose(ds, given).items():
            try:
                piece = read_piece(ds, quantity, name, chunks, member)
            except WeatherError:
                if quantity in _needed(given):
                    raise
                repairs.append(_left_out(name, "shape"))
                continue
            pieces.setdefault(quantity, []).append(piece)
    require_air(pieces, names)
    out, found = _series(pieces, height)
    out.attrs.update(origin_of_files(files, shown, out.attrs["step"], kind))
    out.attrs["repairs"] = repairs_to_text(dict.fromkeys([*repairs, *found]))
    check_grid(out)
    return out


def _opened(
    paths: Paths,
    also: Iterable[str],
) -> tuple[list[xr.Dataset], list[str]]:
    given = [paths] if isinstance(paths, str | Path | xr.Dataset) else list(paths)
    files: list[xr.Dataset] = []
    shown: list[str] = []
    for item in given or [""]:
        if isinstance(item, xr.Dataset):
            files.append(item)
            shown.append("a dataset")
            continue
        for path in expanded(item) if item else expanded([]):
            files += open_raw(path, list(also))
            shown.append(path.name)
    return files, shown


def _needed(given: Mapping[str, str]) -> set[str]:
    return {"air_temperature", *PREFERRED, *given}


def _left_out(name: str, why: str) -> Repair:
    return repair(RepairKind.VARIABLE_LEFT_OUT, variable=name, why=why)


def _series(
    pieces: Mapping[str, list[Piece]], height: Height | None
) -> tuple[xr.Dataset, list[Repair]]:
    temperature, repairs = _temperature(pieces)
    measure = next(name for name in PREFERRED if name in pieces)
    humid = combine(pieces[measure])
    repairs += humid.repairs
    like = temperature.raw.values
    step = temperature.axis.step
    if humid.axis.step != step:
        raise WeatherError(
            _(
                "temperature is given by the {step} and humidity by the "
                "{step2}; give both of one step",
                step=step,
                step2=humid.axis.step,
            )
        )
    values = on_grid_of(like, humid.raw.values, humid.name)
    pressure, at_sea_level, more = _pressure(pieces, measure, like)
    repairs += more
    times = np.intersect1d(temperature.axis.time, humid.axis.time)
    if pressure is not None:
        times = np.intersect1d(times, pressure.values["time"].to_numpy())
    if not times.size:
        raise WeatherError(
            _(
                "temperature and humidity (or pressure) have no time in "
                "common; give files of the same period"
            )
        )
    alone = temperature.axis.time.size + humid.axis.time.size - 2 * times.size
    repairs += counted(RepairKind.TIMES_UNPAIRED, alone)
    if pressure is not None:
        pressure = Raw(_at(pressure.values, times), pressure.conversion)
    warm = Raw(_at(like, times), temperature.raw.conversion)
    elevation = find_height(pieces.get(ELEVATION, []), height, like)
    damp, more = humidity(
        warm,
        measure,
        Raw(_at(values, times), humid.raw.conversion),
        pressure,
        elevation,
        at_sea_level=at_sea_level,
    )
    repairs += more
    found = {
        "air_temperature": in_units(warm, "air_temperature"),
        "relative_humidity": damp,
    }
    for name in _SERVING:
        held, more = _serving(pieces, name, like, step)
        repairs += more
        if held is not None:
            found[name] = held.reindex(time=times)
    out = xr.Dataset(attrs={"step": step})
    for name, array in found.items():
        out[name] = array.transpose(*like.dims).assign_attrs(cf_attributes(name, step))
    if elevation is not None:
        out[ELEVATION] = elevation.assign_attrs(ELEVATION_ATTRS)
    out["time"].attrs = dict(TIME_ATTRS)
    return out, repairs


def _temperature(pieces: Mapping[str, list[Piece]]) -> tuple[Whole, list[Repair]]:
    if "air_temperature" in pieces:
        whole = combine(pieces["air_temperature"])
        return whole, list(whole.repairs)
    warm, cold = (combine(pieces[name]) for name in ("daily_maximum", "daily_minimum"))
    if not np.array_equal(warm.axis.time, cold.axis.time):
        raise WeatherError(_("daily highs and lows are of different times; give both"))
    low = on_grid_of(warm.raw.values, cold.raw.values, cold.name)
    middle = 0.5 * (
        in_units(warm.raw, "air_temperature")
        + in_units(Raw(low, cold.raw.conversion), "air_temperature")
    )
    why = repair(RepairKind.MEAN_OF_EXTREMES, step=warm.axis.step)
    whole = Whole(
        Raw(middle, Conversion("c")), warm.axis, warm.name, "degC", warm.stamps, ()
    )
    return whole, [*warm.repairs, *cold.repairs, why]


def _pressure(
    pieces: Mapping[str, list[Piece]], measure: str, like: xr.DataArray
) -> tuple[Raw | None, bool, list[Repair]]:
    """Return pressure on the grid, whether it is that of the sea, and decisions."""
    if measure not in NEED_PRESSURE:
        return None, False, []
    for name in ("pressure", SEA_LEVEL_PRESSURE):
        if name in pieces:
            whole = combine(pieces[name])
            values = on_grid_of(like, whole.raw.values, whole.name)
            return (
                Raw(values, whole.raw.conversion),
                name == SEA_LEVEL_PRESSURE,
                list(whole.repairs),
            )
    return None, False, []


def _at(values: xr.DataArray, times: np.ndarray) -> xr.DataArray:
    own = values["time"].to_numpy()
    if np.array_equal(own, times):
        return values
    return values.isel(time=np.searchsorted(own, times))


def _serving(
    pieces: Mapping[str, list[Piece]], name: str, like: xr.DataArray, step: str
) -> tuple[xr.DataArray | None, list[Repair]]:
    """Return rain, wind or sun, or None with the reason where it cannot be used."""
    winds = ("eastward_wind", "northward_wind")
    parts = [name] if name in pieces else []
    if name == "wind_speed" and not parts and all(wind in pieces for wind in winds):
        parts = list(winds)
    done: list[xr.DataArray] = []
    repairs: list[Repair] = []
    for part in parts:
        held = pieces[part][0].name
        try:
            whole = combine(pieces[part])
            values = on_grid_of(like, whole.raw.values, whole.name)
        except WeatherError:
            return None, [_left_out(held, "unit or grid")]
        if whole.axis.step != step:
            return None, [_left_out(held, "step")]
        bounds = name if len(parts) == 1 else ""
        array = in_units(Raw(values, whole.raw.conversion), bounds)
        if name in ("precipitation", "shortwave"):
            array, more = of_each_step(array, whole, STEPS[step])
            repairs += more
        repairs += whole.repairs
        done.append(array)
    if len(done) == 2:
        wind: xr.DataArray = xr.apply_ufunc(
            np.hypot, *done, dask="parallelized", output_dtypes=[np.float64]
        )
        return wind, repairs
    return (done[0] if done else None), repairs
