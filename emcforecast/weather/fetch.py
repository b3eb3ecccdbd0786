"""Weather straight from an archive: years asked one by one, put together, checked."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import xarray as xr

from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.weather.ahead import recent_span, with_forecast
from emcforecast.weather.archives.hours import series_of
from emcforecast.weather.archives.raw import join
from emcforecast.weather.archives.record import Archive, Place, Request
from emcforecast.weather.archives.registry import ARCHIVES, archive_named
from emcforecast.weather.formats import Hints, make_hints
from emcforecast.weather.gaps import fill_gaps
from emcforecast.weather.geocode import SEARCH, Found, parse_places, places_request
from emcforecast.weather.kept import kept_path, load_kept, save_kept
from emcforecast.weather.session import NotThereError, Session, is_settled
from emcforecast.weather.stations import Near, nearest

#: The archive that forecasts.
AHEAD = "open-meteo-forecast"
#: Archives whose weather goes on with it unasked.
FORECASTING = ("open-meteo",)
#: Years taken when nobody says which.
YEARS = 15
_PAIR = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)\s*")
_STATION = re.compile(r"(?=.*\d)[A-Za-z0-9-]{4,12}|[A-Z]{3,4}")

Progress = Callable[[int, int, str], None]


def is_archive_address(text: str) -> bool:
    """Tell whether a text names an archive and a place, and not a file.

    Parameters
    ----------
    text : str
        Such as "open-meteo:46.1,7.2" or "ghcnh:USW00013967".

    Returns
    -------
    bool
        True when what stands before the colon is an archive.

    Examples
    --------
    >>> is_archive_address("open-meteo:46.1,7.2"), is_archive_address("C:/a.csv")
    (True, False)
    """
    name, colon, rest = text.partition(":")
    return bool(colon and rest) and name.strip().lower() in ARCHIVES


def pair(text: str) -> Place | None:
    """Read "LAT,LON".

    Parameters
    ----------
    text : str
        Degrees north and east.

    Returns
    -------
    Place or None
        None when it is no such pair.

    Raises
    ------
    ArchiveError
        For a place that is not on Earth.

    Examples
    --------
    >>> pair("46.1,7.2").latitude
    46.1
    """
    match = _PAIR.fullmatch(text)
    if match is None:
        return None
    latitude, longitude = float(match[1]), float(match[2])
    if abs(latitude) > 90 or not -180 <= longitude <= 360:
        raise ArchiveError(
            f"{text!r} is not on Earth: latitude -90 to 90 first, then longitude"
        )
    return Place(latitude, longitude - 360 if longitude > 180 else longitude)


def find_places(name: str, session: Session) -> list[Found]:
    """Look up places by name.

    Parameters
    ----------
    name : str
        A name.
    session : Session
        Who asks.

    Returns
    -------
    list of Found
        The likeliest first; empty when there is none.
    """
    return parse_places(session.get(places_request(name), SEARCH))


def near_stations(
    archive: Archive,
    place: Place,
    session: Session,
    *,
    count: int = 5,
    years: tuple[int, int] | None = None,
) -> list[Near]:
    """Find an archive's stations near a place.

    Parameters
    ----------
    archive : Archive
        An archive of stations.
    place : Place
        Where.
    session : Session
        Who asks for the list.
    count : int
        How many.
    years : tuple of int, optional
        First and last year wanted.

    Returns
    -------
    list of Near
        The nearest first.

    Raises
    ------
    ArchiveError
        When the archive has no station list.
    """
    if archive.read_stations is None:
        raise ArchiveError(
            f"{archive.title} has no station list here; "
            f"name the station, such as {archive.id}:STATION"
        )
    payload = session.get(Request(archive.stations, label="station list"), archive)
    return nearest(archive.read_stations(payload), place, count=count, years=years)


def find_place(
    text: str, archive: Archive, session: Session, years: tuple[int, int]
) -> tuple[Place, list[str]]:
    """Make out what a person means by a place: a pair, a station or a name.

    Parameters
    ----------
    text : str
        "LAT,LON", a station's number or a name.
    archive : Archive
        Whose weather is wanted.
    session : Session
        Who asks.
    years : tuple of int
        First and last year wanted.

    Returns
    -------
    Place and list of str
        The place, with a station when the archive has stations, and what to say of
        how it was found.

    Raises
    ------
    ArchiveError
        For several places of one name, listing them, or none.
    """
    place = pair(text)
    if place is None:
        if archive.by == "station" and _STATION.fullmatch(text.strip()):
            return Place(station=text.strip()), []
        found = find_places(text, session)
        if not found:
            raise ArchiveError(
                f"no place called {text!r} was found; give LAT,LON or another name"
            )
        if len(found) > 1:
            listed = "; ".join(item.words() for item in found[:6])
            raise ArchiveError(
                f"{len(found)} places are called {text!r}: {listed}. "
                "Say which by its LAT,LON"
            )
        place = found[0].place()
    if archive.by == "place":
        return place, []
    near = near_stations(archive, place, session, count=1, years=years)
    if not near:
        raise ArchiveError(
            f"{archive.title} has no station with weather of {years[0]} to {years[1]}"
        )
    item = near[0].station
    chosen = Place(
        item.latitude, item.longitude, item.id, elevation=item.elevation, name=item.name
    )
    return chosen, [f"nearest station: {near[0].words()}"]


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

    Parameters
    ----------
    archive : Archive
        Who is asked.
    place : Place
        Where; with a station for archives of stations.
    start, end : datetime.date
        First and last day.
    session : Session
        Who asks. What it has kept is not asked again, so a fetch that was
        interrupted goes on where it stopped.
    progress : callable, optional
        ``progress(done, of, label)`` before each request and once at the end.
    hints : Hints, optional
        As for a file.

    Returns
    -------
    xarray.Dataset
        A weather series.

    Raises
    ------
    ArchiveError
        When nothing can be had.
    """
    if archive.by == "station" and not place.station:
        raise ArchiveError(f"{archive.title} needs a station, such as {archive.id}:ID")
    if end < start:
        raise ArchiveError(f"{start} to {end} ends before it begins")
    asked = archive.requests(place, start, end)
    known = hints or Hints()
    told = {
        name: value
        for name in ("latitude", "longitude", "elevation", "utc_offset")
        if (value := getattr(place, name)) is not None and value == value
    }
    filled = {n: v for n, v in told.items() if getattr(known, n) is None}
    known = make_hints(**{**vars(known), **filled})
    parts, absent = [], []
    for done, request in enumerate(asked):
        if progress is not None:
            progress(done, len(asked), request.label)
        try:
            parts.append(_read(request, archive, session, known))
        except NotThereError:
            absent.append(request.label)
    if progress is not None:
        progress(len(asked), len(asked), "")
    if not parts:
        raise ArchiveError(
            f"{archive.title} has nothing for {place.station or 'this place'} in "
            f"{start.year} to {end.year}; `emcforecast archives` lists what there is"
        )
    raw = _within(join(parts), start, end, archive)
    raw.attrs["retrieved"] = date.today().isoformat()
    if absent:
        raw.attrs["repairs"] = [
            *raw.attrs["repairs"],
            f"the archive has nothing for {', '.join(absent)}",
        ]
    return series_of(raw, known)


