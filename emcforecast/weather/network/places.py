"""What a person means by a place: a pair of degrees, a name or a station's number."""

from __future__ import annotations

import re

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.record import Archive, Place, Request
from emcforecast.weather.network.geocode import (
    SEARCH,
    Found,
    parse_places,
    places_request,
)
from emcforecast.weather.network.nearest_stations import Near, nearest
from emcforecast.weather.network.session import Session

_PAIR = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)\s*")
_STATION = re.compile(r"(?=.*\d)[A-Za-z0-9-]{4,12}|[A-Z]{3,4}")


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
    if archive.by == "place":
        raise ArchiveError(
            f"{archive.title} is asked for a place and has no stations: LAT,LON is "
            "enough for it"
        )
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
