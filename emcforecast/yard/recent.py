"""What the recent weather years alone say, where that differs from the whole record."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Traces
from emcforecast.forecast.recent_years import DIFFERS
from emcforecast.forecast.targets import Target
from emcforecast.yard.outlook import Outlook, first_ready

FEWEST_YEARS, MANY_YEARS, LAST_OF_MANY = 8, 15, 10


@dataclass(frozen=True)
class Answer:
    """What some weather years say of a stack.

    Parameters
    ----------
    years : tuple of int
        Which.
    driest : float
        Least moisture ahead where it lies, middle, % of oven-dry mass.
    reached : date or None
        When the target (20 % without one) is reached, middle; None where not.
    """

    years: tuple[int, ...]
    driest: float
    reached: date | None


@dataclass(frozen=True)
class Recent:
    """Both answers, no reading counted.

    Parameters
    ----------
    mc : float
        The moisture whose date is told, % of oven-dry mass.
    whole, recent : Answer
        Over the whole record and over its last years.
    """

    mc: float
    whole: Answer
    recent: Answer


def recent_years(years: tuple[int, ...]) -> tuple[int, ...]:
    """Return the years that count as recent; none of a short record.

    Examples
    --------
    >>> recent_years(tuple(range(2007, 2019)))
    (2013, 2014, 2015, 2016, 2017, 2018)
    """
    if len(years) < FEWEST_YEARS:
        return ()
    count = LAST_OF_MANY if len(years) >= MANY_YEARS else len(years) // 2
    return tuple(sorted(years)[-count:])


def recent_answer(outlook: Outlook, target: Target | None) -> Recent | None:
    """Set recent years beside the whole record.

    Parameters
    ----------
    outlook : Outlook
        Without readings, so that all years count alike.
    target : Target or None
        Whose date is told; 20 % when None.

    Returns
    -------
    Recent or None
        None where the two differ by at most 0.3 % MC, or the record is too short.
    """
    years = recent_years(outlook.whole.years)
    if not years:
        return None
    whole = _answer(outlook, outlook.whole, target)
    recent = _answer(outlook, outlook.whole.of_years(years), target)
    if abs(whole.driest - recent.driest) <= DIFFERS:
        return None
    return Recent(20.0 if target is None else target.high, whole, recent)


def _answer(outlook: Outlook, traces: Traces, target: Target | None) -> Answer:
    ahead = traces.mean[outlook.now :].min(axis=0)
    days = (
        traces.first_below(20.0)
        if target is None
        else outlook.now + first_ready(traces, outlook.now, target)
    )
    middle = quantiles(days, traces.weight, (0.5,))[0]
    return Answer(
        traces.years,
        quantiles(ahead, traces.weight, (0.5,))[0],
        outlook.day(middle) if np.isfinite(middle) else None,
    )
