"""NASA POWER: MERRA-2 weather and CERES sun at a point; hours, days, months, normals.

Reply: JSON, or CSV after a header between two marker lines. Stamps are the start of
their interval. Units are read from the reply: precipitation of the hourly product may
be in mm/day. -999 is missing. Month 13 and ANN are annual values and are dropped. The
clock is UTC when asked for, else local solar time: the reply says which.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, Stamps, humidity
from emcforecast.weather.archives.payload import (
    decode,
    document,
    first_line,
    numbers,
    table,
    unpack,
    unpack_head,
)
from emcforecast.weather.archives.raw import make_raw, place_of
from emcforecast.weather.archives.record import Archive, Place, Request, whole_years
from emcforecast.weather.archives.scale import plain, scaled
from emcforecast.weather.formats import Hints
from emcforecast.weather.series import NOMINAL_YEAR
from emcforecast.weather.years import in_nanoseconds

LICENCE = "free use, acknowledgement asked"
ATTRIBUTION = (
    "Data from the NASA Langley Research Center POWER project "
    "(https://power.larc.nasa.gov/)"
)
ROOT = "https://power.larc.nasa.gov/api/temporal"
ASKED = "T2M,RH2M,T2MDEW,QV2M,PS,PRECTOTCORR,WS10M,ALLSKY_SFC_SW_DWN"
ASKED_DAILY = f"{ASKED},T2M_MIN,T2M_MAX"
#: Ours, theirs in order of preference, and the unit when the reply states none.
NAMES = {
    "air_temperature": (("T2M", "C"),),
    "air_temperature_min": (("T2M_MIN", "C"),),
    "air_temperature_max": (("T2M_MAX", "C"),),
    "relative_humidity": (("RH2M", "%"),),
    "dew_point": (("T2MDEW", "C"),),
    "specific_humidity": (("QV2M", "g/kg"),),
    "pressure": (("PS", "kPa"),),
    "precipitation": (("PRECTOTCORR", ""), ("PRECTOT", "")),
    "wind_speed": (("WS10M", "m/s"), ("WS2M", "m/s")),
    "shortwave": (("ALLSKY_SFC_SW_DWN", ""),),
}
#: Wind at 10 m over wind at 2 m above short grass: FAO-56 equation 47.
TWO_TO_TEN = float(np.log(67.8 * 10 - 5.42) / 4.87)
MONTHS = (
    *("JAN", "FEB", "MAR", "APR", "MAY", "JUN"),
    *("JUL", "AUG", "SEP", "OCT", "NOV", "DEC"),
)
MISSING = -999.0
HOURS_A_DAY = 24.0


def _query(place: Place, asked: str) -> tuple[tuple[str, str], ...]:
    return (
        ("parameters", asked),
        ("community", "ag"),
        ("longitude", f"{place.longitude:.5f}"),
        ("latitude", f"{place.latitude:.5f}"),
        ("format", "json"),
    )


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for hours, one calendar year a request.

    Parameters
    ----------
    place : Place
        Where.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        In order of time.
    """
    return _spans(place, start, end, "hourly", ASKED)


def daily_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for days; parameters as in `requests`.

    Parameters
    ----------
    place : Place
        Where.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        In order of time.
    """
    return _spans(place, start, end, "daily", ASKED_DAILY)


def _spans(
    place: Place, start: date, end: date, step: str, asked: str
) -> list[Request]:
    return [
        Request(
            f"{ROOT}/{step}/point",
            (
                *_query(place, asked),
                ("start", first.strftime("%Y%m%d")),
                ("end", last.strftime("%Y%m%d")),
                ("time-standard", "UTC"),
            ),
            label=str(first.year),
            last=last,
        )
        for first, last in whole_years(start, end)
    ]


def monthly_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for months: whole years, in one request.

    Parameters
    ----------
    place : Place
        Where.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        One.
    """
    return [
        Request(
            f"{ROOT}/monthly/point",
            (
                *_query(place, ASKED_DAILY),
                ("start", str(start.year)),
                ("end", str(end.year)),
            ),
            label=f"{start.year} to {end.year}",
            last=end,
        )
    ]


def climatology_requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for the twelve normals; the span is the archive's own.

    Parameters
    ----------
    place : Place
        Where.
    start, end : datetime.date
        Not used.

    Returns
    -------
    list of Request
        One.
    """
    return [
        Request(
            f"{ROOT}/climatology/point",
            _query(place, ASKED_DAILY),
            label="twelve normals",
        )
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply of any step, JSON or CSV.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        Fills in a place the reply lacks.

    Returns
    -------
    xarray.Dataset
        Hours, days, months or the twelve normals.

    Raises
    ------
    ArchiveError
        For an error reply, no rows, or no temperature or humidity.
    """
    payload = unpack(payload)
    if payload.lstrip()[:1] == b"{":
        return _from_json(document(payload, "NASA POWER"), hints)
    return _from_csv(payload, hints)


