"""Amounts summed up to their stamp -> amounts of the step that begins there."""

from __future__ import annotations

import numpy as np
import xarray as xr

from emcforecast.grid.combine import Whole
from emcforecast.weather.formats.netcdf import is_accumulated
from emcforecast.weather.mend.running_sums import hours_of_running_sums
from emcforecast.weather.repairs import Repair, RepairKind, repair

LOOK = 240
"""Steps from which running sums are recognised."""


def of_each_step(
    values: xr.DataArray, whole: Whole, hours: float
) -> tuple[xr.DataArray, list[Repair]]:
    """Give each step the amount that falls in it, lazily.

    `values`: in series units, by stamp. Sums since midnight are taken apart; what was
    summed up to a stamp goes to the step before it, NaN where that is not a step long.
    Amounts whose intervals the file states stay where they are.
    """
    is_stated = any(r.kind is RepairKind.STAMPS_WITHIN for r in whole.axis.repairs)
    if hours > 6.0 or is_stated or not is_accumulated(whole.units, "hour"):
        return values, []
    found: list[Repair] = []
    stamps = whole.axis.time
    if hours == 1.0 and stamps.size > 48 and _is_running(values, stamps):
        clock = xr.DataArray(
            (stamps - stamps.astype("datetime64[D]")) // np.timedelta64(1, "h"),
            dims="time",
        )
        since = (values - values.shift(time=1)).clip(min=0.0)
        values = values.where(clock == 1, since)
        found.append(repair(RepairKind.RUNNING_SUMS, variable=whole.name))
    length = np.timedelta64(round(hours * 3600), "s")
    follows = np.append(np.diff(stamps) == length, False)
    ahead = values.shift(time=-1)
    moved = ahead.where(xr.DataArray(follows, dims="time"))
    return moved.transpose(*values.dims).assign_coords(time=stamps), found


def _is_running(values: xr.DataArray, stamps: np.ndarray) -> bool:
    """Look at the wettest or sunniest of some cells."""
    some = values.isel(time=slice(0, LOOK))
    space = [d for d in values.dims if d != "time"]
    thin = {d: slice(None, None, max(1, values.sizes[d] // 3)) for d in space}
    some = some.isel(thin)
    held = some.to_numpy().reshape(some.sizes["time"], -1)
    known = np.isfinite(held).all(axis=0)
    if not known.any():
        return False
    cell = held[:, known][:, int(np.argmax(held[:, known].sum(axis=0)))]
    return hours_of_running_sums(stamps[: cell.size], cell)[1]
