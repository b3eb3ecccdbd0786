"""Clocks that go to summer time, told by the hours they repeat and leave out."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from emcforecast._types import TimeArray
from emcforecast.weather.mend.words import plain_count

Marks = npt.NDArray[np.intp]

HOUR = np.timedelta64(1, "h")
LONGEST_SUMMER = np.timedelta64(250, "D")
"""No more than this lies between a spring and the autumn change after it."""
SHORTEST_SUMMER = np.timedelta64(100, "D")
ELSEWHERE = 5
"""Other irregular steps beside which a lone spring night is still believed."""
SPRINGS = {"north": (2, 3, 4, 5), "south": (8, 9, 10, 11)}
AUTUMNS = {"north": (9, 10, 11), "south": (2, 3, 4, 5)}


def standard_time(time: TimeArray) -> tuple[TimeArray, list[str]]:
    """Undo summer time where the clock's own jumps show it.

    Parameters
    ----------
    time : ndarray of datetime64[ns], shape (n,)
        Local clock times in the order of the file.

    Returns
    -------
    ndarray of datetime64[ns]
        Local standard time.
    list of str
        What was found.

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
        turned, notes = standard_time(time[::-1])
        return turned[::-1], notes
    if usual == np.timedelta64(0, "ns") or usual > HOUR:
        return time, []
    night = _sunday_night(time)
    repeats = np.flatnonzero(steps == usual - HOUR) + 1
    back = repeats[night[repeats] & night[repeats - 1]]
    skips = np.flatnonzero(steps == usual + HOUR) + 1
    forth = skips[night[skips]]
    if back.size:
        summers = _from_autumns(time, back, forth, alone=back.size == repeats.size)
        found = f"{plain_count(int(back.size), 'autumn hour')} in the file twice"
    else:
        odd = int(np.count_nonzero(steps != usual))
        summers = _from_spring(time, forth, odd, skips.size)
        found = "the hour of the spring change is left out, and hardly another"
    if not summers:
        return time, []
    summer = np.zeros(time.size, dtype=bool)
    for begin, end in summers:
        summer[begin:end] = True
    out = np.where(summer, time - HOUR, time)
    return out, [f"{found}: the clock keeps summer time, which was undone"]


def _sunday_night(time: TimeArray) -> npt.NDArray[np.bool_]:
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
    """Tell the Sundays on which clocks go forward: in March and April, or the south's.

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
