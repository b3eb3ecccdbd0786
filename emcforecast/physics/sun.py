"""Where the sun stands and what it gives: above the air, in the clear, estimated."""

from collections.abc import Iterator
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from emcforecast._types import FloatArray, TimeArray
from emcforecast.physics.pieces import in_pieces

SOLAR_CONSTANT = 1366.1
"""W/m² on a plane facing the sun, mean over the year."""
ANGSTROM_LIKE = 0.17
"""Share of extraterrestrial sun per √K of daily range: 0.16 inland, 0.19 coast."""
LEAST_SHARE, MOST_SHARE = 0.10, 0.78
"""Daily sun stays between these shares of the sun above the air."""
# Within an hour the sun is looked at this often (minutes after its start).
_MINUTES = (10, 30, 50)

Path: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
"""Sine and cosine of the declination, and the hour angle at Greenwich, by the hour."""
USUAL_LATITUDE = 45.0
"""°, for a place that is not known."""


def sun_height(time: TimeArray, latitude: float, longitude: float) -> FloatArray:
    """Cosine of the sun's angle from straight up, and nothing about the air.

    Parameters
    ----------
    time : ndarray of datetime64
        Instants, UTC.
    latitude, longitude : float
        Degrees north and east.

    Returns
    -------
    ndarray
        Cosine of the zenith angle, -1 to 1; negative at night.

    Notes
    -----
    Fourier series of Spencer for the declination and the equation of time: within
    0.3° of an ephemeris.

    References
    ----------
    Spencer (1971), Search 2(5), 172 (as printed in Iqbal, An Introduction to Solar
    Radiation, 1983; from memory).

    Examples
    --------
    >>> noon = np.array(["2021-06-21T12:00"], dtype="datetime64[ns]")
    >>> round(float(sun_height(noon, 45.0, 0.0)[0]), 2)
    0.93
    """
    return _height(_path(time), latitude, longitude)


def _height(path: Path, latitude: float, longitude: float) -> FloatArray:
    phi, east = np.radians(latitude), np.radians(longitude)

    def height(slow: FloatArray, fast: FloatArray, angle: FloatArray) -> FloatArray:
        result: FloatArray = np.sin(phi) * slow + np.cos(phi) * fast * np.cos(
            angle + east
        )
        return result

    return in_pieces(height, *path)


def _path(time: TimeArray) -> Path:
    """Sine and cosine of the declination; hour angle at Greenwich, radians."""
    angle = _year_angle(time)
    declination = (
        0.006918
        - 0.399912 * np.cos(angle)
        + 0.070257 * np.sin(angle)
        - 0.006758 * np.cos(2 * angle)
        + 0.000907 * np.sin(2 * angle)
        - 0.002697 * np.cos(3 * angle)
        + 0.00148 * np.sin(3 * angle)
    )
    equation_minutes = 229.18 * (
        0.000075
        + 0.001868 * np.cos(angle)
        - 0.032077 * np.sin(angle)
        - 0.014615 * np.cos(2 * angle)
        - 0.040849 * np.sin(2 * angle)
    )
    minutes = (time - time.astype("datetime64[D]")) / np.timedelta64(1, "m")
    hour_angle = np.radians((minutes + equation_minutes) / 4.0 - 180.0)
    return np.sin(declination), np.cos(declination), hour_angle


def extraterrestrial(time: TimeArray, latitude: float, longitude: float) -> FloatArray:
    """Sun on the horizontal above the air, mean over each hour.

    Parameters
    ----------
    time : ndarray of datetime64
        Start of each hour, UTC.
    latitude, longitude : float
        Degrees north and east.

    Returns
    -------
    ndarray
        W/m², 0 at night.

    References
    ----------
    Spencer (1971) for the distance of the sun (from memory).

    Examples
    --------
    >>> night = np.array(["2021-06-21T00"], dtype="datetime64[ns]")
    >>> float(extraterrestrial(night, 45.0, 0.0)[0])
    0.0
    """
    angle = _year_angle(time)
    facing = SOLAR_CONSTANT * (
        1.00011
        + 0.034221 * np.cos(angle)
        + 0.00128 * np.sin(angle)
        + 0.000719 * np.cos(2 * angle)
        + 0.000077 * np.sin(2 * angle)
    )
    total = np.zeros(facing.shape)
    for height in _heights(time, latitude, longitude):
        total += np.maximum(height, 0.0)
    result: FloatArray = facing * (total / len(_MINUTES))
    return result


def usual_latitude(time: TimeArray, temperature: FloatArray) -> float:
    """Latitude to take where none is known: 45° of the half of the world it is in.

    Parameters
    ----------
    time : ndarray of datetime64
        UTC.
    temperature : ndarray
        Of the air, °C; NaN where it is not known.

    Returns
    -------
    float
        -45 where November to April are warmer than the other months, else 45.
    """
    month = time.astype("datetime64[M]").astype(np.int64) % 12
    known = np.isfinite(temperature)
    summer = (month >= 4) & (month <= 9)
    north, south = temperature[known & summer], temperature[known & ~summer]
    if north.size and south.size and south.mean() > north.mean():
        return -USUAL_LATITUDE
    return USUAL_LATITUDE


