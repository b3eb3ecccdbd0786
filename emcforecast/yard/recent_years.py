"""What the recent years alone say of a stack, beside the whole record."""

from dataclasses import dataclass
from datetime import date

from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.forecast.recent_years import DIFFERS, recent_of
from emcforecast.forecast.targets import Target
from emcforecast.yard.outlook import Outlook, horizon


@dataclass(frozen=True)
class YearsAnswer:
    """What some weather years say of a stack.

    Parameters
    ----------
    years : tuple of int
        Which.
    driest : float
        Least moisture ahead where it is, middle, % of oven-dry mass.
    reached : date or None
        When it is ready (at 20 % without a target), middle; None where it is not.
    """

    years: tuple[int, ...]
    driest: float
    reached: date | None


@dataclass(frozen=True)
class RecentAnswer:
    """Recent years beside the whole record, no reading counted.

    Parameters
    ----------
    mc : float
        The moisture whose date is given, % of oven-dry mass.
    whole, recent : YearsAnswer
        Over the whole record and over its last years.
    """

    mc: float
    whole: YearsAnswer
    recent: YearsAnswer


def recent_answer(outlook: Outlook, target: Target | None) -> RecentAnswer | None:
    """Set recent years beside the whole record.

    Parameters
    ----------
    outlook : Outlook
        Without readings, so that all years count alike.
    target : Target or None
        Whose date is given; 20 % when None.

    Returns
    -------
    RecentAnswer or None
        None where the two differ by at most 0.3 % MC, or the record is too short.
    """
    years = recent_of(outlook.whole.years)
    if not years:
        return None
    recently = outlook.whole.of_years(years)
    if abs(_driest(outlook, outlook.whole) - _driest(outlook, recently)) <= DIFFERS:
        return None
    longer = outlook.until_there.whole
    whole = _answer(outlook, longer, target)
    recent = _answer(outlook, longer.of_years(years), target)
    return RecentAnswer(20.0 if target is None else target.high, whole, recent)


def _answer(outlook: Outlook, runs: Trajectories, target: Target | None) -> YearsAnswer:
    days = (
        runs.first_below(20.0) if target is None else outlook.first_ready(target, runs)
    )
    return YearsAnswer(
        runs.years,
        _driest(outlook, runs),
        outlook.date_of(quantiles(days, runs.weight, (0.5,))[0]),
    )


def _driest(outlook: Outlook, runs: Trajectories) -> float:
    # Runs followed longer, for slow boards, mix more and more of the years.
    until = outlook.now + horizon(outlook.stack, outlook.today) + 1
    ahead = runs.mean[outlook.now : until].min(axis=0)
    return quantiles(ahead, runs.weight, (0.5,))[0]
