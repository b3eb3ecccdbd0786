"""Typical-year files: EPW, TMY3 and PVGIS, each one artificial year by the hour."""

from __future__ import annotations

import io
import re
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.weather.formats import Format, Hints
from emcforecast.weather.humidity import humidity_from
from emcforecast.weather.quality import without_impossible
from emcforecast.weather.series import NOMINAL_YEAR, make_series
from emcforecast.weather.text import decode

Array = npt.NDArray[np.float64]


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


def is_pvgis(head: bytes, name: str) -> bool:
    """Recognise a PVGIS file by its header."""
    begin = head[:3000]
    return begin.lstrip(b"\xef\xbb\xbf").startswith(b"Latitude (decimal degrees)") and (
        b"\ntime," in begin or b"\ntime(" in begin or b"month,year" in begin
    )


def _typical(
    variables: dict[str, Array],
    *,
    source: str,
    offset: float,
    notes: list[str],
    hints: Hints,
    **place: Any,
) -> xr.Dataset:
    """Turn local hours of a typical year to the nominal year in UTC."""
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


def _column(frame: pd.DataFrame, name: str, missing: float) -> Array:
    values: Array = pd.to_numeric(frame[name], errors="coerce").to_numpy(np.float64)
    return np.where(np.abs(values) >= missing, np.nan, values)


def _no_leap_day(
    frame: pd.DataFrame, leap: npt.NDArray[np.bool_]
) -> tuple[pd.DataFrame, list[str]]:
    if len(frame) == 8784 and int(leap.sum()) == 24:
        return frame[~leap], ["29 February left out of the typical year"]
    return frame, []


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
    frame, notes = _no_leap_day(frame, leap)
    temperature = _column(frame, "temp_air", 99.8)
    variables, words = _with_humidity(
        temperature,
        {
            "relative_humidity": _column(frame, "relative_humidity", 998.0),
            "dew_point": _column(frame, "temp_dew", 99.8),
        },
    )
    variables["wind_speed"] = _column(frame, "wind_speed", 998.0)
    variables["shortwave"] = _column(frame, "ghi", 9998.0)
    notes += _rain(variables, _column(frame, "liquid_precipitation_depth", 998.0))
    return _typical(
        variables,
        source=f"EPW file of {str(meta['city']).strip()}",
        offset=float(meta["TZ"]),
        notes=[*notes, *words],
        hints=hints,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=float(meta["altitude"]),
    )


def _rain(variables: dict[str, Array], rain: Array) -> list[str]:
    """Take the rain along where the file has it for most of the year."""
    known = int(np.count_nonzero(np.isfinite(rain)))
    if not known or not np.nansum(rain) > 0.0:
        return ["the file holds no rain"]
    if known < 0.5 * rain.size:
        return [f"rain is given for {known} of {rain.size} hours only: not used"]
    variables["precipitation"] = rain
    return []


def _with_humidity(
    temperature: Array, given: dict[str, Array]
) -> tuple[dict[str, Array], list[str]]:
    humid, words = humidity_from(temperature, given)
    if humid is None or not np.isfinite(humid).any():
        raise WeatherError(
            "the file has no humidity; temperature and humidity are both needed"
        )
    return {"air_temperature": temperature, "relative_humidity": humid}, words


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
        temperature = _column(frame, "Dry-bulb (C)", 998.0)
        given = {
            "relative_humidity": _column(frame, "RHum (%)", 998.0),
            "dew_point": _column(frame, "Dew-point (C)", 998.0),
        }
        wind = _column(frame, "Wspd (m/s)", 98.0)
        sun = _column(frame, "GHI (W/m^2)", 9000.0)
        rain = _column(frame, "Lprecip depth (mm)", 900.0)
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
    variables, words = _with_humidity(temperature, given)
    variables |= {"wind_speed": wind, "shortwave": sun}
    notes += _rain(variables, rain)
    return _typical(
        variables,
        source=f"TMY3 file of {str(meta['Name']).strip(chr(34))}",
        offset=float(meta["TZ"]),
        notes=[*notes, *words],
        hints=hints,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=float(meta["altitude"]),
    )


def read_pvgis(data: bytes, hints: Hints) -> xr.Dataset:
    """Read a PVGIS typical year (UTC); refuse its other tables, which lack humidity.

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
    text = decode(data)
    lines = text.split("\n")
    at = next((i for i, line in enumerate(lines) if line.startswith("time")), None)
    if at is None:
        raise WeatherError("the PVGIS file has no table of hours; get it again")
    names = lines[at].split(",")
    if "RH" not in names:
        raise WeatherError(
            f"this PVGIS table ({', '.join(names)[:60]}) has no humidity; ask for the "
            "typical meteorological year (TMY), which has"
        )
    rows = [
        line.split(",") for line in lines[at + 1 :] if re.match(r"\d{8}:\d{4},", line)
    ]
    rows = [row for row in rows if len(row) == len(names)]
    frame = pd.DataFrame(rows, columns=names)
    leap = frame[names[0]].str.slice(4, 8).eq("0229").to_numpy(dtype=bool)
    frame, notes = _no_leap_day(frame, leap)
    variables = {
        "air_temperature": _column(frame, "T2m", 998.0),
        "relative_humidity": _column(frame, "RH", 998.0),
    }
    for ours, theirs in (("wind_speed", "WS10m"), ("shortwave", "G(h)")):
        if theirs in names:
            variables[ours] = _column(frame, theirs, 9000.0)
    place = {}
    for line in lines[:at]:
        match = re.match(r"(Latitude|Longitude|Elevation)[^:]*:\s*(-?[\d.]+)", line)
        if match:
            place[match[1].lower()] = float(match[2])
    notes.append("the file holds no rain")
    series = _typical(
        variables,
        source="PVGIS typical year",
        offset=0.0,
        notes=notes,
        hints=hints,
        licence="European Union, reuse with credit",
        attribution="PVGIS (c) European Union",
        **place,
    )
    del series.attrs["utc_offset"]
    if hints.utc_offset is not None:
        series.attrs["utc_offset"] = hints.utc_offset
    return series


FORMATS = (
    Format("EPW typical year", is_epw, read_epw),
    Format("TMY3 typical year", is_tmy3, read_tmy3),
    Format("PVGIS table", is_pvgis, read_pvgis),
)


def _in_tenths(rain: Array) -> bool:
    """Tell whether depths headed mm are hundredths of an inch in tenths of a mm.

    Station rain was measured in hundredths of an inch (0.254 mm); some TMY3 files
    hold it as whole tenths of a mm: 3, 5, 8, 10, 13 … and never 1, 2, 4, 6 or 7,
    which whole mm would hold.
    """
    wet = rain[rain > 0.0]
    steps = np.round(wet / 2.54)
    on_grid = np.abs(wet - np.round(2.54 * steps)) < 1e-6
    return bool(wet.size >= ENOUGH_WET and on_grid.mean() > ON_GRID)
