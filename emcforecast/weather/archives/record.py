"""What an archive is: its terms, what to ask for, and how its reply is read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.tables import table
from emcforecast.weather.formats.content import decode

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.weather.hints import Hints


#: What stations report.
REPORTED = ("air_temperature", "relative_humidity", "precipitation", "wind_speed")
#: What models of the whole world hold.
MODELLED = (*REPORTED, "shortwave")
#: Licence and attribution of NOAA.
NOAA = (
    "public domain (US Government work)",
    "NOAA National Centers for Environmental Information (https://www.ncei.noaa.gov/)",
)


@dataclass(frozen=True)
class Place:
    """Where weather is asked for.

    Attributes
    ----------
    latitude, longitude : float
        Degrees north and east; longitude -180 to 180.
    station : str, optional
        The archive's own station number, for archives of stations.
    elevation : float, optional
        Height above the sea (m).
    utc_offset : float, optional
        Local standard time minus UTC (h).
    name : str, optional
        What people call it.
    """

    latitude: float = float("nan")
    longitude: float = float("nan")
    station: str = ""
    elevation: float | None = None
    utc_offset: float | None = None
    name: str = ""


@dataclass(frozen=True)
class Request:
    """One thing to ask of an archive.

    Attributes
    ----------
    url : str
        Address, without the query.
    params : tuple of (str, str)
        The query.
    label : str
        What it brings, in words for a progress line, such as "2014".
    last : datetime.date, optional
        Last day it covers; None when it covers up to the present.
    body : str
        JSON body of a job to be run by the archive; "" for an ordinary request.
    """

    url: str
    params: tuple[tuple[str, str], ...] = ()
    label: str = ""
    last: date | None = None
    body: str = ""


@dataclass(frozen=True)
class Origin:
    """What every series of one archive says of itself.

    `archive` is whose reply it is, for the errors; the others are as in the weather
    series.
    """

    archive: str
    source: str
    licence: str
    attribution: str
    kind: str = "observed"


@dataclass(frozen=True)
class Archive:
    """An open weather archive.

    Attributes
    ----------
    id : str
        Short name used in commands.
    title : str
        What it is called.
    origin : Origin
        Its source, licence, attribution (the line shown with every result) and kind:
        "observed", "reanalysis", "normals" or "forecast".
    coverage : str
        Where and when it has weather.
    since : int
        First year it may have.
    requests : callable
        ``requests(place, start, end) -> list[Request]``; pure: what to ask for a place
        or station from the first to the last day, in order of time.
    parse : callable
        ``parse(payload, hints) -> Dataset``; pure: hours (or days, months) in UTC,
        start of interval, units of the weather series, missing left missing; the hints
        fill in what the reply does not say. Raises `ArchiveError` for no rows, for no
        temperature or humidity, and for a reply of another shape.
    step : str
        "hour", "day" or "month".
    by : {"place", "station"}
        Whether it is asked for a place or for a station.
    variables : tuple of str
        Variables of the weather series it can fill.
    limits : str
        What a fair user keeps to.
    pause : float
        Least time between two requests (s).
    key : str
        Environment variable with the user's key; "" when none is needed.
    stations : str
        Address of its station list; "" when it has none.
    read_stations : callable, optional
        ``read_stations(payload) -> list[Station]``; pure.
    """

    id: str
    title: str
    origin: Origin
    coverage: str
    since: int
    requests: Callable[[Place, date, date], list[Request]]
    parse: Callable[[bytes, Hints], xr.Dataset]
    step: str = "hour"
    by: str = "station"
    variables: tuple[str, ...] = REPORTED
    limits: str = "no key; be moderate"
    pause: float = 0.2
    key: str = ""
    stations: str = ""
    read_stations: Callable[[bytes], list[Station]] | None = None

    @property
    def kind(self) -> str:
        """What its weather is."""
        return self.origin.kind

    @property
    def licence(self) -> str:
        """Its terms of use."""
        return self.origin.licence

    @property
    def attribution(self) -> str:
        """The line shown with every result."""
        return self.origin.attribution


@dataclass(frozen=True)
class Station:
    """One line of an archive's station list.

    Attributes
    ----------
    id : str
        The archive's own number.
    name : str
        What it is called.
    latitude, longitude : float
        Degrees north and east.
    elevation : float, optional
        Height above the sea (m).
    first, last : int, optional
        First and last year with data, where the list says so.
    """

    id: str
    name: str
    latitude: float
    longitude: float
    elevation: float | None = None
    first: int | None = None
    last: int | None = None


def whole_years(start: date, end: date) -> list[tuple[date, date]]:
    """Split a span into calendar years.

    Examples
    --------
    >>> whole_years(date(2020, 6, 1), date(2021, 2, 1))[1]
    (datetime.date(2021, 1, 1), datetime.date(2021, 2, 1))
    """
    return [
        (max(start, date(year, 1, 1)), min(end, date(year, 12, 31)))
        for year in range(start.year, end.year + 1)
    ]


def by_year(start: date, end: date, address: Callable[[int], str]) -> list[Request]:
    """Ask for whole calendar years, one file each.

    Examples
    --------
    >>> asked = by_year(date(2020, 6, 1), date(2021, 2, 1), "x/{}.csv".format)
    >>> [(item.url, item.last.isoformat()) for item in asked]
    [('x/2020.csv', '2020-12-31'), ('x/2021.csv', '2021-12-31')]
    """
    return [
        Request(address(year), label=str(year), last=date(year, 12, 31))
        for year in range(start.year, end.year + 1)
    ]


STATIONS_ISD = "https://www.ncei.noaa.gov/pub/data/noaa/isd-history.csv"
STATIONS_GHCNH = (
    "https://www.ncei.noaa.gov/oa/global-historical-climatology-network/hourly/"
    "doc/ghcnh-station-list.csv"
)
GHCNH_COLUMNS = ("id", "latitude", "longitude", "elevation", "state", "name")


def _float(value: object) -> float | None:
    try:
        number = float(str(value))
    except ValueError:
        return None
    return None if np.isnan(number) or number <= -999 else number


def _year(value: object) -> int | None:
    digits = str(value)[:4]
    return int(digits) if digits.isdigit() else None


def make_station(
    station: object,
    name: object,
    where: tuple[object, object, object],
    years: tuple[object, object] = ("", ""),
) -> Station | None:
    """Return a station of latitude, longitude, height; None where it has no place."""
    latitude, longitude, elevation = (_float(value) for value in where)
    if latitude is None or longitude is None or (latitude == 0 == longitude):
        return None
    return Station(
        str(station),
        str(name).strip(),
        latitude,
        longitude,
        elevation,
        _year(years[0]),
        _year(years[1]),
    )


def kept_stations(found: list[Station | None], archive: str) -> list[Station]:
    """Return the stations that have a place; refuse a list without any."""
    stations = [station for station in found if station is not None]
    if not stations:
        raise ArchiveError(
            _(
                "the station list of {archive} is not of the expected shape; "
                "name the station instead",
                archive=archive,
            )
        )
    return stations


def station_rows(
    frame: pd.DataFrame, names: tuple[str, ...], archive: str
) -> list[Any]:
    """Return the rows of some columns; refuse a list that lacks one."""
    lacking = [name for name in names if name not in frame]
    if lacking:
        raise ArchiveError(
            _(
                "the station list of {archive} has no column {lacking!r}; "
                "name the station instead",
                archive=archive,
                lacking=lacking[0],
            )
        )
    return list(frame[list(names)].itertuples(index=False, name=None))


def read_isd_history(payload: bytes) -> list[Station]:
    """Read the station list of the Integrated Surface Database."""
    names = ("USAF", "WBAN", "STATION NAME", "LAT", "LON", "ELEV(M)", "BEGIN", "END")
    frame = table(payload, columns=names, text=names).fillna("")
    rows = station_rows(frame, names, "ISD")
    return kept_stations(
        [
            make_station(f"{usaf}-{wban}", name, (lat, lon, up), (first, last))
            for usaf, wban, name, lat, lon, up, first, last in rows
        ],
        "ISD",
    )


def read_isd_joined(payload: bytes) -> list[Station]:
    """Read the same list for archives that write USAF and WBAN without a hyphen."""
    return [
        Station(**{**vars(station), "id": station.id.replace("-", "")})
        for station in read_isd_history(payload)
    ]


def read_ghcnh(payload: bytes) -> list[Station]:
    """Read the station list of GHCNh, with or without its header."""
    lines = decode(payload).splitlines()
    if lines and _float(lines[0].split(",")[1:2][0] if "," in lines[0] else "") is None:
        lines = lines[1:]
    found = []
    for line in lines:
        parts = [part.strip().strip('"') for part in line.split(",")]
        if len(parts) >= len(GHCNH_COLUMNS):
            row = dict(zip(GHCNH_COLUMNS, parts, strict=False))
            where = (row["latitude"], row["longitude"], row["elevation"])
            found.append(make_station(row["id"], row["name"], where))
    return kept_stations(found, "GHCNh")


def read_us(payload: bytes) -> list[Station]:
    """Read the GHCNh list for the stations that have hourly normals."""
    return [item for item in read_ghcnh(payload) if item.id.startswith("USW")]