def _from_json(reply: Mapping[str, Any], hints: Hints) -> xr.Dataset:
    try:
        parameters = reply["properties"]["parameter"]
    except (KeyError, TypeError) as error:
        said = reply.get("messages") or reply.get("detail") or reply.get("errors")
        raise ArchiveError(
            f"NASA POWER sent no data: {said or 'no parameters in the reply'}"
        ) from error
    header = reply.get("header", {})
    units = {
        name: str(item.get("units", ""))
        for name, item in reply.get("parameters", {}).items()
    }
    spot = list(reply.get("geometry", {}).get("coordinates", []))
    longitude, latitude, elevation = [*spot, None, None, None][:3]
    keys = list(dict.fromkeys(key for item in parameters.values() for key in item))
    columns = {
        name: np.array([_value(item.get(key)) for key in keys], dtype=np.float64)
        for name, item in parameters.items()
    }
    place = place_of(hints, latitude=latitude, longitude=longitude, elevation=elevation)
    fill = float(header.get("fill_value", MISSING))
    standard = str(header.get("time_standard", ""))
    if keys and keys[0].upper() in (*MONTHS, "ANN"):
        return _normals(keys, columns, units, fill, place)
    return _series(_key_stamps(keys), columns, units, fill, standard, place)


def _value(value: object) -> float:
    return float(value) if isinstance(value, (int, float)) else float("nan")


def _key_stamps(keys: list[str]) -> tuple[Stamps, str]:
    size = len(keys[0]) if keys else 8
    step = {6: "month", 8: "day", 10: "hour"}.get(size)
    if step is None or not all(key.isdigit() and len(key) == size for key in keys):
        raise ArchiveError(f"NASA POWER times such as {keys[0]!r} are not understood")

    def part(start: int, stop: int, least: int) -> Floats:
        return np.array([float(key[start:stop] or least) for key in keys])

    return _stamps(part(0, 4, 1), part(4, 6, 1), part(6, 8, 1), part(8, 10, 0)), step


def _stamps(year: Floats, month: Floats, day: Floats, hour: Floats) -> Stamps:
    """Put times together; month 13, the annual value, becomes NaT."""
    known = np.isfinite(year + month + day + hour) & (month <= 12)
    months = np.where(known, (year - 1970) * 12 + month - 1, 0).astype(np.int64)
    hours = np.where(known, (day - 1) * 24 + hour, 0).astype("timedelta64[h]")
    stamps = months.astype("datetime64[M]").astype("datetime64[h]") + hours
    stamps[~known] = np.datetime64("NaT")
    return in_nanoseconds(stamps)


def _from_csv(payload: bytes, hints: Hints) -> xr.Dataset:
    lines = decode(payload).replace("\r\n", "\n").split("\n")
    end = next(
        (n for n, line in enumerate(lines) if line.startswith("-END HEADER-")), -1
    )
    header = "\n".join(lines[: end + 1])
    units = {
        match[1]: match[2].strip()
        for match in re.finditer(r"^([A-Z][A-Z0-9_]+) +.*\(([^()]*)\) *$", header, re.M)
    }
    found = {
        "latitude": _search(r"latitude\s+(-?[\d.]+)", header),
        "longitude": _search(r"longitude\s+(-?[\d.]+)", header),
        "elevation": _search(r"elevation.*=\s*(-?[\d.]+)\s*meters", header),
    }
    fill = _search(r"missing.*:\s*(-?[\d.]+)", header)
    standard = re.search(r"\bin (UTC|LST)\b", header)
    place = place_of(hints, **found)
    frame = table("\n".join(lines[end + 1 :]).encode(), text=("PARAMETER",))
    names = [str(name) for name in frame.columns]
    if "PARAMETER" in names:
        return _from_rows(frame, units, MISSING if fill is None else fill, place)
    missing = [name for name in ("YEAR",) if name not in names]
    if missing or not {"MO", "DOY"} & set(names):
        raise ArchiveError(
            f"the NASA POWER table has no dates (columns: {', '.join(names)})"
        )

    def part(name: str, otherwise: float) -> Floats:
        found = numbers(frame, name)
        return np.full(len(frame), otherwise) if found is None else found

    day = part("DOY", 1.0) if "DOY" in names else part("DY", 1.0)
    stamps = _stamps(part("YEAR", np.nan), part("MO", 1.0), day, part("HR", 0.0))
    step = "hour" if "HR" in names else "month"
    step = "day" if step == "month" and {"DY", "DOY"} & set(names) else step
    columns = {
        name: column
        for name in names
        if name not in ("YEAR", "MO", "DY", "HR", "DOY")
        and (column := numbers(frame, name)) is not None
    }
    return _series(
        (stamps, step),
        columns,
        units,
        MISSING if fill is None else fill,
        standard[1] if standard else "",
        place,
    )


