"""Three numbers -> year, month, day: the order is decided or refused, not guessed."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


def assemble(year: Ints, month: Ints, day: Ints) -> TimeArray:
    """Return days (datetime64[D]) from their parts, NaT where there is no such day."""
    bad = (month < 1) | (month > 12) | (day < 1) | (day > 31) | (year < 1)
    months = (year - 1970) * 12 + np.where(bad, 1, month) - 1
    first = months.astype("datetime64[M]")
    date = first.astype("datetime64[D]") + (day - 1).astype("timedelta64[D]")
    bad |= date.astype("datetime64[M]") != first  # such as 31 April
    date[bad] = np.datetime64("NaT")
    return np.asarray(date)


def order_of(
    a: Ints,
    b: Ints,
    c: Ints,
    good: npt.NDArray[np.bool_],
    clock: npt.NDArray[np.timedelta64],
    named: npt.NDArray[np.bool_],
    day_first: bool | None,
    header: str,
    *,
    points: bool,
) -> tuple[Ints, Ints, Ints, list[str]]:
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
            "some dates put the day first "
            f"({ga[ga > 12][0]}/{gb[ga > 12][0]}) and some the month "
            f"({ga[gb > 12][0]}/{gb[gb > 12][0]}); "
            "write them as 2024-01-31"
        )
    if (ga > 12).any():
        decided, why = True, ""
    elif (gb > 12).any():
        decided, why = False, ""
    elif day_first is not None:
        decided, why = day_first, ""
    else:
        decided, why = _by_spacing(ga, gb, year[good], clock[good], points=points)
    if day_first is not None and decided != day_first:
        raise WeatherError(
            f"dates such as {ga[0]}/{gb[0]}/{gc[0]} cannot be read with the "
            f"{'day' if day_first else 'month'} first: a number above 12 stands where "
            f"the month should be; leave out --{'day' if day_first else 'month'}-first"
        )
    return (
        (year, b, a, [why] if why else [])
        if decided
        else (year, a, b, [why] if why else [])
    )


def _year_leads(a: Ints, b: Ints, c: Ints, clock: npt.NDArray[np.timedelta64]) -> bool:
    """Tell 24/01/31 by the times following one another only so."""
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


def _hours_between(time: TimeArray) -> Floats:
    seconds = time.astype("datetime64[s]").astype(np.int64)
    return np.diff(seconds).astype(np.float64) / 3600.0


def century(year: Ints) -> Ints:
    """Give two-digit years their century: 70 to 99 are of the last one."""
    return np.where(year < 100, np.where(year < 70, year + 2000, year + 1900), year)


def _by_spacing(
    a: Ints,
    b: Ints,
    year: Ints,
    clock: npt.NDArray[np.timedelta64],
    *,
    points: bool,
) -> tuple[bool, str]:
    """Choose the order under which the times follow one another."""
    if (a == b).all():
        return True, ""
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
            return True, "day before month: only so do the times follow one another"
        if back_m == 0 and jump_m < sure and (back_d > 0 or jump_d >= sure):
            return False, "month before day: only so do the times follow one another"
    if points:
        return True, "dates with points read as day.month.year"
    raise WeatherError(
        f"dates such as {a[0]:02d}/{b[0]:02d} may be day/month or month/day and no "
        "date in the file settles it; say which with --day-first or --month-first"
    )
