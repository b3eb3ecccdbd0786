"""What could spoil a stack in the week that begins today."""

import numpy as np

from emcforecast.forecast.risk_weeks import likely_week, risks_along
from emcforecast.wood.risks.week import LEVELS, RiskWeek
from emcforecast.yard.outlook import Outlook

WEEKS_BACK = 8
"""So many weeks before count: mould and regain have a memory."""


RISK_YEARS = 6
"""Weather years whose risks are looked at, spread evenly over the record."""


def risks_this_week(outlook: Outlook, least: str = "high") -> tuple[RiskWeek, ...]:
    """Judge the risks of the seven days from today.

    Parameters
    ----------
    outlook : Outlook
    least : str
        Lowest level to report.

    Returns
    -------
    tuple of RiskWeek
        Each at the level a quarter of the weather years reach, the worst first.
    """
    if outlook.stack.stacked > outlook.today:
        return ()
    back = 7 * min(WEEKS_BACK, outlook.now // 7)
    found: dict[str, list[RiskWeek]] = {}
    for run in _one_a_year(outlook):
        for week in risks_along(
            outlook.whole,
            run,
            outlook.now - back,
            outlook.now + 7,
            outlook.stack.species,
            outlook.stack.thickness,
        ):
            if week.week == outlook.today:
                found.setdefault(week.risk, []).append(week)
    likely = [likely_week(weeks) for weeks in found.values()]
    rank = LEVELS.index(least)
    shown = [week for week in likely if LEVELS.index(week.level) >= rank]
    return tuple(sorted(shown, key=lambda week: -LEVELS.index(week.level)))


def _one_a_year(outlook: Outlook) -> list[int]:
    """Pick the run of each weather year whose moisture now is in the middle."""
    now = outlook.whole.mean[outlook.now]
    chosen = []
    years = np.unique(outlook.whole.year)
    for year in years[:: max(1, -(-years.size // RISK_YEARS))]:
        own = np.flatnonzero(outlook.whole.year == year)
        order = own[np.argsort(now[own], kind="stable")]
        chosen.append(int(order[order.size // 2]))
    return chosen
