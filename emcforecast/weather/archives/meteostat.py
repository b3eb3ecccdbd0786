"""Meteostat: hourly weather of stations, put together from several services.

Reply: gzip of CSV with the source of every value beside it; or the older one without a
header; or the JSON answer. UTC. °C, whole %, mm of the hour before, km/h. Where the
source is a model and not a station it is counted, as the terms ask.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.raw import place_of, series_of_reports
from emcforecast.weather.archives.record import (
    Archive,
    Origin,
    Place,
    Request,
    Station,
    by_year,
    kept_stations,
    make_station,
)
from emcforecast.weather.archives.tables import (
    counted_table,
    document,
    numbers,
    scaled,
    times,
)
from emcforecast.weather.formats.content import bare_start, first_line
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, counted
from emcforecast.weather.times.calendar import in_nanoseconds

ROOT = "https://data.meteostat.net/hourly"
ORIGIN = Origin(
    "Meteostat",
    "Meteostat",
    "CC BY 4.0",
    "Weather data by Meteostat (https://meteostat.net/), CC BY 4.0",
)
#: Columns of the older reply, which has no header.
OLD = (
    *("date", "hour", "temp", "dwpt", "rhum", "prcp", "snow"),
    *("wdir", "wspd", "wpgt", "pres", "tsun", "coco"),
)
NAMES = ("temp", "dwpt", "rhum", "prcp", "wspd")
TIMES = ("year", "month", "day", "hour", "date", "time")


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request."""
    return by_year(start, end, lambda year: f"{ROOT}/{year}/{place.station}.csv.gz")


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply of any of the three kinds."""
    text = payload
    repairs: list[Repair] = []
    if text.lstrip()[:1] == b"{":
        frame = _from_json(text)
    else:
        headed = not text[:1].isdigit()
        sources = [f"{name}_source" for name in NAMES]
        frame = counted_table(
            text,
            repairs,
            names=None if headed else OLD,
            columns=(*TIMES, *NAMES, *sources),
            text=("date", "time", *sources),
        )
    _count_models(frame, repairs)
    values = {name: numbers(frame, name) for name in NAMES}
    return series_of_reports(
        ORIGIN,
        _times(frame),
        {
            "air_temperature": values["temp"],
            "relative_humidity": values["rhum"],
            "dew_point": values["dwpt"],
            "precipitation": values["prcp"],
            "wind_speed": _metres(values["wspd"]),
        },
        repairs,
        place_of(hints),
    )


def _metres(wind: FloatArray | None) -> FloatArray | None:
    return None if wind is None else scaled(wind, "km/h", "wind_speed", "Meteostat")


def _from_json(text: bytes) -> pd.DataFrame:
    reply = document(text, "Meteostat")
    rows: Any = reply.get("data") if isinstance(reply, dict) else None
    if not isinstance(rows, list):
        raise ArchiveError(_("the Meteostat reply holds no data; ask for another span"))
    if not rows:
        return pd.DataFrame({"time": pd.Series(dtype=str)})
    if not all(isinstance(row, dict) for row in rows):
        raise ArchiveError(_("the Meteostat reply is damaged; fetch it again"))
    frame = pd.DataFrame.from_records(rows)
    if "time" not in frame:
        what = "days or months" if "date" in frame or "month" in frame else "no times"
        raise ArchiveError(
            _(
                "the Meteostat reply holds {what}; ask for hourly weather, "
                "its daily and monthly values hold no humidity",
                what=what,
            )
        )
    return frame


def _times(frame: pd.DataFrame) -> TimeArray:
    if "time" in frame:
        return times(frame["time"].astype(str))
    if "date" in frame and "hour" in frame:
        days = times(frame["date"])
    elif {"year", "month", "day", "hour"} <= set(frame.columns):
        parts = pd.to_datetime(frame[["year", "month", "day"]], errors="coerce")
        days = in_nanoseconds(parts.to_numpy())
    else:
        raise ArchiveError(
            _(
                "the Meteostat reply holds no hours; ask for hourly weather, "
                "its daily and monthly values hold no humidity"
            )
        )
    hour = numbers(frame, "hour")
    known = np.zeros(len(frame), bool) if hour is None else np.isfinite(hour)
    shift = np.where(known, 0.0 if hour is None else hour, 0).astype("timedelta64[h]")
    stamps = days + shift
    return np.where(known, stamps, np.datetime64("NaT", "ns"))


def _count_models(frame: pd.DataFrame, repairs: list[Repair]) -> None:
    name = "temp_source"
    if name in frame:
        origin = frame[name].fillna("")
        modelled = origin.str.contains("forecast|mosmix|model|era5")
        repairs += counted(RepairKind.MODELLED, int(modelled.sum()))


def sniff(head: bytes, name: str) -> bool:
    """Recognise a reply."""
    start = bare_start(head)
    if start[:1] == b"{":
        return b'"data"' in start and (b'"rhum"' in start or b'"dwpt"' in start)
    line = first_line(head)
    if line.startswith("year,month,day,hour,temp,temp_source"):
        return True
    if line.startswith(("date,hour,temp,", "time,temp,")):
        return {"rhum", "wpgt"} <= set(line.split(","))
    parts = line.split(",")
    return (
        len(parts) == len(OLD)
        and len(parts[0]) == 10
        and parts[0][4:8:3] == "--"
        and parts[1].isdigit()
    )


STATIONS_METEOSTAT = "https://bulk.meteostat.net/v2/stations/lite.json.gz"


def read_meteostat(payload: bytes) -> list[Station]:
    """Read the station list of Meteostat."""
    listed = document(payload, "Meteostat station list")
    if not isinstance(listed, list):
        raise ArchiveError(_("the station list of Meteostat is not a list"))
    return kept_stations([_one_meteostat(item) for item in listed], "Meteostat")


def _one_meteostat(item: Mapping[str, Any]) -> Station | None:
    spot = item.get("location", {})
    hourly = (item.get("inventory") or {}).get("hourly") or {}
    name = item.get("name", "")
    return make_station(
        item.get("id", ""),
        name.get("en", "") if isinstance(name, dict) else name,
        (spot.get("latitude"), spot.get("longitude"), spot.get("elevation")),
        (hourly.get("start", ""), hourly.get("end", "")),
    )


ARCHIVE = Archive(
    id="meteostat",
    title="Meteostat bulk data",
    coverage="stations of the world, most since about 1970",
    since=1900,
    origin=ORIGIN,
    requests=requests,
    parse=parse,
    stations=STATIONS_METEOSTAT,
    read_stations=read_meteostat,
)
