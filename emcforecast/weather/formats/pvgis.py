"""Typical years of PVGIS, as its CSV table or its JSON; UTC, without rain.

Its other products are recognised and refused: they hold no humidity.
"""

from __future__ import annotations

import json
import re
from typing import Any

import pandas as pd
import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.weather.formats.text import decode
from emcforecast.weather.formats.typical_year import (
    column_of,
    typical_year,
    without_leap_day,
)
from emcforecast.weather.hints import Hints

ASK = "ask for the typical meteorological year (TMY), which has"


def is_csv(head: bytes, name: str) -> bool:
    """Recognise a PVGIS table by its header."""
    begin = head[:3000]
    return begin.lstrip(b"\xef\xbb\xbf").startswith(b"Latitude (decimal degrees)") and (
        b"\ntime," in begin or b"\ntime(" in begin or b"month,year" in begin
    )


def is_json(head: bytes, name: str) -> bool:
    """Recognise the JSON of PVGIS by what it says of its own inputs."""
    begin = head.lstrip(b"\xef\xbb\xbf \r\n\t")[:8192]
    return begin[:1] == b"{" and b'"inputs"' in begin and b'"meteo_data"' in begin


def read_csv(data: bytes, hints: Hints) -> xr.Dataset:
    """Read the table of a typical year; refuse other tables, which lack humidity.

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

    Raises
    ------
    WeatherError
        When it holds no hours, not all of them, or no humidity.
    """
    lines = decode(data).split("\n")
    at = next((i for i, line in enumerate(lines) if line.startswith("time")), None)
    if at is None:
        raise WeatherError("the PVGIS file has no table of hours; get it again")
    names = [name.strip() for name in lines[at].split(",")]
    rows = [
        line.split(",") for line in lines[at + 1 :] if re.match(r"\d{8}:\d{4},", line)
    ]
    rows = [row for row in rows if len(row) == len(names)]
    place = {}
    for line in lines[:at]:
        match = re.match(r"(Latitude|Longitude|Elevation)[^:]*:\s*(-?[\d.]+)", line)
        if match:
            place[match[1].lower()] = float(match[2])
    return _year(pd.DataFrame(rows, columns=names), place, hints)


def read_json(data: bytes, hints: Hints) -> xr.Dataset:
    """Read the JSON of a typical year; refuse other products, which lack humidity.

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

    Raises
    ------
    WeatherError
        When it is cut short, or holds no hours, not all of them, or no humidity.
    """
    try:
        reply: Any = json.loads(decode(data))
        rows = reply["outputs"].get("tmy_hourly") or reply["outputs"].get("hourly")
        location = reply["inputs"]["location"]
    except json.JSONDecodeError as error:
        raise WeatherError(
            f"the PVGIS JSON is cut short (character {error.pos}); get it again"
        ) from error
    except (KeyError, TypeError, AttributeError) as error:
        raise WeatherError(
            "the PVGIS JSON is of another shape than its typical years; get it again"
        ) from error
    if not isinstance(rows, list) or not rows or not isinstance(rows[0], dict):
        raise WeatherError(
            "this PVGIS JSON describes its columns but holds no hours; get the typical "
            "meteorological year (TMY) itself"
        )
    place = {
        name: float(location[name])
        for name in ("latitude", "longitude", "elevation")
        if isinstance(location.get(name), (int, float))
    }
    return _year(pd.DataFrame(rows), place, hints)


def _year(frame: pd.DataFrame, place: dict[str, float], hints: Hints) -> xr.Dataset:
    names = [str(name) for name in frame.columns]
    if "RH" not in names:
        raise WeatherError(
            f"this PVGIS table ({', '.join(names)[:60]}) has no humidity; {ASK}"
        )
    leap = frame[names[0]].str.slice(4, 8).eq("0229").to_numpy(dtype=bool)
    frame, notes = without_leap_day(frame, leap)
    variables = {
        "air_temperature": column_of(frame, "T2m", 998.0),
        "relative_humidity": column_of(frame, "RH", 998.0),
    }
    for ours, theirs in (("wind_speed", "WS10m"), ("shortwave", "G(h)")):
        if theirs in names:
            variables[ours] = column_of(frame, theirs, 9000.0)
    series = typical_year(
        variables,
        source="PVGIS typical year",
        offset=0.0,
        notes=[*notes, "the file holds no rain"],
        hints=hints,
        licence="European Union, reuse with credit",
        attribution="PVGIS (c) European Union",
        **place,
    )
    del series.attrs["utc_offset"]
    if hints.utc_offset is not None:
        series.attrs["utc_offset"] = hints.utc_offset
    return series
