"""Grids made of the demonstration weather, every cell a little different."""

from collections.abc import Callable

import numpy as np
import xarray as xr

from emcforecast.grid.series import PLACE_ATTRS, check_grid
from emcforecast.weather.read import demonstration
from emcforecast.weather.series import cf_attributes, make_series

MakeGrid = Callable[..., xr.Dataset]


def warmer(count: int) -> np.ndarray:
    """K by which each cell is warmer than the demonstration place."""
    return 0.7 * np.arange(count)


def grid_of(
    rows: int = 2,
    columns: int = 2,
    *,
    days: int = 730,
    step: str = "hour",
    variables: tuple[str, ...] = (),
    masked: tuple[tuple[int, int], ...] = (),
) -> xr.Dataset:
    """Return a grid series; the first cell is the demonstration weather."""
    weather = demonstration().isel(time=slice(0, 24 * days))
    names = variables or tuple(map(str, weather.data_vars))
    frame = weather[list(names)].drop_attrs(deep=False)
    if step in ("day", "month", "climatology"):
        spans = frame.to_dataframe().resample("1D" if step == "day" else "MS")
        table = spans.mean()
        if "precipitation" in frame:
            table["precipitation"] = spans["precipitation"].sum()
        frame = table.to_xarray()
    if step == "climatology":
        frame = frame.groupby("time.month").mean().rename(month="time")
        nominal = np.arange("2001-01", "2002-01", dtype="datetime64[M]")
        frame["time"] = nominal.astype("datetime64[ns]")
    if step == "3-hour":
        frame = frame.isel(time=slice(0, None, 3))
    plus = warmer(rows * columns).reshape(rows, columns)
    data = {}
    for name in names:
        values = frame[name].to_numpy()[:, None, None] + 0.0 * plus
        if name == "air_temperature":
            values = values + plus
        for r, c in masked:
            values[:, r, c] = np.nan
        attrs = cf_attributes(name, "hour")
        data[name] = (("time", "latitude", "longitude"), values, attrs)
    place = {
        "latitude": 47.0 - 0.5 * np.arange(rows),
        "longitude": 13.0 + 20.0 * np.arange(columns),
    }
    grid = xr.Dataset(
        data,
        coords={"time": frame["time"].to_numpy()}
        | {k: (k, v, PLACE_ATTRS[k]) for k, v in place.items()},
        attrs={
            "step": step,
            "kind": "normals" if step == "climatology" else "demonstration",
            "source": "Kalvenau, a cell at a time",
            "licence": "CC0-1.0",
            "attribution": "Invented weather",
            "repairs": "[]",
        },
    )
    check_grid(grid)
    return grid


def point_of(grid: xr.Dataset, row: int, column: int) -> xr.Dataset:
    """Return one cell of an hourly or monthly grid as the weather series it is."""
    cell = grid.isel(latitude=row, longitude=column)
    step = str(grid.attrs["step"])
    return make_series(
        cell["time"].to_numpy(),
        {str(name): cell[name].to_numpy() for name in cell.data_vars},
        step="month" if step == "climatology" else step,
        kind=str(grid.attrs["kind"]),
        source="a cell",
        latitude=float(cell["latitude"]),
        longitude=float(cell["longitude"]),
        utc_offset=float(np.round(float(cell["longitude"]) / 15.0)),
    )
