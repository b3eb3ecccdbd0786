"""Typical-year files: EPW, TMY3 and those of PVGIS, one artificial year by the hour."""

from __future__ import annotations

import io
import re
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.files import parse_json
from emcforecast.language import _
from emcforecast.weather.formats.content import bare_start, decode
from emcforecast.weather.formats.parsed import humidity_from
from emcforecast.weather.hints import Format, Hints
from emcforecast.weather.mend.quality import without_impossible
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.series import NOMINAL_YEAR, make_series

ENOUGH_WET = 30
"""Wet hours that show what a file's rain is measured in."""
ON_GRID = 0.95
"""Share of depths on hundredths of an inch; of whole mm a third would be."""


def is_pvgis_csv(head: bytes, name: str) -> bool:
    """Recognise a PVGIS table by its header."""
    begin = head[:3000]
    return begin.lstrip(b"\xef\xbb\xbf").startswith(b"Latitude (decimal degrees)") and (
        b"\ntime," in begin or b"\ntime(" in begin or b"month,year" in begin
    )


def is_pvgis_json(head: bytes, name: str) -> bool:
    """Recognise the JSON of PVGIS by what it says of its own inputs."""
    begin = bare_start(head)[:8192]
    return begin[:1] == b"{" and b'"inputs"' in begin and b'"meteo_data"' in begin


def read_pvgis_csv(data: bytes, hints: Hints) -> xr.Dataset:
    """Read the table of a typical year; refuse other tables, which lack humidity."""
    lines = decode(data).split("\n")
    at = next((i for i, line in enumerate(lines) if line.startswith("time")), None)
    if at is None:
        raise WeatherError(_("the PVGIS file has no table of hours; get it again"))
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
    return _pvgis_year(pd.DataFrame(rows, columns=names), place, hints)


def read_pvgis_json(data: bytes, hints: Hints) -> xr.Dataset:
    """Read the JSON of a typical year; refuse other products, which lack humidity."""
    try:
        reply: Any = parse_json(decode(data).encode())
        rows = reply["outputs"].get("tmy_hourly") or reply["outputs"].get("hourly")
        location = reply["inputs"]["location"]
    except ValueError as error:
        raise WeatherError(
            _("the PVGIS JSON is cut short or damaged; get it again")
        ) from error
    except (KeyError, TypeError, AttributeError) as error:
        raise WeatherError(
            _("the PVGIS JSON is of another shape than its typical years; get it again")
        ) from error
    if not isinstance(rows, list) or not rows or not isinstance(rows[0], dict):
        raise WeatherError(
            _(
                "this PVGIS JSON describes its columns but holds no hours; "
                "get the typical meteorological year (TMY) itself"
            )
        )
    place = {
        name: float(location[name])
        for name in ("latitude", "longitude", "elevation")
        if isinstance(location.get(name), (int, float))
    }
    return _pvgis_year(pd.DataFrame(rows), place, hints)


def _pvgis_year(
    frame: pd.DataFrame, place: dict[str, float], hints: Hints
) -> xr.Dataset:
    names = [str(name) for name in frame.columns]
    if "RH" not in names:
        raise WeatherError(
            _(
                "this PVGIS table ({names}) has no humidity; ask for the typical "
                "meteorological year (TMY), which has",
                names=", ".join(names)[:60],
            )
        )
    stamp = frame[names[0]].astype(str)
    frame, repairs = _in_order(
        frame, stamp.str.slice(4, 6), stamp.str.slice(6, 8), stamp.str.slice(9, 11)
    )
    variables = {
        "air_temperature": _column_of(frame, "T2m", 998.0),
        "relative_humidity": _column_of(frame, "RH", 998.0),
    }
    for ours, theirs in (("wind_speed", "WS10m"), ("shortwave", "G(h)")):
        if theirs in names:
            variables[ours] = _column_of(frame, theirs, 9000.0)
    series = _typical_year(
        variables,
        source="PVGIS typical year",
        offset=0.0,
        repairs=[*repairs, repair(RepairKind.RAIN_ABSENT)],
        hints=hints,
        licence="European Union, reuse with credit",
        attribution="PVGIS (c) European Union",
        **place,
    )
    del series.attrs["utc_offset"]
    if hints.utc_offset is not None:
        series.attrs["utc_offset"] = hints.utc_offset
    return series


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
    """Read an EPW file: standard time, a row is the hour that ends at its label."""
    from pvlib.iotools import read_epw as pvlib_epw

    try:
        frame, meta = pvlib_epw(io.StringIO(decode(data)))
    except (ValueError, KeyError, IndexError, pd.errors.ParserError) as error:
        raise WeatherError(
            _(
                "the EPW file cannot be read ({error}); it seems cut off or "
                "edited: get it again",
                error=str(error)[:80],
            )
        ) from error
    frame, repairs = _in_order(frame, frame["month"], frame["day"], frame["hour"])
    temperature = _column_of(frame, "temp_air", 99.8)
    variables, more = _air_of(
        temperature,
        {
            "relative_humidity": _column_of(frame, "relative_humidity", 998.0),
            "dew_point": _column_of(frame, "temp_dew", 99.8),
        },
    )
    variables["wind_speed"] = _column_of(frame, "wind_speed", 998.0)
    variables["shortwave"] = _column_of(frame, "ghi", 9998.0)
    repairs += _add_rain(
        variables, _column_of(frame, "liquid_precipitation_depth", 998.0)
    )
    return _typical_year(
        variables,
        source=f"EPW file of {str(meta['city']).strip()}",
        offset=float(meta["TZ"]),
        repairs=[*repairs, *more],
        hints=hints,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=float(meta["altitude"]),
    )


