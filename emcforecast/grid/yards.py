"""Many yards or stations at once: the cells of a grid nearest to them."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast import bounds
from emcforecast._types import FloatArray
from emcforecast.errors import InputError
from emcforecast.files import contents, unopened
from emcforecast.grid.series import spatial_dims
from emcforecast.language import _

EARTH_KM = 6371.0
COLUMNS = ("name", "latitude", "longitude")
LARGEST = 20_000_000
NEAR = 1.5
"""Widths of a cell within which its weather stands for a place."""


@dataclass(frozen=True)
class Yard:
    """A yard or station.

    Parameters
    ----------
    name : str
        What it is called.
    latitude, longitude : float
        Degrees north and east.
    """

    name: str
    latitude: float
    longitude: float


def read_places(path: Path) -> list[Yard]:
    """Read a table of places.

    Parameters
    ----------
    path : Path
        CSV with the columns name, latitude and longitude, in any order; others are
        left aside.

    Raises
    ------
    InputError
        For a missing column or a number that cannot be, with its line.
    """
    try:
        text = contents(path, largest=LARGEST).decode("utf-8-sig")
    except OSError as error:
        raise InputError(unopened(path, error)) from error
    except UnicodeDecodeError as error:
        raise InputError(
            _("{path}: is not text in UTF-8; save it so", path=path)
        ) from error
    table = csv.DictReader(io.StringIO(text))
    heads = {head.strip().lower(): head for head in table.fieldnames or []}
    lacking = [name for name in COLUMNS if name not in heads]
    if lacking:
        raise InputError(
            _(
                "{path}: has no column {lacking}; it needs {columns}",
                path=path,
                lacking=lacking[0],
                columns=", ".join(COLUMNS),
            )
        )
    yards = []
    for number, row in enumerate(table, 2):
        spot = []
        for name in COLUMNS[1:]:
            given = str(row[heads[name]] or "").strip()
            try:
                value = float(given)
            except ValueError:
                value = float("nan")
            if not bounds.within(value, bounds.PLACE[name]):
                raise InputError(
                    _(
                        "{path}: line {number}: {name} {given!r} is not a number "
                        "within {allowed}",
                        path=path,
                        number=number,
                        name=name,
                        given=given,
                        allowed=bounds.spoken(bounds.PLACE[name]),
                    )
                )
            spot.append(value)
        yards.append(Yard(str(row[heads["name"]] or f"line {number}").strip(), *spot))
    if not yards:
        raise InputError(_("{path}: holds no places; add a line for each", path=path))
    return yards


def cells_at(ds: xr.Dataset, yards: Sequence[Yard]) -> xr.Dataset:
    """Return the cells of a grid series that are nearest to some yards.

    Parameters
    ----------
    ds : Dataset
        A grid series.
    yards : sequence of Yard
        Each within the grid.

    Returns
    -------
    Dataset
        A grid series of the dims ``yard`` and ``cell`` (of length 1), with the
        coordinates ``name`` and ``distance`` (km from yard to cell). Masked cells are
        passed over for the nearest that is not.

    Raises
    ------
    InputError
        When a yard lies outside the grid.
    """
    rows, columns = spatial_dims(ds)
    shape = xr.DataArray(
        np.zeros((ds.sizes[rows], ds.sizes[columns])), dims=(rows, columns)
    )
    north, east = (
        (shape + ds[p].reset_coords(drop=True).compute()).to_numpy()
        for p in ("latitude", "longitude")
    )
    some = np.linspace(0, ds.sizes["time"] - 1, 3).astype(int)
    air = ds["air_temperature"].isel(time=some).notnull().any("time")
    known = air.transpose(rows, columns).to_numpy() & np.isfinite(north + east)
    listed = ds["latitude"].ndim == 2 and 1 in north.shape
    width = _apart_km(north, east) if listed else _width_km(north, east)
    index, distance = [], []
    for yard in yards:
        km = _distance_km(yard, north, east)
        nearest = int(np.nanargmin(np.where(known, km, np.inf)))
        found = float(km.ravel()[nearest])
        if found > NEAR * width:
            raise InputError(
                _(
                    "{yard}: the nearest cell with weather is {found:.0f} "
                    "km away, and a cell is {width:.0f} km wide; leave it out or "
                    "give a grid that holds it",
                    yard=yard.name,
                    found=found,
                    width=width,
                )
            )
        index.append(np.unravel_index(nearest, north.shape))
        distance.append(found)
    r, c = (np.array([i[k] for i in index]) for k in (0, 1))
    at = {rows: xr.DataArray(r, dims="yard"), columns: xr.DataArray(c, dims="yard")}
    picked = ds.drop_vars(list(ds.coords.keys() - {"time"})).isel(at)
    picked = picked.expand_dims(cell=1, axis=-1)
    weather = {n: v.dims for n, v in picked.data_vars.items()}
    for name, dims in weather.items():
        order = ("time", "yard", "cell") if "time" in dims else ("yard", "cell")
        picked[name] = picked[name].transpose(*order)
    return picked.assign_coords(
        latitude=(("yard", "cell"), north[r, c][:, None], ds["latitude"].attrs),
        longitude=(("yard", "cell"), east[r, c][:, None], ds["longitude"].attrs),
        name=("yard", [yard.name for yard in yards]),
        distance=("yard", np.array(distance), {"units": "km"}),
    )


def _distance_km(yard: Yard, north: FloatArray, east: FloatArray) -> FloatArray:
    """Great-circle distance (haversine)."""
    a, b = np.radians(yard.latitude), np.radians(north)
    over = np.radians(east - yard.longitude)
    half = np.sin(0.5 * (b - a)) ** 2 + np.cos(a) * np.cos(b) * np.sin(0.5 * over) ** 2
    result: FloatArray = 2.0 * EARTH_KM * np.arcsin(np.sqrt(np.minimum(half, 1.0)))
    return result


def _apart_km(north: FloatArray, east: FloatArray) -> float:
    """Usual distance from a cell of a list to the nearest other one."""
    from scipy.spatial import cKDTree

    known = np.isfinite(north + east)
    a, b = np.radians(north[known]), np.radians(east[known])
    spots = np.stack([np.cos(a) * np.cos(b), np.cos(a) * np.sin(b), np.sin(a)], axis=-1)
    spots = np.unique(spots, axis=0)
    if len(spots) < 2:
        return np.inf
    distances, _ = cKDTree(spots).query(spots, k=[2])
    straight = float(np.median(distances))
    return 2.0 * EARTH_KM * float(np.arcsin(min(0.5 * straight, 1.0)))


def _width_km(north: FloatArray, east: FloatArray) -> float:
    """Width of the widest usual cell, km."""
    steps = [0.0]
    for axis in (0, 1):
        if north.shape[axis] > 1:
            up = np.diff(north, axis=axis)
            over = (np.diff(east, axis=axis) + 180.0) % 360.0 - 180.0
            steps.append(float(np.nanmedian(np.hypot(up, over))))
    return float(np.radians(max(steps)) * EARTH_KM) or np.inf