def _search(pattern: str, text: str) -> float | None:
    match = re.search(pattern, text, re.I)
    return float(match[1]) if match else None


def _from_rows(
    frame: pd.DataFrame,
    units: Mapping[str, str],
    fill: float,
    place: dict[str, float | None],
) -> xr.Dataset:
    """Read the layout with a row for each parameter and a column for each month."""
    if "YEAR" not in frame:
        columns = {
            str(row["PARAMETER"]): np.array([float(row[name]) for name in MONTHS])
            for _, row in frame.iterrows()
        }
        return _normals(list(MONTHS), columns, units, fill, place)
    years = sorted({int(year) for year in frame["YEAR"]})
    keys = [f"{year}{month:02d}" for year in years for month in range(1, 13)]
    columns = {}
    for name, block in frame.groupby("PARAMETER", sort=False):
        grid = block.set_index("YEAR").reindex(years)[list(MONTHS)]
        columns[str(name)] = grid.to_numpy(dtype=np.float64).ravel()
    return _series(_key_stamps(keys), columns, units, fill, "", place)


def _pick(
    columns: Mapping[str, Floats],
    units: Mapping[str, str],
    fill: float,
    step: str,
    notes: Notes,
) -> dict[str, Floats]:
    values: dict[str, Floats] = {}
    for ours, theirs in NAMES.items():
        hit = next(((n, unit) for n, unit in theirs if n in columns), None)
        if hit is None:
            continue
        name, usual = hit
        column = np.where(columns[name] <= fill + 0.5, np.nan, columns[name])
        unit = units.get(name) or usual
        if ours == "precipitation":
            column = _depth(column, unit, step)
        else:
            column = scaled(column, unit, ours, "NASA POWER")
        if name == "WS2M":
            column = column * TWO_TO_TEN
            notes.lines.append("wind at 2 m carried to 10 m by the logarithmic profile")
        values[ours] = column
    return values


def _depth(column: Floats, unit: str, step: str) -> Floats:
    """Precipitation in mm per step, from a rate or an amount."""
    per_day = plain(unit) in ("mm/day", "mm/d", "mmday-1")
    if not per_day and plain(unit) not in ("mm", "mm/hour", "mm/hr", "mm/h"):
        raise ArchiveError(
            f"NASA POWER gives precipitation in {unit!r}; known: mm/day, mm/hour, mm"
        )
    return column / HOURS_A_DAY if per_day and step == "hour" else column


def _series(
    when: tuple[Stamps, str],
    columns: Mapping[str, Floats],
    units: Mapping[str, str],
    fill: float,
    standard: str,
    place: dict[str, float | None],
) -> xr.Dataset:
    stamps, step = when
    notes = Notes()
    values = _pick(columns, units, fill, step, notes)
    annual = np.isnat(stamps) if step == "month" else np.zeros(stamps.size, bool)
    if annual.any():
        stamps = stamps[~annual]
        values = {name: column[~annual] for name, column in values.items()}
    if standard == "LST" and step == "hour":
        stamps = _solar_to_utc(stamps, place, notes)
    elif standard == "LST" and step == "day":
        notes.lines.append("days are those of local solar time")
    if step == "month" and "precipitation" in values:
        values["precipitation"] = _month_total(values["precipitation"], units, stamps)
    return _raw(stamps, values, notes, step, "reanalysis", place)


