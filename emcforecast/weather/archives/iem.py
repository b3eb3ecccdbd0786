"""Iowa State's archive of airport reports (ASOS, AWOS, METAR) from all the world.

Reply: tabs or commas, perhaps after lines of ``#DEBUG``; the clock is in those lines,
UTC when asked for. Names carry the unit: tmpf dwpf °F, tmpc dwpc °C, relh %, sknt
knots, sped mph, p01i inches and p01m mm since the last routine report. M is missing
(or nothing, or null), T a trace. A leading K is dropped from American station codes.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.hours import Floats, Notes, humidity
from emcforecast.weather.archives.payload import (
    decode,
    table,
    times,
    unpack,
    unpack_head,
)
from emcforecast.weather.archives.raw import make_raw, place_of
from emcforecast.weather.archives.record import Archive, Place, Request, whole_years
from emcforecast.weather.archives.scale import scaled
from emcforecast.weather.formats import Hints

LICENCE = "free use, credit asked"
ATTRIBUTION = (
    "Airport reports collected by the Iowa Environmental Mesonet, Iowa State "
    "University (https://mesonet.agron.iastate.edu/)"
)
#: Ours, theirs and the unit the name stands for, the finer first.
NAMES = {
    "air_temperature": (("tmpf", "F"), ("tmpc", "C")),
    "dew_point": (("dwpf", "F"), ("dwpc", "C")),
    "relative_humidity": (("relh", "%"),),
    "precipitation": (("p01m", "mm"), ("p01i", "in")),
    "wind_speed": (("sknt", "kn"), ("sped", "mph")),
}
ABOUT = ("station", "valid", "lat", "lon", "elevation")
MISSING = ("M", "null", "None")


def requests(place: Place, start: date, end: date) -> list[Request]:
    """Ask for a station, one calendar year a request.

    Parameters
    ----------
    place : Place
        With the station's code.
    start, end : datetime.date
        First and last day.

    Returns
    -------
    list of Request
        In order of time.
    """
    code = place.station.upper()
    if len(code) == 4 and code.startswith("K"):
        code = code[1:]
    asked = [("data", name) for name in ("tmpf", "dwpf", "relh", "p01i", "sknt")]
    return [
        Request(
            "https://mesonet.agron.iastate.edu/cgi-bin/request/asos.py",
            (
                ("station", code),
                *asked,
                ("sts", f"{first.isoformat()}T00:00Z"),
                ("ets", f"{(last + timedelta(days=1)).isoformat()}T00:00Z"),
                ("tz", "UTC"),
                ("format", "onlycomma"),
                ("missing", "M"),
                ("latlon", "yes"),
                ("elev", "yes"),
                ("report_type", "3"),
            ),
            label=str(first.year),
            last=last,
        )
        for first, last in whole_years(start, end)
    ]


def parse(payload: bytes, hints: Hints) -> xr.Dataset:
    """Read a reply in any of its three formats.

    Parameters
    ----------
    payload : bytes
        The reply.
    hints : Hints
        Fills in a place the reply lacks; ``place`` chooses among several stations.

    Returns
    -------
    xarray.Dataset
        Reports.

    Raises
    ------
    ArchiveError
        For no rows, no temperature or humidity, several stations or another clock.
    """
    text = unpack(payload)
    head = decode(text[:4000]).splitlines()
    skip = sum(line.startswith("#") for line in head)
    _require_utc([line for line in head if line.startswith("#")])
    if len(head) <= skip:
        raise ArchiveError("the Iowa State reply is empty; ask for another span")
    sep = "\t" if "\t" in head[skip] else ","
    names = [name for pairs in NAMES.values() for name, _ in pairs]
    frame = table(
        text,
        sep=sep,
        skip=skip,
        columns=(*ABOUT, *names),
        text=("station", "valid", "p01i", "p01m"),
        missing=MISSING,
    )
    notes = Notes()
    notes.count(frame.attrs["broken"], "broken line", "left out")
    frame = _one_station(frame, hints)
    values: dict[str, Floats] = {}
    for ours, theirs in NAMES.items():
        hit = next(((n, unit) for n, unit in theirs if n in frame), None)
        if hit is not None:
            column = _plain(frame[hit[0]], notes)
            values[ours] = scaled(column, hit[1], ours, "Iowa State")
    dew_point = values.pop("dew_point", None)
    given = values.pop("relative_humidity", None)
    humid = None
    if "air_temperature" in values:
        humid = humidity(
            values["air_temperature"], notes, given=given, dew_point=dew_point
        )
    elif len(frame) and not values:
        raise ArchiveError(
            "the Iowa State reply holds no parsed temperatures "
            f"({', '.join(_header(head[skip], sep))}); ask for tmpf, dwpf and relh"
        )
    return make_raw(
        times(frame["valid"], "%Y-%m-%d %H:%M"),
        {**values, "relative_humidity": humid},
        archive="Iowa State",
        step="hour",
        kind="observed",
        source="Iowa State ASOS archive",
        licence=LICENCE,
        attribution=ATTRIBUTION,
        notes=notes.lines,
        preceding=("precipitation",),
        about={
            **place_of(
                hints,
                latitude=_number(frame, "lat"),
                longitude=_number(frame, "lon"),
                elevation=_number(frame, "elevation"),
            ),
            "station": str(frame["station"].iloc[0]) if len(frame) else "",
        },
    )


def _header(line: str, sep: str) -> list[str]:
    return [part.strip() for part in line.split(sep)]


def _require_utc(comments: list[str]) -> None:
    for line in comments:
        name, _, zone = line.partition("->")
        if "Time Zone" in name and zone.strip() not in ("UTC", "Etc/UTC", "GMT"):
            raise ArchiveError(
                f"the Iowa State reply is in {zone.strip()} with daylight saving, "
                "which cannot be undone; ask for tz=UTC"
            )


def _one_station(frame: pd.DataFrame, hints: Hints) -> pd.DataFrame:
    if not {"station", "valid"} <= set(frame.columns):
        raise ArchiveError(
            "the Iowa State reply has no station or time; fetch it again"
        )
    codes = [str(code) for code in frame["station"].dropna().unique()]
    if len(codes) <= 1:
        return frame
    if hints.place not in codes:
        raise ArchiveError(
            f"the reply holds {len(codes)} stations ({', '.join(codes[:8])}); "
            "say which with --place CODE"
        )
    return frame[frame["station"] == hints.place].reset_index(drop=True)


def _plain(column: pd.Series[str], notes: Notes) -> Floats:
    if not pd.api.types.is_numeric_dtype(column):
        trace = column.fillna("").str.strip().isin(["T", "0.0001"])
        notes.count(
            int(trace.sum()), "trace of rain", "counted as none", "traces of rain"
        )
        column = column.where(~trace, "0")
    return pd.to_numeric(column, errors="coerce").to_numpy(dtype=np.float64)


def _number(frame: pd.DataFrame, name: str) -> float | None:
    if name not in frame or not len(frame):
        return None
    values = pd.to_numeric(frame[name], errors="coerce").dropna()
    return float(values.iloc[-1]) if len(values) else None


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
        True for one of its formats.
    """
    start = unpack_head(head).lstrip(b"\xef\xbb\xbf \r\n")
    lines = [line for line in start[:4000].split(b"\n") if not line.startswith(b"#")]
    header = lines[0] if lines else b""
    return header.startswith((b"station,valid", b"station\tvalid")) or (
        start.startswith(b"#DEBUG: Format Typ")
    )


ARCHIVE = Archive(
    id="iem-asos",
    title="Iowa State archive of airport reports",
    kind="observed",
    step="hour",
    by="station",
    coverage="airports of the world, 1928 to the present",
    since=1928,
    variables=("air_temperature", "relative_humidity", "precipitation", "wind_speed"),
    licence=LICENCE,
    attribution=ATTRIBUTION,
    limits="no key; one request a second",
    requests=requests,
    parse=parse,
    pause=1.0,
)
