"""Places by name, by degrees or by station number, and stations near them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from emcforecast import bounds
from emcforecast.errors import ArchiveError
from emcforecast.language import _
from emcforecast.weather.archives.open_meteo import ARCHIVE
from emcforecast.weather.archives.record import Archive, Place, Request, Station
from emcforecast.weather.archives.tables import document
from emcforecast.weather.formats.content import unpack, whole
from emcforecast.weather.formats.netcdf_axes import distance_km
from emcforecast.weather.network.session import Session
from emcforecast.weather.repairs import Repair, RepairKind, repair

CREDIT = "Place names from GeoNames (https://www.geonames.org/), CC BY 4.0"
#: Who is asked, for the pace and the messages.
SEARCH: Archive = replace(ARCHIVE, id="places", title="the search for places")
#: A difference in height of 100 m matters about as much as 10 km of distance.
KM_PER_METRE = 0.1
_PAIR = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)\s*")
_STATION = re.compile(r"(?=.*\d)[A-Za-z0-9-]{4,12}|[A-Z]{3,4}")


@dataclass(frozen=True)
class Found:
    """A place found by name.

    `latitude`, `longitude`: degrees north and east; `elevation`: height above the sea
    (m).
    """

    name: str
    region: str
    country: str
    latitude: float
    longitude: float
    elevation: float | None
    population: int | None

    def label(self) -> str:
        """Return its coordinates to copy, then its name."""
        where = ", ".join(part for part in (self.region, self.country) if part)
        height = "" if self.elevation is None else f", {self.elevation:.0f} m"
        return (
            f"{self.latitude:.4f},{self.longitude:.4f}  {self.name} ({where}{height})"
        )

    def place(self) -> Place:
        """Return it as a place to ask weather for."""
        return Place(
            self.latitude, self.longitude, elevation=self.elevation, name=self.name
        )


def places_request(name: str) -> Request:
    """Ask for places of a name."""
    if len(name.strip()) < 2:
        raise ArchiveError(
            _("place {name!r} is too short; give a name or LAT,LON", name=name)
        )
    return Request(
        "https://geocoding-api.open-meteo.com/v1/search",
        (
            ("name", name.strip()),
            ("count", "10"),
            ("language", "en"),
            ("format", "json"),
        ),
        label=f"for {name.strip()!r}",
    )


def parse_places(payload: bytes) -> list[Found]:
    """Read the reply; nothing found is an empty list."""
    reply = document(payload, "place search")
    if not isinstance(reply, dict) or "generationtime_ms" not in reply:
        raise ArchiveError(_("the place search sent something else; try again later"))
    with whole(_("the reply of the place search"), ArchiveError):
        return [
            Found(
                str(item["name"]),
                str(item.get("admin1", "")),
                str(item.get("country", "")),
                float(item["latitude"]),
                float(item["longitude"]),
                None if item.get("elevation") is None else float(item["elevation"]),
                None if item.get("population") is None else int(item["population"]),
            )
            for item in reply.get("results", [])
        ]


@dataclass(frozen=True)
class Near:
    """A station and how well it stands for a place.

    `distance`: great-circle (km); `climb`: height of the station less that of the place
    (m), when both are known.
    """

    station: Station
    distance: float
    climb: float | None


def nearest(
    stations: Sequence[Station],
    place: Place,
    *,
    count: int = 5,
    years: tuple[int, int] | None = None,
) -> list[Near]:
    """Find the stations nearest to a place.

    Examples
    --------
    >>> here = Place(latitude=47.0, longitude=8.0)
    >>> far, close = Station("a", "A", 47.1, 8.0), Station("b", "B", 47.0, 8.0)
    >>> found = nearest([far, close], here)
    >>> [near.station.id for near in found]
    ['b', 'a']
    """
    if years is not None:
        first, last = years
        stations = [
            item
            for item in stations
            if (item.first or 0) <= last and (item.last or 9999) >= first
        ]
    distance = distance_km(
        [item.latitude for item in stations],
        [item.longitude for item in stations],
        *(place.latitude, place.longitude),
    )
    found = []
    for item, far in zip(stations, distance, strict=True):
        known = place.elevation is not None and item.elevation is not None
        climb = (item.elevation or 0.0) - (place.elevation or 0.0) if known else None
        found.append(Near(item, float(far), climb))
    found.sort(key=lambda near: near.distance + KM_PER_METRE * abs(near.climb or 0.0))
    return found[:count]


def parse_degrees(text: str) -> Place | None:
    """Read "LAT,LON".

    Examples
    --------
    >>> parse_degrees("46.1,7.2").latitude
    46.1
    """
    match = _PAIR.fullmatch(text)
    if match is None:
        return None
    latitude, longitude = float(match[1]), float(match[2])
    if not (
        bounds.within(latitude, bounds.PLACE["latitude"])
        and bounds.within(longitude, bounds.PLACE["longitude"])
    ):
        raise ArchiveError(
            _(
                "{text!r} is not on Earth: latitude -90 to 90 first, then longitude",
                text=text,
            )
        )
    return Place(latitude, longitude - 360 if longitude > 180 else longitude)


def find_places(name: str, session: Session) -> list[Found]:
    """Look up places by name."""
    return parse_places(session.get(places_request(name), SEARCH))


def near_stations(
    archive: Archive,
    place: Place,
    session: Session,
    *,
    count: int = 5,
    years: tuple[int, int] | None = None,
) -> list[Near]:
    """Find an archive's stations near a place."""
    if archive.by == "place":
        raise ArchiveError(
            _(
                "{archive} is asked for a place and has no stations: LAT,LON "
                "is enough for it",
                archive=archive.title,
            )
        )
    if archive.read_stations is None:
        raise ArchiveError(
            _(
                "{archive} has no station list here; name the station, such "
                "as {id}:STATION",
                archive=archive.title,
                id=archive.id,
            )
        )
    reply = session.get(Request(archive.stations, label="station list"), archive)
    payload = unpack(reply, ArchiveError)
    with whole(_("the station list of {archive}", archive=archive.title), ArchiveError):
        stations = archive.read_stations(payload)
    return nearest(stations, place, count=count, years=years)


