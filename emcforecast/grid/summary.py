"""What a whole map says in a few numbers: over its cells."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.ensemble.percentiles import LEVELS

OFTEN_ENOUGH = 0.5
"""Share of years from which on a cell counts as reaching a content."""


@dataclass(frozen=True)
class OverCells:
    """One value a cell, over the cells that have it.

    Parameters
    ----------
    low, middle, high : float
        Tenth, middle and ninetieth percentile; NaN where no cell has it.
    cells : int
        Cells that have it.
    """

    low: float
    middle: float
    high: float
    cells: int


@dataclass(frozen=True)
class PlaceOnMap:
    """What a map says of one place to store wood.

    Parameters
    ----------
    name, kind : str
        The place.
    lowest : OverCells
        Lowest of a middle year, % of oven-dry mass.
    month : int
        The month in which most cells have it; 0 where no cell has any.
    reached : dict of float to float
        Share of the cells that reach a content in at least half of the years.
    days : dict of float to OverCells
        Days from stacking to a content, middle of the years.
    change : OverCells or None
        Of the lowest, from the first period to the second.
    """

    name: str
    kind: str
    lowest: OverCells
    month: int
    reached: dict[float, float]
    days: dict[float, OverCells]
    change: OverCells | None = None


@dataclass(frozen=True)
class MapSummary:
    """What a map says in a few numbers.

    Parameters
    ----------
    rows, columns, cells : int
        Of the grid, and how many cells have an answer.
    places : tuple of PlaceOnMap
        Empty for EMC outdoors.
    emc : tuple of OverCells
        EMC outdoors by month, January first; empty for boards.
    emc_change : OverCells or None
        Of the year's mean EMC outdoors.
    """

    rows: int
    columns: int
    cells: int
    places: tuple[PlaceOnMap, ...] = ()
    emc: tuple[OverCells, ...] = ()
    emc_change: OverCells | None = None


def summarise(result: xr.Dataset) -> MapSummary:
    """Return what a map says over its cells.

    Parameters
    ----------
    result : Dataset
        From `emcforecast.floor_grid` or `emcforecast.grid.emc.emc_grid`, or compared
        by `emcforecast.grid.change`; of several models and periods the first.
    """
    ends = result["emc"].sizes
    rows, columns = (int(ends[d]) for d in result["emc"].dims[-2:])
    first = result.isel({d: 0 for d in ("model", "period") if d in result.dims})
    if "place" in result.dims:
        kinds = str(result.attrs["kinds"]).split(", ")
        places = tuple(
            _place(first.isel(place=k), result, k, kind) for k, kind in enumerate(kinds)
        )
        cells = max(place.lowest.cells for place in places)
        return MapSummary(rows, columns, cells, places)
    emc = tuple(over_cells(first["emc"].isel(month=m).to_numpy()) for m in range(12))
    change = None
    if "emc_change" in result:
        change = over_cells(_middle(result["emc_change"]).mean("month").to_numpy())
    return MapSummary(
        rows, columns, max(m.cells for m in emc), emc=emc, emc_change=change
    )


def _place(here: xr.Dataset, result: xr.Dataset, k: int, kind: str) -> PlaceOnMap:
    month = here["year_lowest_month"].to_numpy()
    known = month[np.isfinite(month)].astype(int)
    change = None
    if "year_lowest_p50_change" in result:
        whole = result["year_lowest_p50_change"].isel(place=k)
        change = over_cells(_middle(whole).to_numpy())
    reached, days = {}, {}
    if "share_of_years" in here:
        for target in here["target"].to_numpy():
            share = here["share_of_years"].sel(target=target).to_numpy()
            shown = share[np.isfinite(share)]
            reached[float(target)] = (
                float((shown >= OFTEN_ENOUGH).mean()) if shown.size else float("nan")
            )
    if "days_to_p50" in here:
        for mc in here["content"].to_numpy():
            days[float(mc)] = over_cells(here["days_to_p50"].sel(content=mc).to_numpy())
    return PlaceOnMap(
        str(here["place"].to_numpy()),
        kind,
        over_cells(here["year_lowest_p50"].to_numpy()),
        int(np.bincount(known).argmax()) if known.size else 0,
        reached,
        days,
        change,
    )


def _middle(change: xr.DataArray) -> xr.DataArray:
    return change.mean("model") if "model" in change.dims else change


def over_cells(values: FloatArray) -> OverCells:
    """Return the spread of one value a cell.

    Examples
    --------
    >>> over_cells(np.array([1.0, 2.0, np.nan, 3.0])).middle
    2.0
    """
    known = values[np.isfinite(values)]
    if not known.size:
        return OverCells(float("nan"), float("nan"), float("nan"), 0)
    low, middle, high = (float(v) for v in np.quantile(known, LEVELS))
    return OverCells(low, middle, high, int(known.size))
