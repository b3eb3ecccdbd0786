"""What could spoil a stack in the coming week."""

import numpy as np

from emcforecast.ensemble.boards import DAY
from emcforecast.ensemble.weather_ahead import temperature_of
from emcforecast.forecast.risk_weeks import LIKELY
from emcforecast.wood.risks.week import LEVELS, RiskWeek
from emcforecast.wood.risks.weekly import weekly_risks
from emcforecast.yard.outlook import Outlook

WEEKS_BACK = 8
"""So many weeks before count: mould and regain have a memory."""

YEARS = 6
"""Weather years that are looked at, spread evenly over the record."""


def risks_this_week(outlook: Outlook, least: str = "high") -> tuple[RiskWeek, ...]:
    """Judge the risks of the seven days from today.

    Parameters
    ----------
    outlook : Outlook
    least : str
        Lowest level to tell of.

    Returns
    -------
    tuple of RiskWeek
        Each at the level a quarter of the weather years reach, the worst first.
    """
    if outlook.stack.stacked > outlook.today or outlook.ahead < 8:
        return ()
    found: dict[str, list[RiskWeek]] = {}
    for trace in _one_a_year(outlook):
        for week in _last_week(outlook, trace):
            found.setdefault(week.risk, []).append(week)
    likely = [_likely(weeks) for weeks in found.values()]
    rank = LEVELS.index(least)
    told = [week for week in likely if LEVELS.index(week.level) >= rank]
    return tuple(sorted(told, key=lambda week: -LEVELS.index(week.level)))


def _one_a_year(outlook: Outlook) -> list[int]:
    """Pick the trace of each weather year whose moisture now is in the middle."""
    now = outlook.whole.mean[outlook.now]
    chosen = []
    years = np.unique(outlook.whole.year)
    for year in years[:: max(1, -(-years.size // YEARS))]:
        own = np.flatnonzero(outlook.whole.year == year)
        order = own[np.argsort(now[own], kind="stable")]
        chosen.append(int(order[order.size // 2]))
    return chosen


def _last_week(outlook: Outlook, trace: int) -> tuple[RiskWeek, ...]:
    """Run the risks over the weeks behind and keep the week from today."""
    base, bank, walk = outlook.base, outlook.bank, outlook.base.end
    back = 7 * min(WEEKS_BACK, outlook.now // 7)
    first, last = outlook.now - back, outlook.now + 7
    hours = np.arange(DAY * first, DAY * last)
    rows = (walk.row[trace] + hours - DAY * base.days) % bank.ring.hours
    setting = np.zeros(hours.size, dtype=np.int64)
    for leg in walk.stack.route:
        starts = DAY * int((leg.start - base.begun).astype(np.int64))
        setting[hours >= starts] = leg.setting
    lever = walk.lot.air[trace]
    air = bank.tables[bank.index(setting, lever), rows]
    if not np.isfinite(air).all():
        return ()
    wet = bank.rain_film[setting, lever] > 0.0
    days = np.arange(outlook.whole.days + 1)
    mean, shell, core = (
        np.interp(hours / DAY, days, path[:, trace])
        for path in (outlook.whole.mean, outlook.whole.shell, outlook.whole.core)
    )
    weeks = weekly_risks(
        base.begun.astype("datetime64[h]") + hours,
        temperature_of(air),
        100.0 * air[:, 2],
        mean,
        shell,
        species=outlook.stack.species,
        thickness=outlook.stack.thickness,
        core=core,
        precipitation=np.where(wet, air[:, 7], 0.0) if wet.any() else None,
    )
    return tuple(week for week in weeks if week.week == outlook.today)


def _likely(weeks: list[RiskWeek]) -> RiskWeek:
    """Return a week of the level that a quarter of the years reach."""
    order = sorted(weeks, key=lambda week: LEVELS.index(week.level))
    level = order[max(int(np.ceil(len(order) * (1.0 - LIKELY))) - 1, 0)].level
    same = [week for week in weeks if week.level == level]
    return sorted(same, key=lambda week: week.measure)[len(same) // 2]
