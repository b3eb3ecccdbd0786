"""Years, months and days of a record: their limits, and the order they stand in."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

from emcforecast._types import BoolArray, FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import N_, _
from emcforecast.weather.repairs import Repair, RepairKind, repair

FIRST_YEAR, LAST_YEAR = 1700, 2200
"""Years that a weather record may speak of."""


def refuse_year(year: int) -> None:
    """Refuse a year that no weather record can be of."""
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise WeatherError(
            _(
                "a time is in the year {year}; weather is read from {first} "
                "to {last}: correct the clock or the file",
                year=year,
                first=FIRST_YEAR,
                last=LAST_YEAR,
            )
        )


def refuse_early(years: Iterable[str]) -> None:
    """Refuse a year such as 0001, written out so that its century is plain."""
    for text in dict.fromkeys(years):
        if re.fullmatch(r"\s*0\d{2,3}\s*", text):
            refuse_year(int(text))


def in_nanoseconds(time: npt.NDArray[Any]) -> TimeArray:
    """Return times in nanoseconds, which hold only 1678 to 2262 and wrap beyond.

    NaT stays NaT. Raises `WeatherError` for a time outside `FIRST_YEAR` to `LAST_YEAR`.

    Examples
    --------
    >>> in_nanoseconds(np.array(["2024-02-29"], "datetime64[D]"))[0].item() > 0
    True
    >>> in_nanoseconds(np.array(["2500-01-01"], "datetime64[D]"))
    Traceback (most recent call last):
    emcforecast.errors.WeatherError: a time is in the year 2500; weather is read \
from 1700 to 2200: correct the clock or the file
    """
    known = time[~np.isnat(time)]
    if known.size:
        for instant in (known.min(), known.max()):
            refuse_year(int(instant.astype("datetime64[Y]").astype(np.int64)) + 1970)
    return np.asarray(time.astype("datetime64[ns]"))


def assemble(year: IntArray, month: IntArray, day: IntArray) -> TimeArray:
    """Return days (datetime64[D]) from their parts, NaT where there is no such day."""
    bad = (month < 1) | (month > 12) | (day < 1) | (day > 31) | (year < 1)
    months = (year - 1970) * 12 + np.where(bad, 1, month) - 1
    first = months.astype("datetime64[M]")
    date = first.astype("datetime64[D]") + (day - 1).astype("timedelta64[D]")
    bad |= date.astype("datetime64[M]") != first  # such as 31 April
    date[bad] = np.datetime64("NaT", "D")
    return np.asarray(date)


def order_of_parts(
    a: IntArray,
    b: IntArray,
    c: IntArray,
    good: BoolArray,
    clock: npt.NDArray[np.timedelta64],
    named: BoolArray,
    day_first: bool | None,
    header: str,
    *,
    points: bool,
) -> tuple[IntArray, IntArray, IntArray, list[Repair]]:
    """Decide which of three numbers is the year, the month and the day."""
    ga, gb, gc = a[good], b[good], c[good]
    if (ga > 31).any() or _year_leads(ga, gb, gc, clock[good]):
        return century(a), b, c, []
    year = century(c)
    if named[good].all():
        return year, b, a, []
    low = header.lower().replace(" ", "")
    if day_first is None and re.search(r"d{1,2}[-/.]m{1,2}[-/.]y", low):
        day_first = True
    if day_first is None and re.search(r"m{1,2}[-/.]d{1,2}[-/.]y", low):
        day_first = False
    if (ga > 12).any() and (gb > 12).any():
        raise WeatherError(
            _(
                "some dates put the day first ({time}/{time2}) and some the "
                "month ({time3}/{time4}); write them as 2024-01-31",
                time=ga[ga > 12][0],
                time2=gb[ga > 12][0],
                time3=ga[gb > 12][0],
                time4=gb[gb > 12][0],
            )
        )
    if (ga > 12).any():
        decided, why = True, None
    elif (gb > 12).any():
        decided, why = False, None
    elif day_first is not None:
        decided, why = day_first, None
    else:
        decided, why = _order_by_spacing(ga, gb, year[good], clock[good], points=points)
    if day_first is not None and decided != day_first:
        by_day = N_(
            "dates such as {date} cannot be read with the day first: a number above 12 "
            "stands where the month should be; leave out --day-first"
        )
        by_month = N_(
            "dates such as {date} cannot be read with the month first: a number above "
            "12 stands where the month should be; leave out --month-first"
        )
        date = f"{ga[0]}/{gb[0]}/{gc[0]}"
        raise WeatherError(_(by_day if day_first else by_month, date=date))
    month, day = (b, a) if decided else (a, b)
    return year, month, day, [] if why is None else [repair(why)]


def _year_leads(
    a: IntArray, b: IntArray, c: IntArray, clock: npt.NDArray[np.timedelta64]
) -> bool:
    """Return whether dates are year/month/day, as their times follow only so."""
    if (c > 31).any() or len(set(c.tolist())) <= len(set(a.tolist())):
        return False
    smooth = []
    for year, month, day in ((a, b, c), (c, b, a), (c, a, b)):
        time = assemble(century(year), month, day)
        steps = _hours_between(time + clock)
        smooth.append(
            not np.isnat(time).any()
            and bool(steps.size)
            and float(np.abs(steps).max()) < 20 * 24.0
        )
    return smooth[0] and not any(smooth[1:])


def _hours_between(time: TimeArray) -> FloatArray:
    seconds = time.astype("datetime64[s]").astype(np.int64)
    return np.diff(seconds).astype(np.float64) / 3600.0


def century(year: IntArray) -> IntArray:
    """Give two-digit years their century: 70 to 99 are of the last one."""
    return np.where(year < 100, np.where(year < 70, year + 2000, year + 1900), year)


def _order_by_spacing(
    a: IntArray,
    b: IntArray,
    year: IntArray,
    clock: npt.NDArray[np.timedelta64],
    *,
    points: bool,
) -> tuple[bool, RepairKind | None]:
    """Choose the order under which the times follow one another."""
    if (a == b).all():
        return True, None
    spread = []
    for day, month in ((a, b), (b, a)):
        steps = _hours_between(assemble(year, month, day) + clock)
        if steps.size and float(np.median(steps)) < 0:
            steps = -steps
        jumps = float(np.abs(steps).max(initial=0.0))
        backward = int((steps < -2.0).sum())
        spread.append((backward, jumps, float(np.median(steps)) if steps.size else 0.0))
    (back_d, jump_d, step_d), (back_m, jump_m, step_m) = spread
    sure = 20 * 24.0
    if step_d == step_m or min(step_d, step_m) < 20.0:
        if back_d == 0 and jump_d < sure and (back_m > 0 or jump_m >= sure):
            return True, RepairKind.DAY_FIRST
        if back_m == 0 and jump_m < sure and (back_d > 0 or jump_d >= sure):
            return False, RepairKind.MONTH_FIRST
    if points:
        return True, RepairKind.DATES_WITH_POINTS
    raise WeatherError(
        _(
            "dates such as {a:02d}/{b:02d} may be day/month or month/day "
            "and no date in the file settles it; say which with "
            "--day-first or --month-first",
            a=a[0],
            b=b[0],
        )
    )
