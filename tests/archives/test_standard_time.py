"""Local standard time of towns whose zone anyone can look up (no one source)."""

import pytest

from emcforecast.weather.times.clocks import standard_offset_at

TOWNS = [
    ("Atlanta", 33.63, -84.44, "US", -5.0),
    ("Detroit", 42.21, -83.35, "US", -5.0),
    ("Indianapolis", 39.73, -86.28, "US", -5.0),
    ("Louisville", 38.18, -85.74, "US", -5.0),
    ("Marquette", 46.53, -87.55, "US", -5.0),
    ("Lebanon NH", 43.63, -72.31, "US", -5.0),
    ("Nashville", 36.12, -86.69, "US", -6.0),
    ("Chicago", 41.98, -87.91, "US", -6.0),
    ("Green Bay", 44.48, -88.14, "US", -6.0),
    ("Midland TX", 31.95, -102.19, "US", -6.0),
    ("Bismarck", 46.77, -100.75, "US", -6.0),
    ("El Paso", 31.81, -106.38, "US", -7.0),
    ("Rapid City", 44.04, -103.05, "US", -7.0),
    ("Boise", 43.57, -116.22, "US", -7.0),
    ("Missoula", 46.92, -114.09, "US", -7.0),
    ("Phoenix", 33.43, -112.0, "US", -7.0),
    ("Las Vegas", 36.08, -115.15, "US", -8.0),
    ("Spokane", 47.62, -117.53, "US", -8.0),
    ("Anchorage", 61.17, -150.03, "US", -9.0),
    ("Honolulu", 21.32, -157.93, "US", -10.0),
    ("San Juan", 18.43, -66.0, "US", -4.0),
    ("Prince George", 53.89, -122.67, "CA", -8.0),
    ("Kelowna", 49.96, -119.38, "CA", -8.0),
    ("Calgary", 51.11, -114.02, "CA", -7.0),
    ("Yellowknife", 62.46, -114.44, "CA", -7.0),
    ("Regina", 50.43, -104.67, "CA", -6.0),
    ("Thunder Bay", 48.37, -89.33, "CA", -5.0),
    ("Ottawa", 45.32, -75.67, "CA", -5.0),
    ("Halifax", 44.88, -63.51, "CA", -4.0),
    ("St. John's", 47.62, -52.74, "CA", -3.5),
    ("Sample Field", 46.5, 8.5, "", 1.0),
]


@pytest.mark.parametrize(("town", "north", "east", "country", "hours"), TOWNS)
def test_town(town, north, east, country, hours):
    assert standard_offset_at(north, east, country) == hours