def _within(raw: xr.Dataset, start: date, end: date, archive: Archive) -> xr.Dataset:
    """Keep the days asked for, of archives that send more."""
    if raw.attrs["kind"] in ("normals", "forecast") or raw.attrs["step"] == "month":
        return raw
    stamps = raw["time"].to_numpy()
    after = np.datetime64(end, "D") + 1
    wanted = (stamps >= np.datetime64(start, "D")) & (stamps < after)
    if wanted.all():
        return raw
    if not wanted.any():
        first, last = (str(stamp)[:10] for stamp in (stamps[0], stamps[-1]))
        raise ArchiveError(
            f"{archive.title} sent {first} to {last} and nothing of {start} to {end}; "
            "ask for those years"
        )
    return raw.isel(time=wanted)


def _read(
    request: Request, archive: Archive, session: Session, hints: Hints
) -> xr.Dataset:
    """Return the raw series of one request, kept as read when it is final."""
    if session.folder is None or not is_settled(request):
        return archive.parse(session.get(request, archive), hints)
    path = kept_path(session.folder, request, archive, hints)
    raw = load_kept(path)
    if raw is None:
        raw = archive.parse(session.get(request, archive), hints)
        save_kept(path, raw)
    return raw


def ahead_of(
    record: xr.Dataset,
    place: Place,
    *,
    session: Session,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Join the recent days and the weather forecast of a place to its record.

    Parameters
    ----------
    record : xarray.Dataset
        Hourly weather series up to some days ago, missing hours still missing.
    place : Place
        Where; what it lacks is taken from the record.
    session : Session
        Who asks.
    progress : callable, optional
        As in `fetch_place`.

    Returns
    -------
    xarray.Dataset
        The series to the end of the forecast; ``attrs["forecast_from"]`` says where
        the forecast begins.

    Raises
    ------
    ArchiveError, WeatherError
        When there is no forecast to be had, or it cannot be joined.
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
            "a weather forecast needs the place: name it by LAT,LON, not by a station"
        )
    first, last = recent_span()
    source = archive_named(AHEAD)
    where = Place(latitude, longitude)
    series = fetch_place(source, where, first, last, session=session, progress=progress)
    return with_forecast(record, series)