def read_tmy3(data: bytes, hints: Hints) -> xr.Dataset:
    """Read a TMY3 file: standard time, a row is the hour that ends at its stamp."""
    from pvlib.iotools import read_tmy3 as pvlib_tmy3

    try:
        frame, meta = pvlib_tmy3(io.StringIO(decode(data)), map_variables=False)
        date, clock = frame["Date (MM/DD/YYYY)"].str, frame["Time (HH:MM)"].str
        frame, repairs = _in_order(
            frame, date.slice(0, 2), date.slice(3, 5), clock.slice(0, 2)
        )
        temperature = _column_of(frame, "Dry-bulb (C)", 998.0)
        given = {
            "relative_humidity": _column_of(frame, "RHum (%)", 998.0),
            "dew_point": _column_of(frame, "Dew-point (C)", 998.0),
        }
        wind = _column_of(frame, "Wspd (m/s)", 98.0)
        sun = _column_of(frame, "GHI (W/m^2)", 9000.0)
        rain = _column_of(frame, "Lprecip depth (mm)", 900.0)
        rain = np.where(rain < 0.0, np.nan, rain)
    except (
        ValueError,
        KeyError,
        IndexError,
        TypeError,
        pd.errors.ParserError,
    ) as error:
        raise WeatherError(
            _(
                "the TMY3 file cannot be read ({error}); it seems cut off or "
                "edited: get it again",
                error=str(error)[:80],
            )
        ) from error
    if _in_tenths(rain):
        rain = rain / 10.0
        repairs.append(repair(RepairKind.RAIN_TENTHS))
    variables, more = _air_of(temperature, given)
    variables |= {"wind_speed": wind, "shortwave": sun}
    repairs += _add_rain(variables, rain)
    return _typical_year(
        variables,
        source=f"TMY3 file of {str(meta['Name']).strip(chr(34))}",
        offset=float(meta["TZ"]),
        repairs=[*repairs, *more],
        hints=hints,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=float(meta["altitude"]),
    )


FORMATS = (
    Format("EPW typical year", is_epw, read_epw),
    Format("TMY3 typical year", is_tmy3, read_tmy3),
    Format("PVGIS table", is_pvgis_csv, read_pvgis_csv),
    Format("PVGIS JSON", is_pvgis_json, read_pvgis_json),
)


def _in_tenths(rain: FloatArray) -> bool:
    """Return whether depths headed mm are hundredths of an inch in tenths of a mm.

    Station rain was measured in hundredths of an inch (0.254 mm); some TMY3 files
    hold it as whole tenths of a mm: 3, 5, 8, 10, 13 … and never 1, 2, 4, 6 or 7,
    which whole mm would hold.
    """
    wet = rain[rain > 0.0]
    steps = np.round(wet / 2.54)
    on_grid = np.abs(wet - np.round(2.54 * steps)) < 1e-6
    return bool(wet.size >= ENOUGH_WET and on_grid.mean() > ON_GRID)


