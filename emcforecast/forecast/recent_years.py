"""Whether the last years of a record say something else than all of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from emcforecast.ensemble.boards import DAY, lot_of, start_state
from emcforecast.ensemble.calendar import HOUR
from emcforecast.ensemble.draws import draw
from emcforecast.forecast.plan.runs import Cast

DIFFERS = 0.3
"""% MC by which recent years must differ from all to be told apart."""
LEAST = 4
"""Fewer recent years say nothing."""


@dataclass(frozen=True)
class RecentYears:
    """What the last years alone say of a plan.

    Parameters
    ----------
    years : tuple of int
        Which.
    chance : float
        Of being ready by the need date.
    change : float
        Moisture of dry wood in the last place on the need date over that of all
        years, middle years, % MC.
    """

    years: tuple[int, ...]
    chance: float
    change: float


def recent_of(years: Sequence[int]) -> tuple[int, ...]:
    """Return the last ten of many years, the last half of some, none of few.

    Examples
    --------
    >>> recent_of(range(2000, 2012)), recent_of(range(2000, 2007))
    ((2006, 2007, 2008, 2009, 2010, 2011), ())
    """
    count = 10 if len(years) >= 15 else len(years) // 2
    return tuple(sorted(years)[-count:]) if count >= LEAST else ()


def recent_years(
    runs: Cast, day: np.datetime64, setting: int, need: int, good: NDArray[np.bool_]
) -> RecentYears | None:
    """Tell the last years apart where dry wood lay otherwise in them.

    Parameters
    ----------
    runs : Cast
        Every run, year by year.
    day : datetime64[D]
        The stacking; its year does not matter.
    setting : int
        The last place.
    need : int
        Days from the stacking to the need date.
    good : ndarray of bool, shape (runs,)
        Which runs are ready in time.

    Returns
    -------
    RecentYears or None
        None where they do not differ by more than `DIFFERS`, or are too few. A run is
        of the year whose weather it has on the need date.

    Notes
    -----
    One board with the middle of all that is not known lies dry in the place through
    every year, so that only the weather makes the difference.
    """
    ring = runs.bank.ring
    _, names = ring.starts(day)
    recent = recent_of([int(name) for name in names])
    if not runs.bank.many_years or not recent:
        return None
    row = (runs.rows + DAY * (need - 1)) % ring.hours
    year = (ring.first + row * HOUR).astype("datetime64[Y]").astype(np.int64) + 1970
    late = np.isin(year, recent)
    each = runs.some(np.unique(runs.rows, return_index=True)[1])
    middle = lot_of(runs.board, draw(1, 1)).take(np.zeros(each.runs, np.int64))
    each = replace(each, lot=middle, ahead=None)
    begin = start_state(middle, runs.bank.mean_rest(setting))
    rest = each.along(begin, need - 365, setting, need).mean[-1]
    its_late = np.isin(each.rows, runs.rows[late])
    change = float(np.median(rest[its_late]) - np.median(rest))
    if abs(change) <= DIFFERS:
        return None
    return RecentYears(recent, float(good[late].mean()), change)
