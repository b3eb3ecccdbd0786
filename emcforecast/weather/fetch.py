"""Weather straight from an archive, asked a year at a time, by place or by address."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import xarray as xr

from emcforecast.errors import ArchiveError, InputError, WeatherError
from emcforecast.language import _
from emcforecast.weather.archives.raw import join, series_of
from emcforecast.weather.archives.record import Archive, Place, Request
from emcforecast.weather.archives.registry import ARCHIVES, archive_named
from emcforecast.weather.formats.content import unpack, whole
from emcforecast.weather.hints import Hints, make_hints
from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.mend.merge import join_forecast, recent_span
from emcforecast.weather.network.places import find_place
from emcforecast.weather.network.session import Session
from emcforecast.weather.network.transport import (
    NotThereError,
    is_settled,
    load_parsed,
    parsed_path,
    save_parsed,
)
from emcforecast.weather.repairs import Repair, RepairKind, add_repairs, repair

#: Years taken when nobody says which.
YEARS = 15

Progress = Callable[[int, int, str], None]
#: The archive that forecasts.
FORECAST_ARCHIVE = "open-meteo-forecast"
#: Archives whose weather goes on with it unasked.
WITH_FORECAST = ("open-meteo",)


def fetch_place(
    archive: Archive,
    place: Place,
    start: date,
    end: date,
    *,
    session: Session,
    progress: Progress | None = None,
    hints: Hints | None = None,
) -> xr.Dataset:
    """Fetch weather for a place or station; missing hours stay missing.

    What the session has kept is not asked again, so a fetch that was interrupted goes
    on where it stopped. ``progress(done, of, label)`` is called before each request and
    once at the end. Raises `ArchiveError` when nothing can be had.
    """
    if archive.by == "station" and not place.station:
        raise ArchiveError(
            _(
                "{archive} needs a station, such as {id}:ID",
                archive=archive.title,
                id=archive.id,
            )
        )
    if end < start:
        raise ArchiveError(
            _("{start} to {end} ends before it begins", start=start, end=end)
        )
    asked = archive.requests(place, start, end)
    known = hints or Hints()
    given = {
        name: value
        for name in ("latitude", "longitude", "elevation", "utc_offset")
        if (value := getattr(place, name)) is not None and value == value
    }
    filled = {n: v for n, v in given.items() if getattr(known, n) is None}
    known = make_hints(**{**vars(known), **filled})
    parts, absent = [], []
    for done, request in enumerate(asked):
        if progress is not None:
            progress(done, len(asked), request.label)
        try:
            parts.append(_read_request(request, archive, session, known))
        except NotThereError:
            absent.append(request.label)
    if progress is not None:
        progress(len(asked), len(asked), "")
    if not parts:
        raise ArchiveError(
            _(
                "{archive} has nothing for {station} in {first} to {last}; "
                "`emcforecast archives` lists what there is",
                archive=archive.title,
                station=place.station or "this place",
                first=start.year,
                last=end.year,
            )
        )
    raw = _within(join(parts), start, end, archive)
    raw.attrs["retrieved"] = date.today().isoformat()
    if absent:
        raw = add_repairs(
            raw, repair(RepairKind.ARCHIVE_LACKS, spans=", ".join(absent))
        )
    return series_of(raw, known)


def _within(raw: xr.Dataset, start: date, end: date, archive: Archive) -> xr.Dataset:
    """Keep the days asked for, of archives that send more."""
    if raw.attrs["kind"] in ("normals", "forecast") or raw.attrs["step"] == "month":
        return raw
    stamps = raw["time"].to_numpy()
    after = np.datetime64(end, "D") + np.timedelta64(1, "D")
    wanted = (stamps >= np.datetime64(start, "D")) & (stamps < after)
    if wanted.all():
        return raw
    if not wanted.any():
        first, last = (str(stamp)[:10] for stamp in (stamps[0], stamps[-1]))
        raise ArchiveError(
            _(
                "{archive} sent {first} to {last} and nothing of {start} to "
                "{end}; ask for those years",
                archive=archive.title,
                first=first,
                last=last,
                start=start,
                end=end,
            )
        )
    return raw.isel(time=wanted)


def _read_request(
    request: Request, archive: Archive, session: Session, hints: Hints
) -> xr.Dataset:
    """Return the raw series of one request, kept as read when it is final."""
    if session.folder is None or not is_settled(request):
        return _parsed(session, request, archive, hints)
    path = parsed_path(session.folder, request, archive, hints)
    raw = load_parsed(path)
    if raw is None:
        raw = _parsed(session, request, archive, hints)
        if not session.stale:
            save_parsed(path, raw)
    return raw


def _parsed(
    session: Session, request: Request, archive: Archive, hints: Hints
) -> xr.Dataset:
    """Parse a reply; one that cannot be read is asked for again the next time."""
    content = session.get(request, archive)
    try:
        with whole(_("the reply of {archive}", archive=archive.title), ArchiveError):
            return archive.parse(unpack(content, ArchiveError), hints)
    except NotThereError:
        raise
    except InputError:
        session.forget()
        raise


def last_whole_years(count: int = YEARS) -> tuple[date, date]:
    """Return the span of the last whole calendar years."""
    # The newest weeks of a reanalysis come late.
    year = (date.today() - timedelta(days=15)).year - 1
    return date(year - count + 1, 1, 1), date(year, 12, 31)


def fetch_weather(
    archive: str,
    latitude: float | None = None,
    longitude: float | None = None,
    start: date | str | None = None,
    end: date | str | None = None,
    *,
    station: str = "",
    offline: bool = False,
    progress: Progress | None = None,
    session: Session | None = None,
) -> xr.Dataset:
    """Fetch a weather series from an open archive.

    Parameters
    ----------
    archive : str
        Short name of an archive, such as "open-meteo".
    latitude, longitude : float, optional
        Place (degrees north and east); for an archive of stations the nearest one is
        taken and named.
    start, end : datetime.date or str, optional
        First and last day ("2005-01-01"); default the last 15 whole years.
    station : str
        A station's number, instead of a place.
    offline : bool
        Use only what was fetched before.
    progress : callable, optional
        ``progress(done, of, label)``.
    session : Session, optional
        Who asks; default one with the user's cache.

    Returns
    -------
    xarray.Dataset
        A weather series without gaps, every repair listed.

    Raises
    ------
    ArchiveError, WeatherError
        When it cannot be had or is too full of holes.
    """
    record = archive_named(archive)
    usual = last_whole_years()
    first, last = (
        default if given is None else date.fromisoformat(str(given))
        for given, default in zip((start, end), usual, strict=True)
    )
    if station:
        text = station
    elif latitude is None or longitude is None:
        raise ArchiveError(_("say where: latitude and longitude, or a station"))
    else:
        text = f"{latitude},{longitude}"
    own = session or Session(offline=offline)
    found: list[Repair] = []
    try:
        if station:
            place = Place(station=station)
        else:
            place, found = find_place(text, record, own, (first.year, last.year))
        series = fetch_place(record, place, first, last, session=own, progress=progress)
    finally:
        if session is None:
            own.close()
    return fill_gaps(add_repairs(series, *found, first=True))


def is_archive_address(text: str) -> bool:
    """Return whether a text names an archive and a place, and not a file.

    Examples
    --------
    >>> is_archive_address("open-meteo:46.1,7.2"), is_archive_address("C:/a.csv")
    (True, False)
    """
    name, colon, rest = text.partition(":")
    return bool(colon and rest) and name.strip().lower() in ARCHIVES


def add_forecast(
    record: xr.Dataset,
    place: Place,
    *,
    session: Session,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Join the recent days and the weather forecast of a place to its record.

    `record`: hourly, up to some days ago, missing hours still missing; what `place`
    lacks is taken from it.
    """
    latitude, longitude = (
        value if value == value else float(record.attrs.get(name, float("nan")))
        for name, value in (
            ("latitude", place.latitude),
            ("longitude", place.longitude),
        )
    )
    if latitude != latitude or longitude != longitude:
        raise ArchiveError(
            _(
                "a weather forecast needs the place: name it by LAT,LON, not "
                "by a station"
            )
        )
    first, last = recent_span()
    source = archive_named(FORECAST_ARCHIVE)
    where = Place(latitude, longitude)
    series = fetch_place(source, where, first, last, session=session, progress=progress)
    return join_forecast(record, series)


def fetch_address(
    text: str,
    *,
    offline: bool = False,
    progress: Progress | None = None,
    **hints: object,
) -> xr.Dataset:
    """Fetch what an address such as "ghcnh:USW00013967" names.

    The last whole years; of an archive that also forecasts, up to now and with the days
    ahead. Missing hours stay missing.
    """
    name, _colon, where = text.partition(":")
    record = archive_named(name)
    start, end = last_whole_years()
    if record.kind == "forecast":
        start, end = recent_span()
    notices: list[Repair] = []
    with Session(offline=offline, on_notice=notices.append) as session:
        place, found = find_place(where, record, session, (start.year, end.year))
        if record.id in WITH_FORECAST:
            end = date.today() - timedelta(days=1)
        known = make_hints(**hints)
        series = fetch_place(
            *(record, place, start, end),
            session=session,
            hints=known,
            progress=progress,
        )
        if record.id in WITH_FORECAST:
            try:
                series = add_forecast(series, place, session=session)
            except (ArchiveError, WeatherError) as error:
                # The record alone still serves; what it lacks is said.
                lack = repair(RepairKind.FORECAST_REFUSED, reason=str(error))
                found = [*found, lack]
    return add_repairs(series, *found, *notices, first=True)
