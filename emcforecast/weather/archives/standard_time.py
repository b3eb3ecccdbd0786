"""Local standard time from where a station lies, for clocks that do not say.

Zones follow borders, not meridians. For the United States and Canada the lines between
them are drawn here roughly (stations within some 50 km of a line may be an hour off);
elsewhere the sun decides, 15 degrees an hour. From maps and memory, no one source.
"""

from __future__ import annotations

import math

#: Western edge (degrees east) of Eastern, Central and Mountain time, by the least
#: latitude of each band, south to north.
UNITED_STATES = (
    (18.0, (-85.2, -104.9, -114.65)),
    (32.0, (-85.3, -103.05, -114.65)),
    (35.0, (-85.25, -103.05, -114.3)),
    (36.5, (-86.2, -101.5, -114.3)),
    (38.3, (-87.5, -101.5, -114.3)),
    (41.2, (-86.9, -101.3, -117.3)),
    (43.0, (-87.0, -100.8, -117.3)),
    (45.7, (-89.5, -101.3, -114.8)),
    (47.5, (-89.5, -104.05, -114.8)),
)
CANADA_WEST = ((-90.0, -5.0), (-110.0, -6.0), (-120.0, -7.0))


def standard_time(latitude: float, longitude: float, country: str) -> float:
    """Return local standard time less UTC.

    Parameters
    ----------
    latitude, longitude : float
        Degrees north and east.
    country : {"US", "CA", ""}
        Whose zones apply; "" for the sun's.

    Returns
    -------
    float
        Hours.

    Examples
    --------
    >>> standard_time(33.63, -84.44, "US"), standard_time(33.63, -84.44, "")
    (-5.0, -6.0)
    """
    inside = latitude == latitude and not -50.0 < longitude < 100.0
    if country == "US" and inside:
        return _united_states(latitude, longitude)
    if country == "CA" and inside:
        return _canada(latitude, longitude)
    return float(math.floor(longitude / 15.0 + 0.5))


def _united_states(latitude: float, longitude: float) -> float:
    if longitude > 100.0:
        return 10.0
    if latitude < 20.0 and longitude > -68.0:
        return -4.0
    if longitude < -129.0:
        return -10.0 if latitude < 24.0 or longitude < -169.5 else -9.0
    edges = next(
        (west for least, west in reversed(UNITED_STATES) if latitude >= least),
        UNITED_STATES[0][1],
    )
    for offset, edge in zip((-5.0, -6.0, -7.0), edges, strict=True):
        if longitude > edge:
            return offset
    return -8.0


def _canada(latitude: float, longitude: float) -> float:
    if longitude > -59.5 and latitude < 51.8:
        return -3.5
    if longitude > -63.0 or (longitude > -67.8 and latitude < 48.05):
        return -4.0
    if latitude >= 60.0 and longitude < -102.0:
        return -7.0
    # The border of Alberta leans west with the mountains.
    divide = -114.07 - max(0.0, min(latitude, 53.8) - 49.0) * 1.235
    if latitude < 53.8 and longitude < divide - 2.0:
        return -8.0
    for edge, offset in CANADA_WEST:
        if longitude > edge:
            return offset
    return -8.0