def last_whole_years(count: int = YEARS) -> tuple[date, date]:
    """Return the span of the last whole calendar years.

    Parameters
    ----------
    count : int
        How many years.

    Returns
    -------
    tuple of datetime.date
        First and last day.
    """
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
        raise ArchiveError("say where: latitude and longitude, or a station")
    else:
        text = f"{latitude},{longitude}"
    own = session or Session(offline=offline)
    said: list[str] = []
    try:
        if station:
            place = Place(station=station)
        else:
            place, said = find_place(text, record, own, (first.year, last.year))
        series = fetch_place(record, place, first, last, session=own, progress=progress)
    finally:
        if session is None:
            own.close()
    series.attrs["repairs"] = [*said, *series.attrs["repairs"]]
    return fill_gaps(series)


def fetch_address(text: str, *, offline: bool = False, **hints: object) -> xr.Dataset:
    """Fetch what an address such as "ghcnh:USW00013967" names.

    Parameters
    ----------
    text : str
        Archive, colon, and LAT,LON or a station or a name.
    offline : bool
        Use only what was fetched before.
    **hints
        As for `read_weather`.

    Returns
    -------
    xarray.Dataset
        The last whole years; of an archive that also forecasts, up to now and with the
        days ahead. Missing hours stay missing.

    Raises
    ------
    ArchiveError, WeatherError
        When it cannot be had.
    """
    name, _, where = text.partition(":")
    record = archive_named(name)
    start, end = last_whole_years()
    if record.kind == "forecast":
        start, end = recent_span()
    with Session(offline=offline) as session:
        place, said = find_place(where, record, session, (start.year, end.year))
        if record.id in FORECASTING:
            end = date.today() - timedelta(days=1)
        series = fetch_place(
            record, place, start, end, session=session, hints=make_hints(**hints)
        )
        if record.id in FORECASTING:
            try:
                series = ahead_of(series, place, session=session)
            except (ArchiveError, WeatherError) as error:
                # The record alone still serves; what it lacks is told.
                said = [*said, f"no weather forecast was joined: {error}"]
    series.attrs["repairs"] = [*said, *series.attrs["repairs"]]
    return series