def _typical_year(
    variables: dict[str, FloatArray],
    *,
    source: str,
    offset: float,
    repairs: list[Repair],
    hints: Hints,
    **place: Any,
) -> xr.Dataset:
    """Turn local hours of a typical year to the nominal year in UTC.

    `variables`: shape (8760,), series units, from the first local hour of January;
    `offset`: local standard time minus UTC (h); the hints differ from `place` where
    they are given.
    """
    clean, found = without_impossible(variables)
    size = clean["air_temperature"].size
    if size != 8760:
        raise WeatherError(
            _(
                "the file holds {size} of the 8760 hours of a typical year; "
                "it seems cut off: get it again",
                size=size,
            )
        )
    for name in ("air_temperature", "relative_humidity"):
        if not np.isfinite(clean[name]).any():
            raise WeatherError(
                _(
                    "every {name} value of the file is missing",
                    name=quantity_name(name),
                )
            )
    if offset != round(offset):
        repairs.append(repair(RepairKind.HALF_HOUR_CLOCK, offset=offset))
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
        repairs=[*repairs, *found],
        utc_offset=offset,
        **place,
    )


def _column_of(frame: pd.DataFrame, name: str, missing: float) -> FloatArray:
    """Return a column as numbers, NaN from `missing` on."""
    values: FloatArray = pd.to_numeric(frame[name], errors="coerce").to_numpy(
        np.float64
    )
    return np.where(np.abs(values) >= missing, np.nan, values)


def _in_order(
    frame: pd.DataFrame, month: Any, day: Any, hour: Any
) -> tuple[pd.DataFrame, list[Repair]]:
    """Put the hours of a year in the order of their dates, without 29 February.

    Raises
    ------
    WeatherError
        When a date cannot be read, or an hour stands twice or not at all.
    """
    parts = [pd.to_numeric(part, errors="coerce") for part in (month, day, hour)]
    numbers = np.stack([np.asarray(part, dtype=np.float64) for part in parts])
    leap = (numbers[0] == 2) & (numbers[1] == 29)
    repairs: list[Repair] = []
    if len(frame) == 8784 and int(leap.sum()) == 24:
        frame, numbers = frame[~leap], numbers[:, ~leap]
        repairs.append(repair(RepairKind.LEAP_DAY_LEFT_OUT))
    if len(frame) != 8760:
        return frame, repairs  # Cut off: refused by its length.
    date = pd.DataFrame({"year": 2001, "month": numbers[0], "day": numbers[1]})
    day_of_year = pd.to_datetime(date, errors="coerce").dt.day_of_year.to_numpy()
    within = numbers[2] - np.nanmin(numbers[2])
    hours = 24 * (day_of_year - 1) + within
    known = np.isfinite(hours) & (within < 24)
    if not known.all():
        row = int(np.flatnonzero(~known)[0]) + 1
        raise WeatherError(
            _(
                "the date of hour {row} of the typical year cannot be read; "
                "the file seems edited: get it again",
                row=row,
            )
        )
    at = hours.astype(np.int64)
    order = np.argsort(at, kind="stable")
    if (at[order] != np.arange(8760)).any():
        wrong = int(np.flatnonzero(at[order] != np.arange(8760))[0])
        when = np.datetime64("2001-01-01") + np.timedelta64(wrong // 24, "D")
        raise WeatherError(
            _(
                "the hours of the typical year around {day} stand twice or "
                "not at all; the file seems edited: get it again",
                day=str(when)[5:],
            )
        )
    moved = int(np.count_nonzero(order != np.arange(8760)))
    if moved:
        repairs.append(repair(RepairKind.ROWS_OUT_OF_ORDER, moved))
    return frame.iloc[order], repairs


def _add_rain(variables: dict[str, FloatArray], rain: FloatArray) -> list[Repair]:
    """Use the rain where the file has it for most of the year."""
    known = int(np.count_nonzero(np.isfinite(rain)))
    if not known or not np.nansum(rain) > 0.0:
        return [repair(RepairKind.RAIN_ABSENT)]
    if known < 0.5 * rain.size:
        return [repair(RepairKind.RAIN_SPARSE, known, of=rain.size)]
    variables["precipitation"] = rain
    return []


def _air_of(
    temperature: FloatArray, given: dict[str, FloatArray]
) -> tuple[dict[str, FloatArray], list[Repair]]:
    """Return the temperature with a humidity from the best that is given."""
    humid, repairs = humidity_from(temperature, given)
    if humid is None or not np.isfinite(humid).any():
        raise WeatherError(
            _("the file has no humidity; temperature and humidity are both needed")
        )
    return {"air_temperature": temperature, "relative_humidity": humid}, repairs
