"""The clock of a file or station -> UTC: offsets stated, given, or of the place."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from emcforecast._types import BoolArray, TimeArray
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.times.stamps import zone_hours

Marks = npt.NDArray[np.intp]

HOUR = np.timedelta64(1, "h")
LONGEST_SUMMER = np.timedelta64(250, "D")
"""No more than this lies between a spring and the autumn change after it."""
SHORTEST_SUMMER = np.timedelta64(100, "D")
ELSEWHERE = 5
"""Other irregular steps beside which a lone spring night is still believed."""
SPRINGS = {"north": (2, 3, 4, 5), "south": (8, 9, 10, 11)}
AUTUMNS = {"north": (9, 10, 11), "south": (2, 3, 4, 5)}
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
#: A zone of standard time as the last word of a name, in capitals; summer zones are
#: the label of an export and not of every row.
_ZONE = re.compile(r"[\s_(\[,](EST|CST|MST|PST|AKST|HST|CET|MEZ|EET)\s*[)\]]?\s*$")


def undo_summer_time(time: TimeArray) -> tuple[TimeArray, list[Repair]]:
    """Undo summer time where the clock's own jumps show it, in the order of the file.

    Notes
    -----
    An hour that comes twice on one Sunday night of an autumn is proof, unless hours
    come twice at other times too, or the spring before is in the file without its
    missing hour. A missing hour alone is believed only on the very night of a spring
    change, in a file with hardly another irregular step.
    """
    if time.size < 3 or np.isnat(time).any():
        return time, []
    steps = np.diff(time)
    usual = np.median(steps.astype(np.int64)).astype(np.int64).astype("timedelta64[ns]")
    if usual < np.timedelta64(0, "ns"):  # newest first
        turned, repairs = undo_summer_time(time[::-1])
        return turned[::-1], repairs
    if usual == np.timedelta64(0, "ns") or usual > HOUR:
        return time, []
    night = _sunday_night(time)
    repeats = np.flatnonzero(steps == usual - HOUR) + 1
    back = repeats[night[repeats] & night[repeats - 1]]
    skips = np.flatnonzero(steps == usual + HOUR) + 1
    forth = skips[night[skips]]
    if back.size:
        summers = _from_autumns(time, back, forth, alone=back.size == repeats.size)
        found = repair(RepairKind.SUMMER_TIME_REPEATED, back.size)
    else:
        odd = int(np.count_nonzero(steps != usual))
        summers = _from_spring(time, forth, odd, skips.size)
        found = repair(RepairKind.SUMMER_TIME_SKIPPED)
    if not summers:
        return time, []
    summer = np.zeros(time.size, dtype=bool)
    for begin, end in summers:
        summer[begin:end] = True
    out = np.where(summer, time - HOUR, time)
    return out, [found]


def _sunday_night(time: TimeArray) -> BoolArray:
    days = time.astype("datetime64[D]")
    sunday = (days.astype(np.int64) + 4) % 7 == 0
    return np.asarray(sunday & ((time - days) / HOUR <= 4.0))


def _month(instant: np.datetime64) -> int:
    return int(instant.astype("datetime64[M]").astype(np.int64)) % 12 + 1


def _from_autumns(
    time: TimeArray, back: Marks, forth: Marks, *, alone: bool
) -> list[tuple[int, int]]:
    """Return the summers (first row, row after the last) that the autumns show."""
    months = {_month(time[at]) for at in back}
    half = next((name for name, usual in AUTUMNS.items() if months <= set(usual)), None)
    years = time[back].astype("datetime64[Y]")
    if half is None or np.unique(years).size != years.size:
        return []
    springs = [int(at) for at in forth if _month(time[at]) in SPRINGS[half]]
    summers = []
    for at in back.tolist():
        length = [(time[at] - time[spring], spring) for spring in springs]
        fits = [s for span, s in length if SHORTEST_SUMMER < span < LONGEST_SUMMER]
        if fits:
            usual = [spring for spring in fits if _is_change(time[spring])]
            summers.append(((usual or fits)[-1], at))
        elif alone and time[at] - time[0] < LONGEST_SUMMER:
            summers.append((0, at))
        else:
            return []
    later = [spring for spring in springs if spring > back[-1]]
    if later and time[-1] - time[later[0]] < LONGEST_SUMMER:
        summers.append((later[0], time.size))
    return summers


def _from_spring(
    time: TimeArray, forth: Marks, odd: int, skips: int
) -> list[tuple[int, int]]:
    """Return the summer that a lone spring change shows, to the end of the file."""
    nights = [int(at) for at in forth if _is_change(time[at])]
    if len(nights) != 1 or skips != 1 or odd > ELSEWHERE + 1:
        return []
    at = nights[0]
    return [(at, time.size)] if time[-1] - time[at] < LONGEST_SUMMER else []


def _is_change(instant: np.datetime64) -> bool:
    """Return whether it is a Sunday on which clocks go forward, north or south.

    The last of March (Europe since 1981), the second of March and the first of April
    (North America since 2007, and 1987 to 2006), the last of September and the first
    of October (New Zealand and Australia), from memory.
    """
    day = instant.astype("datetime64[D]")
    number = int((day - day.astype("datetime64[M]")).astype(np.int64)) + 1
    week = (number - 1) // 7 + 1
    last = _month(day + np.timedelta64(7, "D")) != _month(day)
    month = _month(day)
    return (
        (month == 3 and (last or week == 2))
        or (month in (4, 10) and week == 1)
        or (month == 9 and last)
    )


def standard_offset_at(latitude: float, longitude: float, country: str) -> float:
    """Return local standard time less UTC.

    Examples
    --------
    >>> standard_offset_at(33.63, -84.44, "US")
    -5.0
    >>> standard_offset_at(33.63, -84.44, "")
    -6.0
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


def hours(value: float) -> np.timedelta64:
    """Return a number of hours as a time difference, to the second."""
    return np.timedelta64(round(value * 3600.0), "s")


def stated_offset(names: Sequence[str]) -> float | None:
    """Return the offset from UTC (h) that names or preamble lines state, else None.

    Examples
    --------
    >>> stated_offset(["Date Time, GMT-05:00"]), stated_offset(["time_utc"])
    (-5.0, 0.0)
    >>> stated_offset(["Date/Time (EST)"]), stated_offset(["timestamp"])
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
) -> tuple[TimeArray, float | None, list[Repair]]:
    """Bring times of a clock without stated offset to UTC.

    `time`: as the clock showed them, in the order of the file; `names`: those of the
    time columns and lines of the preamble. Returns UTC, local standard time minus UTC
    (h) when known, and what was taken for granted.
    """
    stated = stated_offset(names)
    if stated is not None:
        offset = hints.utc_offset if hints.utc_offset is not None else stated or None
        return time - hours(stated), offset, []
    time, repairs = undo_summer_time(time)
    if hints.utc_offset is not None:
        return time - hours(hints.utc_offset), hints.utc_offset, repairs
    if hints.longitude is not None:
        east = (hints.longitude + 180.0) % 360.0 - 180.0
        offset = float(round(east / 15.0))
        repairs.append(repair(RepairKind.OFFSET_OF_LONGITUDE, offset=offset))
        return time - hours(offset), offset, repairs
    return time, None, [*repairs, repair(RepairKind.OFFSET_UNKNOWN)]
