"""Typical-year files EPW and TMY3, each one artificial year by the hour."""

from __future__ import annotations

import io
import re

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.weather.formats import pvgis
from emcforecast.weather.formats.format import Format
from emcforecast.weather.formats.text import decode
from emcforecast.weather.formats.typical_year import (
    air_of,
    column_of,
    typical_year,
    with_rain,
    without_leap_day,
)
from emcforecast.weather.hints import Hints

ENOUGH_WET = 30
"""Wet hours that show what a file's rain is measured in."""
ON_GRID = 0.95
"""Share of depths on hundredths of an inch; of whole mm a third would be."""


def is_epw(head: bytes, name: str) -> bool:
    """Recognise an EPW file by its first line, which says where it is in numbers."""
    line = head.lstrip(b"\xef\xbb\xbf").partition(b"\n")[0]
    name_of_line, *fields = line.decode("ascii", "replace").split(",")
    return name_of_line.upper() == "LOCATION" and bool(
        re.fullmatch(r"\s*-?[\d.]+\s*", "".join(fields[5:6]))
    )


def is_tmy3(head: bytes, name: str) -> bool:
    """Recognise a TMY3 file by the names in its second line."""
    second = head.split(b"\n", 2)[1:2]
    return bool(second) and b"Date (MM/DD/YYYY),Time (HH:MM)" in second[0]


def read_epw(data: bytes, hints: Hints) -> xr.Dataset:
    """Read an EPW file: local standard time, a row is the hour that ends at its label.

    Parameters
    ----------
    data : bytes
        The content, in any encoding.
    hints : Hints
        Place, where it shall differ.

    Returns
    -------
    xarray.Dataset
        A typical year.
    """
    from pvlib.iotools import read_epw as pvlib_epw

    try:
        frame, meta = pvlib_epw(io.StringIO(decode(data)))
    except (ValueError, KeyError, IndexError, pd.errors.ParserError) as error:
        raise WeatherError(
            f"the EPW file cannot be read ({str(error)[:80]}); it seems cut off or "
            "edited: get it again"
        ) from error
    leap = ((frame["month"] == 2) & (frame["day"] == 29)).to_numpy(dtype=bool)
    frame, notes = without_leap_day(frame, leap)
    temperature = column_of(frame, "temp_air", 99.8)
    variables, words = air_of(
        temperature,
        {
            "relative_humidity": column_of(frame, "relative_humidity", 998.0),
            "dew_point": column_of(frame, "temp_dew", 99.8),
        },
    )
    variables["wind_speed"] = column_of(frame, "wind_speed", 998.0)
    variables["shortwave"] = column_of(frame, "ghi", 9998.0)
    notes += with_rain(variables, column_of(frame, "liquid_precipitation_depth", 998.0))
    return typical_year(
        variables,
        source=f"EPW file of {str(meta['city']).strip()}",
        offset=float(meta["TZ"]),
        notes=[*notes, *words],
        hints=hints,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=float(meta["altitude"]),
    )


def read_tmy3(data: bytes, hints: Hints) -> xr.Dataset:
    """Read a TMY3 file: local standard time, a row is the hour that ends at its stamp.

    Parameters
    ----------
    data : bytes
        The content.
    hints : Hints
        Place, where it shall differ.

    Returns
    -------
    xarray.Dataset
        A typical year.
    """
    from pvlib.iotools import read_tmy3 as pvlib_tmy3

    try:
        frame, meta = pvlib_tmy3(io.StringIO(decode(data)), map_variables=False)
        dates = frame["Date (MM/DD/YYYY)"]
        temperature = column_of(frame, "Dry-bulb (C)", 998.0)
        given = {
            "relative_humidity": column_of(frame, "RHum (%)", 998.0),
            "dew_point": column_of(frame, "Dew-point (C)", 998.0),
        }
        wind = column_of(frame, "Wspd (m/s)", 98.0)
        sun = column_of(frame, "GHI (W/m^2)", 9000.0)
        rain = column_of(frame, "Lprecip depth (mm)", 900.0)
        rain = np.where(rain < 0.0, np.nan, rain)
    except (
        ValueError,
        KeyError,
        IndexError,
        TypeError,
        pd.errors.ParserError,
    ) as error:
        raise WeatherError(
            f"the TMY3 file cannot be read ({str(error)[:80]}); it seems cut off or "
            "edited: get it again"
        ) from error
    notes: list[str] = []
    if _in_tenths(rain):
        rain = rain / 10.0
        notes.append(
            "rain depths are hundredths of an inch in tenths of a mm, whatever the "
            "header says: taken so"
        )
    if len(frame) == 8784:
        stay = ~dates.str.startswith("02/29").to_numpy(dtype=bool)
        temperature, wind, sun, rain = (v[stay] for v in (temperature, wind, sun, rain))
        given = {name: values[stay] for name, values in given.items()}
        notes.append("29 February left out of the typical year")
    variables, words = air_of(temperature, given)
    variables |= {"wind_speed": wind, "shortwave": sun}
    notes += with_rain(variables, rain)
    return typical_year(
        variables,
        source=f"TMY3 file of {str(meta['Name']).strip(chr(34))}",
        offset=float(meta["TZ"]),
        notes=[*notes, *words],
        hints=hints,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=float(meta["altitude"]),
    )


FORMATS = (
    Format("EPW typical year", is_epw, read_epw),
    Format("TMY3 typical year", is_tmy3, read_tmy3),
    Format("PVGIS table", pvgis.is_csv, pvgis.read_csv),
    Format("PVGIS JSON", pvgis.is_json, pvgis.read_json),
)


def _in_tenths(rain: FloatArray) -> bool:
    """Tell whether depths headed mm are hundredths of an inch in tenths of a mm.

    Station rain was measured in hundredths of an inch (0.254 mm); some TMY3 files
    hold it as whole tenths of a mm: 3, 5, 8, 10, 13 … and never 1, 2, 4, 6 or 7,
    which whole mm would hold.
    """
    wet = rain[rain > 0.0]
    steps = np.round(wet / 2.54)
    on_grid = np.abs(wet - np.round(2.54 * steps)) < 1e-6
    return bool(wet.size >= ENOUGH_WET and on_grid.mean() > ON_GRID)
