"""Plain tables read at the speed of the disk; anything odd is left to the slow way."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.physics.kernels.compiled import compiled
from emcforecast.weather.formats.table import Numbers, Table

Bytes = npt.NDArray[np.uint8]

SMALLEST = 200_000
"""Below this many bytes starting the compiled reader gains nothing."""

_LINE, _RETURN, _QUOTE = 10, 13, 34
_NO_DAY = -(2**40)
_POWERS = 10.0 ** np.arange(16)
_ISO = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?(?:Z|\+00:00)?")

FARTHEST_SECONDS = 7_000_000_000
"""Before or after 1970, about 220 years; the slow way names what lies beyond."""


@dataclass(frozen=True)
class Plain:
    """Columns of a plain table.

    `time`: as printed, shape (n,); `utc`: every time ended in Z or +00:00; `columns`:
    by quantity.
    """

    time: TimeArray
    utc: bool
    columns: dict[str, Numbers]


def read_plain(
    data: bytes,
    table: Table,
    body: int,
    separator: str,
    wanted: dict[str, int],
    at: int,
) -> Plain | None:
    """Read the rows of a table of ISO times and plain numbers."""
    first = table.rows[0]
    if not _ISO.fullmatch(first[at].strip()) or b'"' in data[body : body + 4096]:
        return None
    buffer = np.frombuffer(data, dtype=np.uint8)
    names = list(wanted)
    last = max(*wanted.values(), at) + 1
    role = np.full(last, -1, dtype=np.int64)
    for index, name in enumerate(names):
        role[wanted[name]] = index
    role[at] = -2
    most = int(np.count_nonzero(buffer[body:] == 10)) + 1
    values = np.empty((len(names), most), dtype=np.float64)
    seconds = np.empty(most, dtype=np.int64)
    rows, zoned = _scan(buffer, body, ord(separator), role, values, seconds)
    if rows <= 0 or zoned not in (0, rows):
        return None
    if np.abs(seconds[:rows]).max() > FARTHEST_SECONDS:
        return None
    time = (seconds[:rows] * 1_000_000_000).view("datetime64[ns]")
    columns = {}
    for index, name in enumerate(names):
        column = values[index, :rows]
        columns[name] = Numbers(column, (), (), int(np.count_nonzero(np.isnan(column))))
    return Plain(time, zoned == rows, columns)


@compiled()
def _scan(
    text: Bytes,
    start: int,
    separator: int,
    role: IntArray,
    values: FloatArray,
    seconds: IntArray,
) -> tuple[int, int]:
    """Scan rows; return how many, and how many times had a zone, or -1 if not plain."""
    size = text.size
    last = role.size
    at = start
    row = 0
    zoned = 0
    while at < size:
        if text[at] == _LINE or text[at] == _RETURN:
            at += 1
            continue
        for column in range(last):
            kind = role[column]
            if kind == -2:
                at, seconds[row], zone = _stamp(text, at)
                zoned += zone
            elif kind >= 0:
                at, values[kind, row] = _number(text, at)
            else:
                at = _past(text, at, separator)
            if at < 0:
                return -1, 0
            if column < last - 1:
                if at >= size or text[at] != separator:
                    return -1, 0
                at += 1
        # Whatever stands after the last column wanted.
        if at < size and text[at] != separator and text[at] > _RETURN:
            return -1, 0
        at = _past(text, at, _LINE)
        if at < 0:
            return -1, 0
        at += 1
        row += 1
    return row, zoned


@compiled()
def _past(text: Bytes, at: int, mark: int) -> int:
    """Return where a mark or the end of the line is; -1 when a quote comes before."""
    while at < text.size and text[at] != mark and text[at] != _LINE:
        if text[at] == _QUOTE:
            return -1
        at += 1
    return at


@compiled()
def _number(text: Bytes, at: int) -> tuple[int, float]:
    """Read digits with a point; return where they end (-1 when odd) and the number."""
    size = text.size
    negative = False
    if at < size and (text[at] == 45 or text[at] == 43):
        negative = text[at] == 45
        at += 1
    whole = np.int64(0)
    begin = at
    point = -1
    while at < size:
        code = text[at]
        if 48 <= code <= 57:
            whole = whole * 10 + np.int64(code - 48)
        elif code == 46 and point < 0:
            point = at
        else:
            break
        at += 1
    length = at - begin
    if length == 0:
        return (-1, np.nan) if negative else (_past_word(text, at), np.nan)
    digits = length if point < 0 else length - 1
    if digits > 15 or digits == 0:
        return -1, np.nan
    number = float(whole)
    if point >= 0:
        # Exact: both are whole numbers that a float holds.
        number = number / _POWERS[at - point - 1]
    return at, -number if negative else number


@compiled()
def _past_word(text: Bytes, at: int) -> int:
    """Return where NA, NaN or null ends, or nothing at all; -1 for other words."""
    begin = at
    while at < text.size and (text[at] | 32) >= 97 and (text[at] | 32) <= 122:
        at += 1
    length = at - begin
    if length == 0:
        return at
    if length > 4 or length < 2 or (text[begin] | 32) != 110:
        return -1
    second = text[begin + 1] | 32
    if second == 97 and (
        length == 2 or (length == 3 and (text[begin + 2] | 32) == 110)
    ):
        return at
    return at if second == 117 and length == 4 else -1


@compiled()
def _two(text: Bytes, at: int) -> int:
    """Read two digits; a large negative number when they are none."""
    tens, ones = np.int64(text[at]) - 48, np.int64(text[at + 1]) - 48
    if tens < 0 or tens > 9 or ones < 0 or ones > 9:
        return -100000
    return int(tens * 10 + ones)


@compiled()
def _stamp(text: Bytes, at: int) -> tuple[int, int, int]:
    """Read an ISO time; return where it ends, its seconds, and if it had a zone."""
    if at + 16 > text.size or text[at + 4] != 45 or text[at + 7] != 45:
        return -1, 0, 0
    if (text[at + 10] != 84 and text[at + 10] != 32) or text[at + 13] != 58:
        return -1, 0, 0
    days = _days(
        _two(text, at) * 100 + _two(text, at + 2),
        _two(text, at + 5),
        _two(text, at + 8),
    )
    hour, minute = _two(text, at + 11), _two(text, at + 14)
    end = at + 16
    second = 0
    if end + 2 < text.size and text[end] == 58:
        second = _two(text, end + 1)
        end += 3
    if days == _NO_DAY or not (0 <= hour <= 23 and 0 <= minute <= 59):
        return -1, 0, 0
    if not 0 <= second <= 59:
        return -1, 0, 0
    zone = 0
    if end < text.size and text[end] == 90:
        zone = 1
        end += 1
    elif end + 5 < text.size and text[end] == 43:
        if _two(text, end + 1) != 0 or _two(text, end + 4) != 0:
            return -1, 0, 0
        zone = 1
        end += 6
    return end, ((days * 24 + hour) * 60 + minute) * 60 + second, zone


@compiled()
def _days(year: int, month: int, day: int) -> int:
    """Return the days since 1970, `_NO_DAY` for a date that is none."""
    if year < 1 or month < 1 or month > 12 or day < 1:
        return _NO_DAY
    longest = 31
    if month == 2:
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        longest = 29 if leap else 28
    elif month == 4 or month == 6 or month == 9 or month == 11:
        longest = 30
    if day > longest:
        return _NO_DAY
    # Years counted from March, in eras of 400.
    shifted = year - 1 if month <= 2 else year
    era = shifted // 400
    of_era = shifted - era * 400
    of_year = (153 * (month - 3 if month > 2 else month + 9) + 2) // 5 + day - 1
    return era * 146097 + of_era * 365 + of_era // 4 - of_era // 100 + of_year - 719468
