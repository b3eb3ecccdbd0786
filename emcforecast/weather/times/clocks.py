"""The file's clock -> UTC: offsets said in names, given, or told by the sun."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from emcforecast._types import TimeArray
from emcforecast.weather.hints import Hints
from emcforecast.weather.times.clock_times import zone_hours
from emcforecast.weather.times.summer_time import standard_time

#: A zone of standard time as the last word of a name, in capitals; summer zones are
#: the label of an export and not of every row.
_ZONE = re.compile(r"[\s_(\[,](EST|CST|MST|PST|AKST|HST|CET|MEZ|EET)\s*[)\]]?\s*$")


def hours(value: float) -> np.timedelta64:
    """Return a number of hours as a time difference, to the second.

    Parameters
    ----------
    value : float
        Hours.

    Returns
    -------
    numpy.timedelta64
        The difference.
    """
    return np.timedelta64(round(value * 3600.0), "s")


def said_offset(names: Sequence[str]) -> float | None:
    """Return the offset from UTC that names or preamble lines state.

    Parameters
    ----------
    names : sequence of str
        Column names first, then other lines.

    Returns
    -------
    float or None
        Hours ahead of UTC; None when nothing is said.

    Examples
    --------
    >>> said_offset(["Date Time, GMT-05:00"]), said_offset(["time_utc"])
    (-5.0, 0.0)
    >>> said_offset(["Date/Time (EST)"]), said_offset(["timestamp"])
    (-5.0, None)
    """
    for name in names:
        text = name.lower().replace("\u2212", "-")
        match = re.search(r"(?:utc|gmt)\s*([+-]\s*\d{1,2}(?::?\d{2})?)", text)
        if match:
            return zone_hours(match[1].replace(" ", ""))
        if re.search(r"(?<![a-z])(?:utc|gmt|zulu)(?![a-z])", text.replace("_", " ")):
            return 0.0
        named = _ZONE.search(name.strip())
        if named:
            return zone_hours(named[1])
    return None


def to_utc(
    time: TimeArray, names: Sequence[str], hints: Hints
) -> tuple[TimeArray, float | None, list[str]]:
    """Bring times of a clock without stated offset to UTC.

    Parameters
    ----------
    time : ndarray of datetime64[ns], shape (n,)
        As the clock showed them, in the order of the file.
    names : sequence of str
        Names of the time columns and lines of the preamble.
    hints : Hints
        Offset or longitude, when the person gave them.

    Returns
    -------
    ndarray of datetime64[ns]
        UTC.
    float or None
        Local standard time minus UTC (h), when known.
    list of str
        What was taken for granted.
    """
    said = said_offset(names)
    if said is not None:
        offset = hints.utc_offset if hints.utc_offset is not None else said or None
        return time - hours(said), offset, []
    time, notes = standard_time(time)
    if hints.utc_offset is not None:
        return time - hours(hints.utc_offset), hints.utc_offset, notes
    if hints.longitude is not None:
        east = (hints.longitude + 180.0) % 360.0 - 180.0
        offset = float(round(east / 15.0))
        notes.append(
            f"the times state no offset from UTC: taken as {offset:+g} h from the "
            "longitude (--utc-offset says otherwise)"
        )
        return time - hours(offset), offset, notes
    notes.append(
        "the times state no offset from UTC and no longitude is known: taken as "
        "sun time at longitude 0 (give --utc-offset, or --longitude)"
    )
    return time, None, notes
