"""NOAA Local Climatological Data: hourly reports and daily summaries in one table.

Local standard time without an offset. Values carry letters: s suspect, V variable, T
trace, M missing, * and blanks. The first edition gives °F, inches and miles an hour,
the second °C, mm and m/s, neither says so: the humidity of the same rows tells, else
the form of the station number does. Only reports of kind FM-12, FM-15 and FM-16 are
readings; SOD and SOM sum up days and months.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.physics.moist_air import relative_humidity, saturation_vapour_pressure
from emcforecast.weather.archives.hours import Floats, Notes, humidity
from emcforecast.weather.archives.noaa import ATTRIBUTION, LICENCE
from emcforecast.weather.archives.payload import first_line, table, times, unpack
from emcforecast.weather.archives.raw import make_raw, place_of, standard_offset
from emcforecast.weather.archives.record import Archive, Place, Request, whole_years
from emcforecast.weather.archives.scale import scaled
from emcforecast.weather.archives.stations import STATIONS_ISD, read_isd_joined
from emcforecast.weather.formats import Hints

ELEMENTS = {
    "air_temperature": "HourlyDryBulbTemperature",
    "dew_point": "HourlyDewPointTemperature",
    "relative_humidity": "HourlyRelativeHumidity",
    "precipitation": "HourlyPrecipitation",
    "wind_speed": "HourlyWindSpeed",
}
ABOUT = (
    *("STATION", "NAME", "DATE", "datetime", "REPORT_TYPE", "REPORTTYPE"),
    *("LATITUDE", "LONGITUDE", "ELEVATION"),
)
READINGS = ("FM-12", "FM-15", "FM-16")
AMERICAN = {
    "air_temperature": "F",
    "dew_point": "F",
    "relative_humidity": "%",
    "precipitation": "in",
    "wind_speed": "mph",
}
METRIC = {
    "air_temperature": "C",
    "dew_point": "C",
    "relative_humidity": "%",
    "precipitation": "mm",
    "wind_speed": "m/s",
}


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request.

    Parameters
    ----------
    place : Place
        With the station as USAF and WBAN, eleven digits.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        In order of time.
    """
    root = "https://www.ncei.noaa.gov/data/local-climatological-data/access"
    station = place.station.replace("-", "")
    return [
        Request(
            f"{root}/{first.year}/{station}.csv",
            label=str(first.year),
            last=date(first.year, 12, 31),
        )
        for first, _ in whole_years(start, end)
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply of either edition.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        ``utc_offset`` where the longitude would mislead; ``temperature_unit``.

    Returns
    -------
    xarray.Dataset
        Reports.

    Raises
    ------
    ArchiveError
        For no rows, or no temperature or humidity.
    """
    wanted = (*ABOUT, *ELEMENTS.values())
    frame = table(unpack(payload), columns=wanted, text=wanted, missing=("NA",))
    notes = Notes()
    notes.count(frame.attrs["broken"], "broken line", "left out")
    frame = _readings(frame, notes)
    values = {
        ours: _plain(frame[theirs], theirs, notes)
        for ours, theirs in ELEMENTS.items()
        if theirs in frame
    }
    station = _first(frame, "STATION")
    units = _units(values, station, hints, notes)
    values = {
        name: scaled(column, units[name], name, "LCD")
        for name, column in values.items()
    }
    place = place_of(
        hints,
        **{
            name: _number(_first(frame, name.upper()))
            for name in ("latitude", "longitude", "elevation")
        },
    )
    name = _first(frame, "NAME")
    # Names end in the country where they are long enough to.
    abroad = "," in name and not name.endswith("US")
    offset, sentence = standard_offset(hints, place, "LCD", "" if abroad else "US")
    notes.lines.append(sentence)
    when = frame["DATE"] if "DATE" in frame else frame["datetime"]
    shift = np.timedelta64(round(offset * 60), "m")
    dew_point = values.pop("dew_point", None)
    given = values.pop("relative_humidity", None)
    humid = None
    if "air_temperature" in values:
        humid = humidity(
            values["air_temperature"], notes, given=given, dew_point=dew_point
        )
    return make_raw(
        np.asarray(times(when.str.strip()) - shift),
        {**values, "relative_humidity": humid},
        archive="LCD",
        step="hour",
        kind="observed",
        source="NOAA Local Climatological Data",
        licence=LICENCE,
        attribution=ATTRIBUTION,
        notes=notes.lines,
        preceding=("precipitation",),
        about={
            **place,
            "station": station,
            "place": name,
            "utc_offset": offset,
        },
    )


def _readings(frame: pd.DataFrame, notes: Notes) -> pd.DataFrame:
    if not {"DATE", "datetime"} & set(frame.columns):
        raise ArchiveError(
            "the LCD reply has no DATE column; fetch it with all its columns"
        )
    name = next((n for n in ("REPORT_TYPE", "REPORTTYPE") if n in frame), None)
    if name is None:
        return frame
    kept = frame[name].fillna("").str.strip().isin(READINGS)
    if not kept.any() and len(frame):
        raise ArchiveError(
            "the LCD reply holds daily or monthly summaries only, no hourly readings; "
            "fetch the hourly ones"
        )
    notes.count(int((~kept).sum()), "summary row", "left out")
    return frame[kept].reset_index(drop=True)


def _first(frame: pd.DataFrame, name: str) -> str:
    known = frame[name].dropna() if name in frame else pd.Series(dtype=str)
    return str(known.iloc[0]).strip() if len(known) else ""


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _plain(column: pd.Series[str], name: str, notes: Notes) -> Floats:
    """Take the letters off; suspect values go, a trace is none."""
    text = column.fillna("").astype(str).str.strip()
    suspect = text.str.endswith("s")
    trace = text == "T"
    what = name.removeprefix("Hourly")
    notes.count(int(suspect.sum()), f"{what} value", "marked suspect, left out")
    notes.count(int(trace.sum()), "trace of rain", "counted as none", "traces of rain")
    bare = text.str.removesuffix("V").str.removesuffix("*").where(~suspect, "")
    bare = bare.where(~trace, "0")
    return pd.to_numeric(bare, errors="coerce").to_numpy(dtype=np.float64)


def _units(
    values: dict[str, Floats], station: str, hints: Hints, notes: Notes
) -> dict[str, str]:
    if hints.temperature_unit is not None:
        return METRIC if hints.temperature_unit == "C" else AMERICAN
    units, how = (AMERICAN, "") if station[:1].isdigit() else (METRIC, "")
    if {"air_temperature", "dew_point", "relative_humidity"} <= set(values):
        errors = [_misfit(values, unit) for unit in ("F", "C")]
        if np.isfinite(errors).all():
            units = AMERICAN if errors[0] <= errors[1] else METRIC
            how = ", as its humidity shows"
    scale = "°F, inches and mph" if units is AMERICAN else "°C, mm and m/s"
    notes.lines.append(f"units taken as {scale}{how}")
    return units


def _misfit(values: dict[str, Floats], unit: str) -> float:
    """Median distance (% RH) of stated humidity from that of the two temperatures."""
    t = scaled(values["air_temperature"], unit, "air_temperature", "LCD")
    t_d = scaled(values["dew_point"], unit, "dew_point", "LCD")
    e_pa = saturation_vapour_pressure(t_d)
    off = np.abs(relative_humidity(t, e_pa) - values["relative_humidity"])
    return float(np.median(off[np.isfinite(off)])) if np.isfinite(off).any() else np.nan


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply.

    Parameters
    ----------
    head : bytes
        Beginning of the file, packed or not.
    name : str
        Its name, which is not looked at.

    Returns
    -------
    bool
        True for an LCD table.
    """
    columns = [part.strip('" ') for part in first_line(head).split(",")]
    return "STATION" in columns and any(
        column.startswith(("HourlyDry", "HourlyDew", "HourlyRel", "HourlyWind"))
        for column in columns
    )


ARCHIVE = Archive(
    id="lcd",
    title="NOAA Local Climatological Data",
    kind="observed",
    step="hour",
    by="station",
    coverage="about 2,400 airports, most in the United States",
    since=1931,
    variables=("air_temperature", "relative_humidity", "precipitation", "wind_speed"),
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits="no key; be moderate",
    requests=requests,
    parse=parse,
    stations=STATIONS_ISD,
    read_stations=read_isd_joined,
)
