"""One artificial year of hours: what the readers of typical-year files share."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.weather.hints import Hints
from emcforecast.weather.humidity import humidity_from
from emcforecast.weather.mend.quality import without_impossible
from emcforecast.weather.series import NOMINAL_YEAR, make_series


def typical_year(
    variables: dict[str, FloatArray],
    *,
    source: str,
    offset: float,
    notes: list[str],
    hints: Hints,
    **place: Any,
) -> xr.Dataset:
    """Turn local hours of a typical year to the nominal year in UTC.

    Parameters
    ----------
    variables : dict of str to ndarray, shape (8760,)
        Series variables in series units, from the first local hour of January.
    source : str
        As in `make_series`.
    offset : float
        Local standard time minus UTC (h).
    notes : list of str
        Repairs made before.
    hints : Hints
        Place, where it shall differ.
    **place
        Further arguments of `make_series`.

    Returns
    -------
    xarray.Dataset
        A typical year.

    Raises
    ------
    WeatherError
        When hours are lacking, or every temperature or humidity.
    """
    clean, found = without_impossible(variables)
    size = clean["air_temperature"].size
    if size != 8760:
        raise WeatherError(
            f"the file holds {size} of the 8760 hours of a typical year; it seems cut "
            "off: get it again"
        )
    for name in ("air_temperature", "relative_humidity"):
        if not np.isfinite(clean[name]).any():
            raise WeatherError(
                f"every {name.replace('_', ' ')} value of the file is missing"
            )
    if offset != round(offset):
        notes.append(
            f"the clock is {offset:+g} h from UTC; times are moved by whole hours"
        )
    shift = -int(np.floor(offset + 0.5))
    axis = np.datetime64(f"{NOMINAL_YEAR}-01-01", "ns") + np.arange(
        8760
    ) * np.timedelta64(1, "h")
    turned = {
        name: np.roll(values, shift)
        for name, values in clean.items()
        if np.isfinite(values).any()
    }
    for name, value in (
        ("latitude", hints.latitude),
        ("longitude", hints.longitude),
        ("elevation", hints.elevation),
    ):
        if value is not None:
            place[name] = value
    return make_series(
        axis,
        turned,
        step="hour",
        kind="typical year",
        source=source,
        repairs=[*notes, *found],
        utc_offset=offset,
        **place,
    )


def column_of(frame: pd.DataFrame, name: str, missing: float) -> FloatArray:
    """Return a column as numbers.

    Parameters
    ----------
    frame : pandas.DataFrame
        The table.
    name : str
        Name of the column.
    missing : float
        From this size on a value stands for none.

    Returns
    -------
    ndarray of float, shape (n,)
        NaN where missing.
    """
    values: FloatArray = pd.to_numeric(frame[name], errors="coerce").to_numpy(
        np.float64
    )
    return np.where(np.abs(values) >= missing, np.nan, values)


def without_leap_day(
    frame: pd.DataFrame, leap: npt.NDArray[np.bool_]
) -> tuple[pd.DataFrame, list[str]]:
    """Leave 29 February out of a year that has it.

    Parameters
    ----------
    frame : pandas.DataFrame
        The hours.
    leap : ndarray of bool, shape (n,)
        Which are of 29 February.

    Returns
    -------
    pandas.DataFrame
        The hours left.
    list of str
        What was left out.
    """
    if len(frame) == 8784 and int(leap.sum()) == 24:
        return frame[~leap], ["29 February left out of the typical year"]
    return frame, []


def with_rain(variables: dict[str, FloatArray], rain: FloatArray) -> list[str]:
    """Take the rain along where the file has it for most of the year.

    Parameters
    ----------
    variables : dict of str to ndarray
        The series variables; ``precipitation`` is added.
    rain : ndarray, shape (n,)
        mm per hour, NaN where missing.

    Returns
    -------
    list of str
        Why it was not taken, if so.
    """
    known = int(np.count_nonzero(np.isfinite(rain)))
    if not known or not np.nansum(rain) > 0.0:
        return ["the file holds no rain"]
    if known < 0.5 * rain.size:
        return [f"rain is given for {known} of {rain.size} hours only: not used"]
    variables["precipitation"] = rain
    return []


def air_of(
    temperature: FloatArray, given: dict[str, FloatArray]
) -> tuple[dict[str, FloatArray], list[str]]:
    """Return the temperature with a humidity from the best that is given.

    Parameters
    ----------
    temperature : ndarray, shape (n,)
        Air temperature (°C).
    given : dict of str to ndarray, shape (n,)
        As in `humidity_from`.

    Returns
    -------
    dict of str to ndarray
        Series variables.
    list of str
        What the humidity was worked out from.

    Raises
    ------
    WeatherError
        When nothing serves.
    """
    humid, words = humidity_from(temperature, given)
    if humid is None or not np.isfinite(humid).any():
        raise WeatherError(
            "the file has no humidity; temperature and humidity are both needed"
        )
    return {"air_temperature": temperature, "relative_humidity": humid}, words
