"""Two maps compared: two periods of one model, two files, or several models."""

from collections.abc import Sequence

import numpy as np
import xarray as xr

from emcforecast.errors import InputError
from emcforecast.grid.series import spatial_dims
from emcforecast.language import _

COMPARED = (
    *("emc", "emc_p50", "emc_lowest_p50", "board_mean"),
    *("lowest_p50", "year_lowest_p50", "share_of_years", "days_to_p50", "share_dried"),
)
"""Variables whose difference is worth having."""
ALIGNED = 1e-4
"""Degrees by which the places of two grids may differ and still be the same."""


def change_between(
    first: xr.Dataset, second: xr.Dataset, labels: Sequence[str]
) -> xr.Dataset:
    """Return two maps side by side, and the second less the first.

    Parameters
    ----------
    first, second : Dataset
        Maps of the same cells and question; lazy ones stay so.
    labels : sequence of str
        What to call the two, such as "1991 to 2020".

    Returns
    -------
    Dataset
        Every variable over ``period``; the difference of the middles under the name
        with ``_change``; ``year_lowest_change_spread``, the standard deviation over
        the years of both periods, against which a change is to be judged.
    """
    period = xr.DataArray(list(labels), dims="period", name="period")
    both = xr.concat(
        [first, second.assign_coords(first.coords)],
        period,
        coords="minimal",
        compat="override",
        combine_attrs="drop_conflicts",
        join="override",
    )
    for name in COMPARED:
        if name not in both:
            continue
        change = second[name].variable - first[name].variable
        both[f"{name}_change"] = change
        both[f"{name}_change"].attrs = {
            "units": first[name].attrs["units"],
            "long_name": f"change: {first[name].attrs['long_name']}",
        }
    if "year_lowest_spread" in both:
        spread = both["year_lowest_spread"]
        name = "year_lowest_change_spread"
        both[name] = np.sqrt((spread**2).mean("period"))
        both[name].attrs = spread.attrs
    both.attrs.update(_origins([first, second]))
    both.attrs["periods"] = "; ".join(labels)
    return both


def over_models(changes: Sequence[xr.Dataset], names: Sequence[str]) -> xr.Dataset:
    """Return the changes of several models, with their mean and their ends.

    Parameters
    ----------
    changes : sequence of Dataset
        From `change_between`, on the same cells.
    names : sequence of str
        Of the models.

    Returns
    -------
    Dataset
        Every variable over ``model``; of each change also ``_mean``, ``_least`` and
        ``_most`` over the models.
    """
    model = xr.DataArray(list(names), dims="model", name="model")
    first = changes[0]
    whole = xr.concat(
        [first, *(other.assign_coords(first.coords) for other in changes[1:])],
        model,
        coords="minimal",
        compat="override",
        combine_attrs="drop_conflicts",
        join="override",
    )
    for name in [str(n) for n in whole.data_vars if str(n).endswith("_change")]:
        for how, found in (
            ("mean", whole[name].mean("model")),
            ("least", whole[name].min("model")),
            ("most", whole[name].max("model")),
        ):
            whole[f"{name}_{how}"] = found
            whole[f"{name}_{how}"].attrs = whole[name].attrs | {
                "long_name": f"{whole[name].attrs['long_name']}, {how} of the models"
            }
    whole.attrs.update(_origins(changes))
    whole.attrs["models"] = "; ".join(names)
    return whole


def _origins(answers: Sequence[xr.Dataset]) -> dict[str, str]:
    """Say of every grid where it is from and under what terms, each once."""
    found = {}
    for name in ("source", "licence", "attribution"):
        said = [str(answer.attrs.get(name, "")) for answer in answers]
        parts = [part for text in said for part in text.split("; ") if part]
        if parts:
            found[name] = "; ".join(dict.fromkeys(parts))
    return found


def on_cells_of(ds: xr.Dataset, other: xr.Dataset) -> xr.Dataset:
    """Return a grid series on the cells of another, the nearest cell for each.

    Parameters
    ----------
    ds : Dataset
        To be brought over.
    other : Dataset
        Whose cells are kept.

    Raises
    ------
    InputError
        When it does not cover those cells, or has latitude and longitude in two
        dimensions other than the other's.
    """
    places = "latitude", "longitude"
    if all(
        ds[p].shape == other[p].shape
        and np.allclose(ds[p], other[p], atol=ALIGNED, equal_nan=True)
        for p in places
    ):
        dims = dict(zip(spatial_dims(ds), spatial_dims(other), strict=True))
        renamed = {old: new for old, new in dims.items() if old != new}
        return ds.rename(renamed).assign_coords({p: other[p] for p in places})
    if any(grid[p].ndim != 1 for grid in (ds, other) for p in places):
        raise InputError(
            _(
                "the grids to compare have other cells, and latitude and "
                "longitude in two dimensions; bring them to one grid first"
            )
        )
    chosen = {}
    for p in places:
        here, wanted = ds[p].to_numpy(), other[p].to_numpy()
        nearest = np.abs(here[:, None] - wanted).argmin(axis=0)
        width = np.abs(np.diff(here)).max() if here.size > 1 else np.inf
        if np.abs(here[nearest] - wanted).max() > width:
            raise InputError(
                _(
                    "the grid to compare covers {p} {min:g} to {max:g}, not "
                    "{min2:g} to {max2:g}; cut the first grid to it",
                    p=p,
                    min=here.min(),
                    max=here.max(),
                    min2=wanted.min(),
                    max2=wanted.max(),
                )
            )
        chosen[ds[p].dims[0]] = xr.DataArray(nearest, dims=other[p].dims)
    own = {str(d) for p in places for d in ds[p].dims}
    moved = ds.drop_vars([p for p in places if p not in own])
    moved = moved.isel(chosen)
    return moved.assign_coords({p: other[p] for p in places})
