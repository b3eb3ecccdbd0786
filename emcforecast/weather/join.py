"""Temperature in one file, humidity in another -> one weather series."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.weather.formats.csv import parse_csv
from emcforecast.weather.formats.csv_series import Parsed, series_of_parsed
from emcforecast.weather.formats.format import HEAD
from emcforecast.weather.formats.netcdf import is_netcdf, parse_netcdf
from emcforecast.weather.formats.text import looks_like_text
from emcforecast.weather.formats.unpack import unwrapped
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend.quality import gather
from emcforecast.weather.mend.words import plain_count

HOUR = np.timedelta64(1, "h")


def read_apart(paths: Sequence[Path], hints: Hints) -> xr.Dataset:
    """Read files that hold temperature and humidity apart.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        CSV or NetCDF files with the same kind of steps.
    hints : Hints
        What the person said of all of them.

    Returns
    -------
    xarray.Dataset
        A weather series; gaps are still gaps.

    Raises
    ------
    WeatherError
        When they do not fit together.
    """
    parts = []
    for path in paths:
        try:
            data = unwrapped(path.read_bytes(), path.name)
        except OSError as error:
            raise WeatherError(f"{path}: cannot be read ({error.strerror})") from error
        try:
            if is_netcdf(data[:HEAD], path.name):
                parts.append(parse_netcdf(data, hints, partial=True))
            elif looks_like_text(data[:HEAD]):
                parts.append(parse_csv(data, hints, partial=True))
            else:
                raise WeatherError("neither CSV nor NetCDF, so it cannot be joined")
        except WeatherError as error:
            raise WeatherError(f"{path.name}: {error}") from error
    names = " and ".join(path.name for path in paths)
    return series_of_parsed(joined(parts), hints, f"files {names}")


def joined(parts: Sequence[Parsed]) -> Parsed:
    """Join what several tables hold on common times.

    Parameters
    ----------
    parts : sequence of Parsed
        Tables with the same step.

    Returns
    -------
    Parsed
        All quantities on the times of all tables; hourly means for hourly steps.

    Raises
    ------
    WeatherError
        When steps differ, or two tables hold the same quantity.
    """
    steps = {part.step for part in parts}
    if len(steps) != 1:
        raise WeatherError(
            f"the files have different steps ({', '.join(sorted(steps))}); give files "
            "of one step"
        )
    step = steps.pop()
    for name in ("air_temperature", "relative_humidity", "dew_point"):
        if sum(name in part.values for part in parts) > 1:
            raise WeatherError(
                f"more than one of the files holds {name.replace('_', ' ')}; give one "
                "with temperature and one with humidity"
            )
    unit = "h" if step == "hour" else "D"
    begin = min(part.time.min() for part in parts).astype(f"datetime64[{unit}]")
    end = max(part.time.max() for part in parts).astype(f"datetime64[{unit}]")
    size = int((end - begin).astype(np.int64)) + 1
    axis = begin + np.arange(size)
    values: dict[str, FloatArray] = {}
    notes: list[str] = []
    place: dict[str, float] = {}
    columns: dict[str, str] = {}
    for part in parts:
        at = (part.time.astype(f"datetime64[{unit}]") - begin).astype(np.int64)
        for name, given in part.values.items():
            how = "sum" if name == "precipitation" else "mean"
            values.setdefault(name, gather(at, given, size, how))
        notes += [note for note in part.notes if note not in notes]
        place = {**part.place, **place}
        columns = {**part.columns, **columns}
    some = np.zeros(size, dtype=bool)
    for given in values.values():
        some |= np.isfinite(given)
    notes.append(f"{plain_count(len(parts), 'file')} joined on common times")
    return Parsed(
        axis[some].astype("datetime64[ns]"),
        {name: given[some] for name, given in values.items()},
        step,
        place,
        notes,
        columns,
    )
