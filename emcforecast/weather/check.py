"""Say what a weather file holds, what was mended, and why it is refused."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import BoolArray
from emcforecast.dates import MONTHS
from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.mend.months import require_every_month
from emcforecast.weather.read import Progress, read_weather
from emcforecast.weather.repairs import Repair, repairs_of
from emcforecast.weather.series import ONE_YEAR_KINDS
from emcforecast.weather.years import place_time, require_year

Months = npt.NDArray[np.datetime64]


@dataclass(frozen=True)
class Inspection:
    """What a weather file holds.

    `ok`: whether it can be used; `refused`: the one-line reason when not. `step`:
    "hour" or "month"; `rebuilt_from`: "day" for hours rebuilt from days. `rows`:
    readings in the file; `intervals`: hours or months of the series, gaps filled;
    `start`, `end`: ISO, UTC, None for a typical year or normals. `place`: latitude,
    longitude (degrees), elevation (m), utc_offset (h), where known. `columns`: what was
    recognised, with the units found. `variables`: unit, mean, least and greatest value
    of each; of precipitation also ``a_year`` (mm). `coverage_by_month`: twelve of
    ``month``, ``name``, ``coverage`` (share of its intervals with temperature and
    humidity, before filling; 0 where it never comes). `short`: why commands that speak
    of every month will refuse it, or None.
    """

    ok: bool
    refused: str | None = None
    source: str | None = None
    kind: str | None = None
    step: str | None = None
    rebuilt_from: str | None = None
    rows: int = 0
    intervals: int = 0
    start: str | None = None
    end: str | None = None
    place: dict[str, float] = field(default_factory=dict)
    columns: tuple[str, ...] = ()
    variables: dict[str, dict[str, Any]] = field(default_factory=dict)
    coverage_by_month: tuple[dict[str, Any], ...] = ()
    repairs: tuple[Repair, ...] = ()
    short: str | None = None


def inspect(
    path: str | Path, *, progress: Progress | None = None, **hints: object
) -> Inspection:
    """Look a weather file through without ever failing on it.

    Arguments are those of `read_weather`; a file that is refused has ``ok`` False.

    Examples
    --------
    >>> found = inspect("no such file.csv")
    >>> found.ok, found.refused
    (False, 'no such file.csv: no such file; give a weather file, demo, or an archive \
and place, such as open-meteo:46.1,7.2')
    """
    try:
        series = read_weather(path, gaps="keep", progress=progress, **hints)
    except (WeatherError, ArchiveError) as error:
        return Inspection(ok=False, refused=str(error))
    refused = None
    filled = series
    try:
        filled = fill_gaps(series)
        if series.attrs["step"] == "month":
            require_every_month(series)
    except WeatherError as error:
        refused = f"{Path(path).name}: {error}"
    short = None
    try:
        require_year(filled)
    except WeatherError as error:
        short = str(error)
    stamps = filled["time"].to_numpy()
    unit = "h" if filled.attrs["step"] == "hour" else "M"
    dated = filled.attrs["kind"] not in ONE_YEAR_KINDS
    known = np.isfinite(series["air_temperature"].to_numpy())
    return Inspection(
        ok=refused is None,
        refused=refused,
        source=series.attrs["source"],
        kind=series.attrs["kind"],
        step=series.attrs["step"],
        rebuilt_from=series.attrs.get("rebuilt_from"),
        rows=int(series.attrs.get("rows", np.count_nonzero(known))),
        intervals=int(stamps.size),
        start=str(stamps[0].astype(f"datetime64[{unit}]")) if dated else None,
        end=str(stamps[-1].astype(f"datetime64[{unit}]")) if dated else None,
        place={
            name: float(series.attrs[name])
            for name in ("latitude", "longitude", "elevation", "utc_offset")
            if name in series.attrs
        },
        columns=tuple(series.attrs.get("columns", ())),
        variables=_ranges(filled),
        coverage_by_month=_coverage(series),
        repairs=repairs_of(filled),
        short=short,
    )


def _ranges(ds: xr.Dataset) -> dict[str, dict[str, Any]]:
    found = {}
    for name, variable in ds.data_vars.items():
        values = variable.to_numpy()
        values = values[np.isfinite(values)]
        if values.size:
            found[str(name)] = {
                "units": variable.attrs["units"],
                "mean": round(float(values.mean()), 3),
                "min": round(float(values.min()), 3),
                "max": round(float(values.max()), 3),
            }
            if name == "precipitation":
                steps = 8766.0 if ds.attrs["step"] == "hour" else 12.0
                found[str(name)]["a_year"] = round(float(values.mean()) * steps, 1)
    return found


def _worth_counting(months: Months, known: BoolArray) -> Months:
    """Leave out a year's month of a few hours where another year's is longer.

    A year by the local clock touches the December before it, or the January after.
    """
    touched, where = np.unique(months, return_inverse=True)
    have = np.bincount(where, known)
    most = np.zeros(12)
    calendar = touched.astype(np.int64) % 12
    np.maximum.at(most, calendar, have)
    return np.asarray(touched[(have >= 24) | (have == most[calendar])])


def _coverage(ds: xr.Dataset) -> tuple[dict[str, Any], ...]:
    known = np.isfinite(ds["air_temperature"].to_numpy())
    known &= np.isfinite(ds["relative_humidity"].to_numpy())
    months = place_time(ds).astype("datetime64[M]")
    calendar = months.astype(np.int64) % 12
    have = np.bincount(calendar, known, minlength=12)
    if ds.attrs["step"] == "hour":
        touched = _worth_counting(months, known)
        have = np.bincount(calendar, known & np.isin(months, touched), minlength=12)
        following = touched + np.timedelta64(1, "M")
        hours = following.astype("datetime64[h]") - touched.astype("datetime64[h]")
        full = np.bincount(
            touched.astype(np.int64) % 12, hours.astype(np.int64), minlength=12
        )
    else:
        full = np.bincount(calendar, minlength=12)
    return tuple(
        {
            "month": index + 1,
            "name": MONTHS[index],
            "coverage": round(float(have[index] / full[index]), 4)
            if full[index]
            else 0.0,
        }
        for index in range(12)
    )