def _month_total(column: Floats, units: Mapping[str, str], stamps: Stamps) -> Floats:
    unit = units.get("PRECTOTCORR") or units.get("PRECTOT") or "mm/day"
    if "day" not in unit:
        return column
    first = stamps.astype("datetime64[M]")
    days = (first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")
    return np.asarray(column * days.astype(np.float64), dtype=np.float64)


def _solar_to_utc(
    stamps: Stamps, place: Mapping[str, float | None], notes: Notes
) -> Stamps:
    longitude = place["longitude"]
    if longitude is None:
        raise ArchiveError(
            "the NASA POWER hours are in local solar time and the place is not told; "
            "give --longitude, or ask for time-standard=UTC"
        )
    offset = int(np.round(longitude / 15.0))
    notes.lines.append(f"local solar time taken as UTC{offset:+d} h from the longitude")
    return np.asarray(stamps - np.timedelta64(offset, "h"))


def _normals(
    keys: list[str],
    columns: Mapping[str, Floats],
    units: Mapping[str, str],
    fill: float,
    place: dict[str, float | None],
) -> xr.Dataset:
    upper = [key.upper() for key in keys]
    order = [upper.index(name) for name in MONTHS if name in upper]
    if len(order) != 12:
        raise ArchiveError("the NASA POWER climatology does not hold twelve months")
    notes = Notes()
    ordered = {name: column[order] for name, column in columns.items()}
    values = _pick(ordered, units, fill, "month", notes)
    first = np.datetime64(f"{NOMINAL_YEAR}-01", "M")
    stamps = np.asarray((first + np.arange(12)).astype("datetime64[ns]"))
    if "precipitation" in values:
        values["precipitation"] = _month_total(values["precipitation"], units, stamps)
    return _raw(stamps, values, notes, "month", "normals", place)


def _raw(
    stamps: Stamps,
    values: dict[str, Floats],
    notes: Notes,
    step: str,
    kind: str,
    place: dict[str, float | None],
) -> xr.Dataset:
    parts = {
        name: values.pop(name, None)
        for name in ("relative_humidity", "dew_point", "specific_humidity", "pressure")
    }
    if "air_temperature" in values:
        humid = humidity(
            values["air_temperature"],
            notes,
            given=parts["relative_humidity"],
            dew_point=parts["dew_point"],
            specific=parts["specific_humidity"],
            pressure=parts["pressure"],
        )
        if humid is not None:
            values["relative_humidity"] = humid
    return make_raw(
        stamps,
        values,
        archive="NASA POWER",
        step=step,
        kind=kind,
        source="NASA POWER (MERRA-2, CERES)",
        licence=LICENCE,
        attribution=ATTRIBUTION,
        notes=notes.lines,
        about=place,
    )


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
        True for a NASA POWER reply.
    """
    start = unpack_head(head).lstrip(b"\xef\xbb\xbf \r\n\t")
    if start[:1] == b"{":
        return (b'"parameter"' in start and b'"properties"' in start) or (
            b"POWER" in start and b'"messages"' in start
        )
    line = first_line(head)
    return line.startswith("-BEGIN HEADER-") or line.startswith(
        (
            "YEAR,MO,DY,HR,",
            "YEAR,MO,DY,",
            "YEAR,DOY,",
            "PARAMETER,YEAR,JAN",
            "PARAMETER,JAN",
        )
    )


HOURLY = Archive(
    id="nasa-power",
    title="NASA POWER, hourly",
    kind="reanalysis",
    step="hour",
    by="place",
    coverage="whole world, 2001 to a few days ago, 50 km grid",
    since=2001,
    variables=(
        "air_temperature",
        "relative_humidity",
        "precipitation",
        "wind_speed",
        "shortwave",
    ),
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits="no key; be moderate, one request at a time",
    requests=requests,
    parse=parse,
    pause=1.0,
)
DAILY = Archive(
    id="nasa-power-daily",
    title="NASA POWER, daily",
    kind="reanalysis",
    step="day",
    by="place",
    coverage="whole world, 1981 to a few days ago, 50 km grid",
    since=1981,
    variables=HOURLY.variables,
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits=HOURLY.limits,
    requests=daily_requests,
    parse=parse,
    pause=1.0,
)
MONTHLY = Archive(
    id="nasa-power-monthly",
    title="NASA POWER, monthly means",
    kind="reanalysis",
    step="month",
    by="place",
    coverage="whole world, 1981 to last year, 50 km grid",
    since=1981,
    variables=HOURLY.variables,
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits=HOURLY.limits,
    requests=monthly_requests,
    parse=parse,
    pause=1.0,
)
CLIMATOLOGY = Archive(
    id="nasa-power-normals",
    title="NASA POWER, twelve monthly normals",
    kind="normals",
    step="month",
    by="place",
    coverage="whole world, normals of 2001 to 2020, 50 km grid",
    since=2001,
    variables=HOURLY.variables,
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits=HOURLY.limits,
    requests=climatology_requests,
    parse=parse,
    pause=1.0,
)
