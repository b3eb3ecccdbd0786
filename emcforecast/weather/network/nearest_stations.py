"""The stations of an archive nearest to a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from emcforecast.weather.archives.record import Place, Station

EARTH_KM = 6371.0
#: A difference in height of 100 m matters about as much as 10 km of distance.
KM_PER_METRE = 0.1


@dataclass(frozen=True)
class Near:
    """A station and how well it stands for a place.

    Attributes
    ----------
    station : Station
        The station.
    distance : float
        Great-circle distance (km).
    climb : float or None
        Height of the station less that of the place (m), when both are known.
    """

    station: Station
    distance: float
    climb: float | None

    def words(self) -> str:
        """Say it in one line.

        Returns
        -------
        str
            Number, name, distance, height and years.
        """
        item = self.station
        height = ""
        if self.climb is not None:
            side = "higher" if self.climb > 0 else "lower"
            height = f", {abs(self.climb):.0f} m {side}"
        elif item.elevation is not None:
            height = f", at {item.elevation:.0f} m"
        years = ""
        if item.first is not None:
            years = f", {item.first} to {item.last or 'now'}"
        return f"{item.id} {item.name}: {self.distance:.0f} km away{height}{years}"


def nearest(
    stations: Sequence[Station],
    place: Place,
    *,
    count: int = 5,
    years: tuple[int, int] | None = None,
) -> list[Near]:
    """Find the stations nearest to a place.

    Parameters
    ----------
    stations : sequence of Station
        All stations of an archive.
    place : Place
        With latitude and longitude, and elevation where known.
    count : int
        How many.
    years : tuple of int, optional
        First and last year wanted: stations without any of them are left out.

    Returns
    -------
    list of Near
        The nearest first, a difference in height counting as distance.

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
    lat = np.radians([item.latitude for item in stations])
    lon = np.radians([item.longitude for item in stations])
    lat_0, lon_0 = np.radians(place.latitude), np.radians(place.longitude)
    half = np.sin((lat - lat_0) / 2) ** 2
    half = half + np.cos(lat) * np.cos(lat_0) * np.sin((lon - lon_0) / 2) ** 2
    distance = 2 * EARTH_KM * np.arcsin(np.sqrt(np.minimum(half, 1.0)))
    found = []
    for item, far in zip(stations, distance, strict=True):
        known = place.elevation is not None and item.elevation is not None
        climb = (item.elevation or 0.0) - (place.elevation or 0.0) if known else None
        found.append(Near(item, float(far), climb))
    found.sort(key=lambda near: near.distance + KM_PER_METRE * abs(near.climb or 0.0))
    return found[:count]
