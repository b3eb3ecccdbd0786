"""Whether the last years of a record say something else than all of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import BoolArray
from emcforecast.ensemble.boards import boards_of, start_state
from emcforecast.ensemble.calendar import HOUR
from emcforecast.ensemble.draws import draw

if TYPE_CHECKING:
    from emcforecast.forecast.plan.question import Question

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


def recent_years_of_plan(
    asked: "Question", place: int, ready: BoolArray
) -> RecentYears | None:
    """Tell the last years apart where dry wood was drier or damper in them.

    Parameters
    ----------
    asked : Question
        What the planner was asked.
    place : int
        The last place.
    ready : ndarray of bool, shape (runs,)
        Which runs are ready on the need date.

    Returns
    -------
    RecentYears or None
        None where they do not differ by more than `DIFFERS`, or are too few. A run is
        of the year whose weather it has on the need date.

    Notes
    -----
    One board with the middle of all that is not known stays dry in the place through
    every year, so that only the weather makes the difference.
    """
    air, runs = asked.air, asked.ensemble
    recent = recent_of([int(name) for name in np.unique(runs.year)])
    if not air.many_years or not recent:
        return None
    row = runs.weather.row_on(asked.need - 1, air.years.hours)
    year = (air.years.first + row * HOUR).astype("datetime64[Y]").astype(np.int64)
    late = np.isin(year + 1970, recent)
    one_each = np.unique(runs.year, return_index=True)[1]
    middle = boards_of(asked.board, draw(1, 1)).take(np.zeros(one_each.size, np.int64))
    each = replace(runs.take(one_each), boards=middle)
    begin = start_state(middle, air.mean_emc(place))
    dry = each.stay(begin, asked.need - 365, asked.need, place).mean[-1]
    its_late = late[one_each]
    change = float(np.median(dry[its_late]) - np.median(dry))
    if abs(change) <= DIFFERS:
        return None
    return RecentYears(recent, float(ready[late].mean()), change)
