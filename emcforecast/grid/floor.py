"""The lowest moisture of wood in every cell of a grid, lazily."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from emcforecast import __version__
from emcforecast._types import FloatArray
from emcforecast.errors import InputError
from emcforecast.grid.blocks import one_stretch_of_time
from emcforecast.grid.cell_weather import CellsWeather, require_whole_years
from emcforecast.grid.cells import work_out
from emcforecast.grid.question import GridQuestion, grid_question
from emcforecast.grid.series import check_grid, spatial_dims
from emcforecast.grid.variables import floor_coordinates, floor_variables
from emcforecast.language import _
from emcforecast.storage.drivers import Fallback, FallbackKind, fallbacks_to_text
from emcforecast.storage.setting_text import SettingsLike
from emcforecast.weather.series import CONVENTIONS, VARIABLES, origin_of
from emcforecast.wood.species import Species

CARRIED = ("retrieved", "repairs", "history")
DEGREES_AN_HOUR = 15.0


def floor_grid(
    ds: xr.Dataset,
    species: str | Species = "European larch",
    thickness: float | str = "27 mm",
    settings: SettingsLike = (),
    *,
    targets: float | Sequence[float] = (),
    stacked: str | None = None,
    years: tuple[int, int] | None = None,
    utc_offset: float | None = None,
) -> xr.Dataset:
    """Find the lowest moisture content a board reaches, in every cell of a grid.

    Parameters
    ----------
    ds : Dataset
        A grid series (`emcforecast.open_grid`, `emcforecast.grid.series`): hours,
        steps of several hours, days, months or a climatology.
    species : str or Species
        A wood's name, or a wood of the person's own.
    thickness : float or str
        mm, or text such as "27 mm" or "4/4".
    settings : Setting, str, mapping or sequence
        The places to work out; the usual outdoor, shed and indoor when left out.
    targets : float or sequence of float
        Moisture contents, %, whose share of years is wanted.
    stacked : str, optional
        Day of the year ("04-01") on which a green stack begins: days to 20 % and to
        the targets are added.
    years : (int, int), optional
        First and last year to use, UTC.
    utc_offset : float, optional
        Local standard time minus UTC, h; longitude/15 of each cell when left out.

    Returns
    -------
    Dataset
        Lazy (dask), over ``place``, ``month`` and the grid's own dims, in % of oven-dry
        mass: ``lowest_p10`` … ``p90`` (lowest of each month over the years),
        ``year_lowest_p10`` … ``p90``, ``year_lowest_month``, ``year_lowest_spread``
        (standard deviation over the years), ``emc`` and ``board_mean`` (means); with
        targets ``share_of_years``; with a day ``days_to_p10`` … ``p90`` and
        ``share_dried`` over ``content``. NaN where masked, where the weather lacks more
        than can be filled, and for ranges over a single year.

    Raises
    ------
    ContractError
        When it is no grid series.
    InputError
        For what cannot be asked, a species, place or parameter that is not known,
        years that are not there, and less than a whole year.

    Notes
    -----
    Every cell is one run of the engine behind `emcforecast.floor`, on the place as
    stated: cell and command agree. How far a place may differ from what is stated is
    left out. Time is brought into one chunk, cells into chunks small enough for the
    memory. Means over days and months are first made hours
    (`emcforecast.weather.mend.hours_from_means`); steps of some hours are bridged in
    temperature and vapour pressure.

    Examples
    --------
    >>> import xarray as xr  # doctest: +SKIP
    >>> floor_grid(open_grid("grid.nc"), settings="shed=loft")  # doctest: +SKIP
    """
    question = grid_question(
        species, thickness, settings,
        targets=targets, stacked=stacked, utc_offset=utc_offset,
    )  # fmt: skip
    return answer_grid(select_years(ds, years), question)


def select_years(ds: xr.Dataset, years: tuple[int, int] | None) -> xr.Dataset:
    """Return the part of a grid that lies in some years.

    Raises
    ------
    InputError
        When it has none of them, or is a climatology.
    """
    if years is None:
        return ds
    first, last = years
    if ds.attrs.get("step") == "climatology":
        raise InputError(_("a climatology has no years to choose from; leave them out"))
    held = ds["time"].dt.year.to_numpy()
    lacking = [year for year in (first, last) if year not in held]
    if first > last or lacking:
        raise InputError(
            _(
                "years {first}:{last}: the grid has {min} to {max}; write "
                "the first and the last, first:last",
                first=first,
                last=last,
                min=held.min(),
                max=held.max(),
            )
        )
    return ds.sel(time=slice(f"{first:04d}", f"{last:04d}"))


def answer_grid(ds: xr.Dataset, question: GridQuestion) -> xr.Dataset:
    """Answer a question for every cell, lazily; see `floor_grid`."""
    check_grid(ds)
    require_whole_years(ds["time"].to_numpy(), ds.attrs["step"])
    rows, columns = spatial_dims(ds)
    # Also where the place itself differs from cell to cell.
    places = place_of_cells(ds, question.utc_offset)
    ds = one_stretch_of_time(ds)
    names = [name for name in VARIABLES if name in ds]
    inputs = [ds[name] for name in names]
    around = [*places, *([ds["elevation"]] if "elevation" in ds else [])]
    chunks = {d: ds.chunksizes[d] for d in (rows, columns)}
    around = [array.chunk(chunks) for array in around]
    wanted = floor_variables(question)
    coordinates = floor_coordinates(question)
    sizes = {name: len(values[1]) for name, values in coordinates.items()}
    arrays = xr.apply_ufunc(
        _answer_block,
        *inputs,
        *around,
        input_core_dims=[["time"]] * len(inputs) + [[]] * len(around),
        output_core_dims=[list(variable.dims) for variable in wanted],
        kwargs={
            "times": ds["time"].to_numpy(),
            "step": ds.attrs["step"],
            "kind": ds.attrs["kind"],
            "names": names,
            "question": question,
        },
        dask="parallelized",
        keep_attrs=False,
        output_dtypes=[np.float64] * len(wanted),
        dask_gufunc_kwargs={"output_sizes": sizes},
    )
    result = xr.Dataset(
        {
            variable.name: array.transpose(*variable.dims, rows, columns).assign_attrs(
                variable.attrs
            )
            for variable, array in zip(wanted, arrays, strict=True)
        }
    ).assign_coords(coordinates)
    kept = [str(c) for c in ds.coords if "time" not in ds[c].dims and c != "time"]
    result = result.assign_coords({name: ds[name] for name in kept})
    for name in kept:
        # xarray before 2025.11 leaves a dimension without them here.
        result[name].attrs = ds[name].attrs
    return result.assign_attrs(answer_attributes(ds, question))


def place_of_cells(
    ds: xr.Dataset, utc_offset: float | None
) -> tuple[xr.DataArray, xr.DataArray, xr.DataArray]:
    """Return latitude, longitude and local time of every cell (h from UTC)."""
    rows, columns = spatial_dims(ds)
    shape = xr.DataArray(
        np.zeros((ds.sizes[rows], ds.sizes[columns])), dims=(rows, columns)
    )
    latitude, longitude = (
        (shape + ds[name].reset_coords(drop=True).compute()).drop_vars(
            [rows, columns], errors="ignore"
        )
        for name in ("latitude", "longitude")
    )
    if utc_offset is None:
        offset = (longitude / DEGREES_AN_HOUR).round()
    else:
        offset = xr.full_like(longitude, utc_offset)
    return latitude, longitude, offset


def _answer_block(
    *arrays: FloatArray,
    times: Any,
    step: str,
    kind: str,
    names: list[str],
    question: GridQuestion,
) -> tuple[FloatArray, ...]:
    """Answer for a block of cells; weather with time last, then the places."""
    weather, around = arrays[: len(names)], arrays[len(names) :]
    shape = np.broadcast_shapes(*(array.shape[:-1] for array in weather))
    cells = int(np.prod(shape))

    def flat(array: FloatArray) -> FloatArray:
        return np.broadcast_to(array, shape).reshape(cells)

    wanted = floor_variables(question)
    lengths = {k: len(v[1]) for k, v in floor_coordinates(question).items()}
    out = {
        variable.name: np.full(
            (cells, *(lengths[dim] for dim in variable.dims)), np.nan
        )
        for variable in wanted
    }
    latitude, longitude, offset, *more = (flat(array) for array in around)
    if cells:
        work_out(
            CellsWeather(
                times,
                step,
                kind,
                {
                    name: array.reshape(cells, times.size)
                    for name, array in zip(names, weather, strict=True)
                },
                latitude,
                longitude,
                offset,
                more[0] if more else None,
            ),
            question,
            out,
        )
    return tuple(
        out[variable.name].reshape(*shape, *out[variable.name].shape[1:])
        for variable in wanted
    )


def weather_attributes(ds: xr.Dataset) -> dict[str, Any]:
    """Say what weather a map is of, and whose."""
    times = ds["time"].to_numpy()
    return {
        "Conventions": CONVENTIONS,
        **origin_of(ds),
        **{name: ds.attrs[name] for name in CARRIED if ds.attrs.get(name)},
        "emcforecast_version": __version__,
        "weather_step": ds.attrs["step"],
        "weather_kind": ds.attrs["kind"],
        "weather_start": str(times[0].astype("datetime64[D]")),
        "weather_end": str(times[-1].astype("datetime64[D]")),
    }


def answer_attributes(ds: xr.Dataset, question: GridQuestion) -> dict[str, Any]:
    """Say where the numbers are from and what was asked."""
    fallbacks = stand_ins(set(map(str, ds.data_vars)), question)
    said: dict[str, Any] = {
        **weather_attributes(ds),
        "species": str(question.board.species),
        "thickness_mm": question.board.thickness_mm,
        "settings": "; ".join(place.text() for _, place in question.places),
        "kinds": ", ".join(place.kind for _, place in question.places),
        "local_time": "longitude/15"
        if question.utc_offset is None
        else f"UTC{question.utc_offset:+g} h",
        "fallbacks": fallbacks_to_text(fallbacks),
    }
    if ds.attrs["step"] not in ("hour",):
        said["rebuilt_from"] = ds.attrs["step"]
    if question.stacked is not None:
        said["stacked"] = str(question.stacked)[5:]
    return said


def stand_ins(held: set[str], question: GridQuestion) -> list[Fallback]:
    """Return what stands in for variables that a grid does not have."""
    rained_on = any(p.values().get("rain") == "on" for _, p in question.places)
    lacking = {
        FallbackKind.SUN: "shortwave" not in held,
        FallbackKind.WIND: "wind_speed" not in held,
        FallbackKind.RAIN: rained_on and "precipitation" not in held,
    }
    return [
        Fallback(kind, taken=3.0 if kind is FallbackKind.WIND else None)
        for kind, absent in lacking.items()
        if absent
    ]
