"""Sums that run over the day, or over a whole record, taken apart into amounts."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from emcforecast._types import FloatArray, TimeArray
from emcforecast.weather.repairs import Repair, RepairKind, repair

HOUR = np.timedelta64(1, "h")
FEWEST_DAYS = 3
"""Days that begin anew which show that sums run over the day."""
FEWEST_HOURS = 48
NOISE = 1e-3
"""Fall that packing alone may bring, as a share of the greatest value."""
FALLS = 0.002
"""Share of the other hours that may fall all the same."""
FEWEST_RISES = 10
"""Times that a column must rise before it is taken for a sum."""
DAY_BREAK = 2
"""Hours of the day in which a day's sum may begin anew: summer time moves midnight."""


def hours_of_running_sums(
    time: TimeArray, values: FloatArray
) -> tuple[FloatArray, bool]:
    """Take sums that run from midnight apart into hours.

    `time`: hourly stamps, UTC, each at the end of its hour, some may lack; `values`:
    amounts of the hour, or of the day so far, in any unit. Returns the amounts of the
    hour before each stamp, NaN where the sum of an hour before is not known, and
    whether the values were running sums; they are returned as they are otherwise.

    Notes
    -----
    Sums run from 00 UTC: the value stamped 00 is the whole day before, the one stamped
    01 begins anew. They are recognised by never falling at any other hour; amounts of
    single hours fall as often as they rise.

    References
    ----------
    ECMWF, "ERA5-Land: data documentation", accumulations.

    Examples
    --------
    >>> time = np.arange("2020-01-01T01", "2020-01-11T01", dtype="datetime64[h]")
    >>> sums = np.tile(np.arange(1.0, 25.0), 10)
    >>> hours, running = hours_of_running_sums(time, sums)
    >>> running, set(hours.tolist())
    (True, {1.0})
    """
    if values.size < FEWEST_HOURS:
        return values, False
    hourly = np.diff(time) == HOUR
    most = float(np.nanmax(np.abs(values), initial=0.0))
    clock = (time - time.astype("datetime64[D]")) // HOUR
    anew = clock[1:] == 1
    rise = np.diff(values)
    known = np.isfinite(rise) & hourly
    fell = known & (rise < -NOISE * most)
    if (fell & anew).sum() < FEWEST_DAYS or (known & ~anew).sum() < FEWEST_HOURS:
        return values, False
    if (fell & ~anew).sum() > FALLS * (known & ~anew).sum():
        return values, False
    begins = clock == 1
    before = np.concatenate(([np.nan], np.where(hourly, values[:-1], np.nan)))
    return np.where(begins, values, np.maximum(values - before, 0.0)), True


def rain_of_sums(time: TimeArray, rain: FloatArray) -> tuple[FloatArray, list[Repair]]:
    """Take rain that adds up over the day, or over the whole record, apart.

    `time`: UTC, shape (n,), in any order and spacing; `rain`: mm. Returns the amounts
    since the reading before (mm) and what was done; other rain comes back as it is.

    Notes
    -----
    Amounts fall as often as they rise. Sums rise at least twice as often, and fall in
    the same two hours of the day, or hardly ever and then to next to nothing.

    Examples
    --------
    >>> time = np.arange("2020-01-01T00", "2020-01-11T00", dtype="datetime64[h]")
    >>> amounts, done = rain_of_sums(time, np.arange(240.0))
    >>> amounts.sum().item(), done[0].kind.value
    (239.0, 'rain counter')
    """
    known = np.flatnonzero(np.isfinite(rain) & ~np.isnat(time))
    order = known[np.argsort(time[known], kind="stable")]
    stamps, sums = time[order], rain[order]
    step = np.diff(sums)
    most = float(np.max(np.abs(sums), initial=0.0))
    falls = np.flatnonzero(step < -NOISE * most) + 1
    rises = int(np.count_nonzero(step > 0.0))
    if rises < max(FEWEST_RISES, 2 * falls.size):
        return rain, []
    begins = np.zeros(sums.size, dtype=bool)
    begins[falls] = True
    if falls.size <= FALLS * rises + 1 and (sums[falls] <= 0.1 * sums[falls - 1]).all():
        kind = RepairKind.RAIN_COUNTER
        begins[0] = False
    elif falls.size >= FEWEST_DAYS and _by_the_day(stamps, falls):
        kind = RepairKind.RAIN_OF_DAYS
        begins[0] = True
    else:
        return rain, []
    amounts = np.where(begins, sums, np.maximum(np.append(0.0, step), 0.0))
    apart = rain.copy()
    apart[order] = amounts
    return apart, [repair(kind, rises)]


def _by_the_day(stamps: TimeArray, falls: npt.NDArray[np.intp]) -> bool:
    """Return whether nearly all falls lie in the same two hours of the day."""
    if float(np.median(np.diff(stamps) / HOUR)) > 12.0:
        return False
    at = stamps[falls]
    clock = (at - at.astype("datetime64[D]")) // HOUR
    count = np.bincount(clock.astype(np.int64), minlength=24)
    together = sum(np.roll(count, -by) for by in range(DAY_BREAK))
    return bool(np.max(together) >= (1.0 - FALLS) * falls.size - 1.0)