def clear_sky(time: TimeArray, latitude: float, longitude: float) -> FloatArray:
    """Sun on the horizontal under a cloudless sky, mean over each hour.

    Parameters
    ----------
    time : ndarray of datetime64
        Start of each hour, UTC.
    latitude, longitude : float
        Degrees north and east.

    Returns
    -------
    ndarray
        W/m², 0 at night.

    Notes
    -----
    1098 cos z exp(-0.057 / cos z), from measurements at one mid-latitude coast;
    needs no turbidity, which few people know.

    References
    ----------
    Haurwitz (1945), J. Meteorology 2, 154-166, constants as in its 1946 revision
    (as carried by general solar libraries).

    Examples
    --------
    >>> noon = np.array(["2021-06-21T12"], dtype="datetime64[ns]")
    >>> 900 < float(clear_sky(noon, 45.0, 7.5)[0]) < 1000
    True
    """
    total = np.zeros(np.asarray(time).shape)
    for height in _heights(time, latitude, longitude):
        total += in_pieces(_in_the_clear, height)
    total /= len(_MINUTES)
    return total


def _in_the_clear(height: FloatArray) -> FloatArray:
    up = np.maximum(height, 1e-3)
    result: FloatArray = np.where(height > 0.0, 1098.0 * up * np.exp(-0.057 / up), 0.0)
    return result


def sun_from_daily_range(
    time: TimeArray,
    daily_range: ArrayLike,
    latitude: float,
    longitude: float,
    factor: float = ANGSTROM_LIKE,
    *,
    clear: FloatArray | None = None,
) -> FloatArray:
    """Sun on the horizontal estimated from the daily range of temperature.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
        Start of each hour, UTC.
    daily_range : array_like
        Highest less lowest air temperature of the hour's day, K, scalar or shape (n,).
    latitude, longitude : float
        Degrees north and east.
    factor : float
        0.16 far from coasts, 0.19 on them.
    clear : ndarray, shape (n,), optional
        `clear_sky` of these hours, W/m², where it is at hand already.

    Returns
    -------
    ndarray
        W/m², with the daily course of a clear day.

    Notes
    -----
    Sun over the day = factor √range times the sun above the air, between a tenth and
    0.78 of it.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, equation 50.

    Examples
    --------
    >>> day = np.arange("2021-06-21", "2021-06-22", dtype="datetime64[h]")
    >>> cloudy, fair = (sun_from_daily_range(day, r, 45.0, 0.0).sum() for r in (4, 12))
    >>> round(float(fair / cloudy), 2)
    1.73
    """
    reach = np.maximum(np.asarray(daily_range, dtype=np.float64), 0.0)
    share = np.clip(factor * np.sqrt(reach), LEAST_SHARE, MOST_SHARE)
    above = extraterrestrial(time, latitude, longitude)
    if clear is None:
        clear = clear_sky(time, latitude, longitude)
    day = solar_day(time, longitude)
    total = np.bincount(day, above) / np.maximum(np.bincount(day, clear), 1e-9)
    # A day the sun barely clears the horizon has no clear-sky course to follow.
    result: FloatArray = clear * share * np.minimum(total, 3.0)[day]
    return result


def solar_day(time: TimeArray, longitude: float) -> NDArray[np.intp]:
    """Count the local solar days and return each hour's.

    Parameters
    ----------
    time : ndarray of datetime64
        UTC.
    longitude : float
        Degrees east.

    Returns
    -------
    ndarray of int
        0 for the first day.

    Examples
    --------
    >>> hours = np.array(["2021-06-21T03", "2021-06-21T09"], dtype="datetime64[h]")
    >>> solar_day(hours, -90.0).tolist()
    [0, 1]
    """
    shift = np.timedelta64(round(longitude * 4.0), "m")
    day = (np.asarray(time).astype("datetime64[m]") + shift).astype("datetime64[D]")
    number = day.astype(np.int64)
    result: NDArray[np.intp] = (number - number.min()).astype(np.intp)
    return result


def _heights(
    time: TimeArray, latitude: float, longitude: float
) -> Iterator[FloatArray]:
    """Yield the sun's height at each moment of the hour that is looked at."""
    start: TimeArray = np.asarray(time).astype("datetime64[m]")
    hours = start[0] + np.arange(start.size) * np.timedelta64(60, "m")
    if np.array_equal(hours, start):
        # Places of one grid share their hours.
        paths = _hourly_paths(start[0], start.size)
    else:
        paths = [_path(start + np.timedelta64(m, "m")) for m in _MINUTES]
    for path in paths:
        yield _height(path, latitude, longitude)


@lru_cache(maxsize=2)
def _hourly_paths(first: np.datetime64, hours: int) -> list[Path]:
    start = first + np.arange(hours) * np.timedelta64(60, "m")
    return [_path(start + np.timedelta64(m, "m")) for m in _MINUTES]


def _year_angle(time: TimeArray) -> FloatArray:
    start = np.asarray(time)
    day = (start - start.astype("datetime64[Y]")) / np.timedelta64(1, "D")
    result: FloatArray = 2.0 * np.pi * day / 365.25
    return result
