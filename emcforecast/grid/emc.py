"""Equilibrium moisture content outdoors in every cell of a grid, in one pass."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.ensemble.months import MONTH, WHOLE_MONTH
from emcforecast.ensemble.percentiles import over_years_of_many
from emcforecast.forecast.tabular import of_wood
from emcforecast.grid.cell_weather import require_whole_years
from emcforecast.grid.floor import place_of_cells, select_years, weather_attributes
from emcforecast.grid.series import STEPS, check_grid, spatial_dims
from emcforecast.grid.variables import OVER, MapVariable
from emcforecast.physics.sorption import add_by_slot
from emcforecast.weather.series import ONE_YEAR_KINDS

HOUR = np.timedelta64(1, "h")
OF_MEANS = ("day", "month", "climatology")
"""Steps whose temperature and humidity are means: EMC of means, not mean EMC."""
OF_MONTHS = ("month", "climatology")


@dataclass(frozen=True)
class _Slots:
    """Months of some rows of a record, by the clocks of all cells.

    Parameters
    ----------
    of_row : ndarray of int
        Slot of every row and of the rows that shifts reach, before and after.
    first : int
        Month since 1970 of slot 0.
    count : int
        Slots.
    """

    of_row: IntArray
    first: int
    count: int


def emc_grid(
    ds: xr.Dataset,
    *,
    years: tuple[int, int] | None = None,
    utc_offset: float | None = None,
) -> xr.Dataset:
    """Work out the equilibrium moisture content outdoors, in every cell of a grid.

    Parameters
    ----------
    ds : Dataset
        A grid series (`emcforecast.grid.series`), in whatever chunks.
    years : (int, int), optional
        First and last year to use, UTC.
    utc_offset : float, optional
        Local standard time minus UTC, h; longitude/15 of each cell when left out.

    Returns
    -------
    Dataset
        Lazy (dask), over ``month`` and the grid's own dims, % of oven-dry mass: ``emc``
        (mean); over the years ``emc_p10`` … ``p90`` of the month's mean, and, from
        hours to days, ``emc_lowest_p10`` … ``p90`` of the lowest single value in the
        month. NaN where masked.

    Raises
    ------
    ContractError
        When it is no grid series.
    InputError
        For years that are not there, and less than a whole year.

    Notes
    -----
    Each chunk of the store is read once, whatever its shape, and only sums by month
    are kept of it. Of daily and monthly means it is the EMC of the means, as published
    tables give it.
    """
    ds = select_years(ds, years)
    check_grid(ds)
    require_whole_years(ds["time"].to_numpy(), ds.attrs["step"])
    return _finished(ds, *_by_month(ds.chunk(), utc_offset), utc_offset)


def _by_month(ds: xr.Dataset, utc_offset: float | None) -> tuple[Any, IntArray, Any]:
    """Add up each chunk by month: dask array (3, slots, rows, columns), months."""
    import dask.array as da

    rows, columns = spatial_dims(ds)
    air = xr.unify_chunks(ds["air_temperature"], ds["relative_humidity"])
    t, h = (array.transpose("time", rows, columns).data for array in air)
    times, step = ds["time"].to_numpy(), str(ds.attrs["step"])
    offset = place_of_cells(ds, 0.0 if step in OF_MEANS else utc_offset)[2].fillna(0.0)
    shifts = np.round(offset.to_numpy()).astype(np.int64)
    bounds = np.concatenate([[0], np.cumsum(t.chunks[0])])
    reach = int(shifts.min()), int(shifts.max())
    pieces = [_slots_of(times[a:b], reach, step) for a, b in pairwise(bounds)]
    months = np.concatenate([p.first + np.arange(p.count) for p in pieces])
    # In one piece: dask would look through a list of them for every chunk.
    add_up = partial(_add_up, pieces=pieces, reach=reach, step_hours=STEPS[step])
    sums = da.map_blocks(
        add_up,
        t,
        h,
        da.from_array(shifts[None], chunks=(1, *t.chunks[1:])),
        dtype=np.float64,
        chunks=((3,), tuple(p.count for p in pieces), *t.chunks[1:]),
        new_axis=0,
        meta=np.empty((0, 0, 0, 0)),
    )
    return sums, months, _full(months, step)


def _slots_of(times: TimeArray, reach: tuple[int, int], step: str) -> _Slots:
    """Months of some rows, of hours and days before and after included."""
    each = STEPS[step]
    if step in OF_MONTHS:
        months = times.astype("datetime64[M]").astype(np.int64)
    else:
        before = -(-abs(min(reach[0], 0)) // each)
        after = -(-max(reach[1], 0) // each)
        length = np.timedelta64(round(each * 60), "m")
        rows = np.arange(int(before), 0, -1), np.arange(1, int(after) + 1)
        whole = np.concatenate(
            [times[0] - rows[0] * length, times, times[-1] + rows[1] * length]
        )
        months = whole.astype("datetime64[M]").astype(np.int64)
    first = int(months.min())
    return _Slots(months - first, first, int(months.max()) - first + 1)


def _add_up(
    t: FloatArray,
    h: FloatArray,
    shifts: IntArray,
    *,
    pieces: Sequence[_Slots],
    reach: tuple[int, int],
    step_hours: float,
    block_info: Any = None,
) -> FloatArray:
    """Sum, count and least of a chunk, shape (3, slots, rows, columns)."""
    slots = pieces[block_info[0]["chunk-location"][0]]
    before = -(-abs(min(reach[0], 0)) // step_hours)
    shift = before + np.round(shifts[0].ravel() / step_hours)
    shape = t.shape[1:]
    found = add_by_slot(
        t.reshape(t.shape[0], -1),
        h.reshape(h.shape[0], -1),
        slots.of_row,
        shift.astype(np.int64),
        slots.count,
    )
    return np.stack(found).reshape(3, slots.count, *shape)


def _full(months: IntArray, step: str) -> FloatArray:
    """How many values a whole month has."""
    names = np.unique(months).astype("datetime64[M]")
    hours = (names + MONTH).astype("datetime64[h]") - names.astype("datetime64[h]")
    if step in OF_MONTHS:
        return np.ones(names.size)
    whole: FloatArray = hours.astype(np.float64) / STEPS[step]
    return whole


def _summarise(sums: FloatArray, *, months: IntArray, full: FloatArray) -> FloatArray:
    """Mean; ranges of the means; ranges of the least: (7, 12, rows, columns)."""
    order = np.argsort(months, kind="stable")
    names, first = np.unique(months[order], return_index=True)
    total = np.add.reduceat(sums[0][order], first, axis=0)
    count = np.add.reduceat(sums[1][order], first, axis=0)
    least = np.minimum.reduceat(sums[2][order], first, axis=0)
    whole = count >= WHOLE_MONTH * full[:, None, None]
    out = np.full((7, 12, *sums.shape[2:]), np.nan)
    for month in range(12):
        mine = np.flatnonzero(names % 12 == month)
        if not mine.size:
            continue
        good = whole[mine]
        known = np.where(good, count[mine], 0.0).sum(axis=0)
        summed = np.where(good, total[mine], 0.0).sum(axis=0)
        np.divide(summed, known, out=out[0, month], where=known > 0.0)
        means = np.where(good, total[mine] / np.maximum(count[mine], 1.0), np.nan)
        lows = np.where(good, least[mine], np.nan)
        out[1:4, month] = over_years_of_many(means)
        out[4:7, month] = over_years_of_many(lows)
    return out


def _finished(
    ds: xr.Dataset,
    sums: Any,
    months: IntArray,
    full: FloatArray,
    utc_offset: float | None,
) -> xr.Dataset:
    import dask.array as da

    rows, columns = spatial_dims(ds)
    packed = da.map_blocks(
        partial(_summarise, months=months, full=full),
        sums.rechunk({1: -1}),
        dtype=np.float64,
        chunks=((7,), (12,), *sums.chunks[2:]),
        meta=np.empty((0, 0, 0, 0)),
    )
    wanted = emc_variables(str(ds.attrs["step"]), str(ds.attrs["kind"]))
    names = ["emc", *(f"{n}_{p}" for n in ("emc", "emc_lowest") for p in OVER)]
    result = xr.Dataset(
        {
            v.name: (("month", rows, columns), packed[names.index(v.name)], v.attrs)
            for v in wanted
        },
        coords={
            "month": ("month", np.arange(1, 13), {"long_name": "month of the year"})
        },
    )
    kept = [str(c) for c in ds.coords if "time" not in ds[c].dims and c != "time"]
    return result.assign_coords({name: ds[name] for name in kept}).assign_attrs(
        {
            **weather_attributes(ds),
            "local_time": "UTC"
            if ds.attrs["step"] in OF_MEANS
            else "longitude/15"
            if utc_offset is None
            else f"UTC{utc_offset:+g} h",
        }
    )


def emc_variables(step: str, kind: str) -> list[MapVariable]:
    """Return the variables that a step of weather can give.

    Examples
    --------
    >>> [v.name for v in emc_variables("climatology", "normals")]
    ['emc']
    """
    basis = "of mean air" if step in OF_MEANS else "mean"
    found = [
        MapVariable(
            "emc",
            ("month",),
            of_wood(f"equilibrium moisture content outdoors, {basis}")
            | {"cell_methods": "time: mean"},
        )
    ]
    if step == "climatology" or kind in ONE_YEAR_KINDS:
        return found
    for name, words in OVER.items():
        title = f"equilibrium moisture content outdoors, month's mean, {words}"
        found.append(MapVariable(f"emc_{name}", ("month",), of_wood(title)))
    if step in OF_MONTHS:
        return found
    for name, words in OVER.items():
        title = f"lowest equilibrium moisture content of a {step} in the month, {words}"
        attrs = of_wood(title) | {"cell_methods": "time: minimum"}
        found.append(MapVariable(f"emc_lowest_{name}", ("month",), attrs))
    return found
