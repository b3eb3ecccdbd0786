"""Station lists of the archives, each to the same short record."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.record import Station
from emcforecast.weather.archives.tables import document, table
from emcforecast.weather.formats.content import decode

STATIONS_ISD = "https://www.ncei.noaa.gov/pub/data/noaa/isd-history.csv"
STATIONS_GHCNH = (
    "https://www.ncei.noaa.gov/oa/global-historical-climatology-network/hourly/"
    "doc/ghcnh-station-list.csv"
)
STATIONS_METEOSTAT = "https://bulk.meteostat.net/v2/stations/lite.json.gz"
STATIONS_DWD = (
    "https://opendata.dwd.de/climate_environment/CDC/observations_germany/climate/"
    "hourly/air_temperature/recent/TU_Stundenwerte_Beschreibung_Stationen.txt"
)
STATIONS_ECCC = (
    "https://collaboration.cmc.ec.gc.ca/cmc/climate/"
    "Get_More_Data_Plus_de_donnees/Station%20Inventory%20EN.csv"
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


def _make(
    station: object,
    name: object,
    where: tuple[object, object, object],
    years: tuple[object, object] = ("", ""),
) -> Station | None:
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


def _kept(found: list[Station | None], archive: str) -> list[Station]:
    stations = [station for station in found if station is not None]
    if not stations:
        raise ArchiveError(
            f"the station list of {archive} is not of the expected shape; "
            "name the station instead"
        )
    return stations


def _rows(frame: pd.DataFrame, names: tuple[str, ...], archive: str) -> list[Any]:
    lacking = [name for name in names if name not in frame]
    if lacking:
        raise ArchiveError(
            f"the station list of {archive} has no column {lacking[0]!r}; "
            "name the station instead"
        )
    return list(frame[list(names)].itertuples(index=False, name=None))


def read_isd_history(payload: bytes) -> list[Station]:
    """Read the station list of the Integrated Surface Database."""
    names = ("USAF", "WBAN", "STATION NAME", "LAT", "LON", "ELEV(M)", "BEGIN", "END")
    frame = table(payload, columns=names, text=names).fillna("")
    rows = _rows(frame, names, "ISD")
    return _kept(
        [
            _make(f"{usaf}-{wban}", name, (lat, lon, up), (first, last))
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
            found.append(_make(row["id"], row["name"], where))
    return _kept(found, "GHCNh")


def read_us(payload: bytes) -> list[Station]:
    """Read the GHCNh list for the stations that have hourly normals."""
    return [item for item in read_ghcnh(payload) if item.id.startswith("USW")]


def read_meteostat(payload: bytes) -> list[Station]:
    """Read the station list of Meteostat."""
    listed = document(payload, "Meteostat station list")
    if not isinstance(listed, list):
        raise ArchiveError("the station list of Meteostat is not a list")
    return _kept([_one_meteostat(item) for item in listed], "Meteostat")


def _one_meteostat(item: Mapping[str, Any]) -> Station | None:
    spot = item.get("location", {})
    hourly = (item.get("inventory") or {}).get("hourly") or {}
    name = item.get("name", "")
    return _make(
        item.get("id", ""),
        name.get("en", "") if isinstance(name, dict) else name,
        (spot.get("latitude"), spot.get("longitude"), spot.get("elevation")),
        (hourly.get("start", ""), hourly.get("end", "")),
    )


def read_dwd(payload: bytes) -> list[Station]:
    """Read the station list of the DWD, in Latin-1."""
    pattern = re.compile(
        r"\s*(\d+)\s+(\d{8})\s+(\d{8})\s+(-?[\d.]+)\s+(-?[\d.]+)\s+(-?[\d.]+)\s+(.+)"
    )
    found = []
    for line in payload.decode("latin-1").splitlines():
        match = pattern.match(line)
        if match:
            number, first, last, up, lat, lon, rest = match.groups()
            name = re.split(r"\s{2,}", rest.strip())[0]
            found.append(_make(number.zfill(5), name, (lat, lon, up), (first, last)))
    return _kept(found, "DWD")


def read_eccc(payload: bytes) -> list[Station]:
    """Read the station inventory of Environment and Climate Change Canada."""
    text = decode(payload)
    lines = text.splitlines()
    start = next((n for n, line in enumerate(lines) if "Station ID" in line), 0)
    names = (
        *("Station ID", "Name", "Latitude (Decimal Degrees)"),
        *("Longitude (Decimal Degrees)", "Elevation (m)"),
        *("HLY First Year", "HLY Last Year"),
    )
    frame = table("\n".join(lines[start:]).encode(), columns=names, text=names).fillna(
        ""
    )
    rows = _rows(frame, names, "Environment Canada")
    return _kept(
        [
            _make(number, name, (lat, lon, up), (first, last))
            for number, name, lat, lon, up, first, last in rows
            if str(first)
        ],
        "Environment Canada",
    )