def find_place(
    text: str, archive: Archive, session: Session, years: tuple[int, int]
) -> tuple[Place, list[Repair]]:
    """Resolve what a person names as a place: a pair, a station or a name."""
    place = parse_degrees(text)
    if place is None:
        if archive.by == "station" and _STATION.fullmatch(text.strip()):
            return Place(station=text.strip()), []
        found = find_places(text, session)
        if not found:
            raise ArchiveError(
                _(
                    "no place called {text!r} was found; give LAT,LON or another name",
                    text=text,
                )
            )
        if len(found) > 1:
            listed = "; ".join(item.label() for item in found[:6])
            raise ArchiveError(
                _(
                    "{count} places are called {text!r}: {listed}. Say which by "
                    "its LAT,LON",
                    count=len(found),
                    text=text,
                    listed=listed,
                )
            )
        place = found[0].place()
    if archive.by == "place":
        return place, []
    near = near_stations(archive, place, session, count=1, years=years)
    if not near:
        raise ArchiveError(
            _(
                "{archive} has no station with weather of {first} to {last}",
                archive=archive.title,
                first=years[0],
                last=years[1],
            )
        )
    item = near[0].station
    chosen = Place(
        item.latitude, item.longitude, item.id, elevation=item.elevation, name=item.name
    )
    return chosen, [
        repair(
            RepairKind.NEAREST_STATION,
            station=item.id,
            name=item.name,
            distance_km=near[0].distance,
            climb_m=near[0].climb,
            elevation=item.elevation,
            first=item.first,
            last=item.last,
        )
    ]
