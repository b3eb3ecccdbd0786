"""What a solution comes to: its route followed with every run, and read off."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from emcforecast._types import BoolArray, FloatArray
from emcforecast.ensemble.boards import boards_of, start_state
from emcforecast.ensemble.calendar import DAY_HOURS, HOUR, Day
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.percentiles import counted_quantile
from emcforecast.ensemble.run_boards import Moisture
from emcforecast.forecast.plan.choose import LITTLE
from emcforecast.forecast.plan.dangers import Weigh, gentler_route, severe_dangers
from emcforecast.forecast.plan.earliest import EarliestDay
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.result import (
    Dates,
    Drawback,
    Earliest,
    Gentler,
    LastMove,
    Leg,
    Plan,
)
from emcforecast.forecast.plan.search import evaluate
from emcforecast.forecast.plan.solve import Solution
from emcforecast.forecast.plan.success import (
    EVENS,
    ROOM_LIMIT,
    SURE,
    first_day,
    is_ready,
    rain_unknown,
    takes_green,
)
from emcforecast.forecast.recent_years import DIFFERS, RecentYears, recent_of
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.physics.kernels.compiled import processors

AFTER_DAYS = 240
"""How long after coming in, or after the need date, a board is followed at least."""


@dataclass(frozen=True)
class LastStay:
    """A route followed to its last place and on.

    Parameters
    ----------
    path : Moisture
        Daily from the day of coming in.
    day : int
        That day, since the stacking.
    first_ready : ndarray, shape (runs,)
        Days from coming in to first ready, infinite where never.
    ready_when_needed : ndarray of bool, shape (runs,)
    """

    path: Moisture
    day: int
    first_ready: FloatArray
    ready_when_needed: BoolArray

    def dates(self, begun: Day) -> Dates:
        """Return early, likely and late date of being ready."""
        whole = [counted_quantile(self.first_ready, level) for level in (0.1, 0.5, 0.9)]
        return Dates(
            *(None if n is None else date_of(begun, self.day + int(n)) for n in whole)
        )

    def acclimate_days(self) -> tuple[float | None, float | None]:
        """Days from coming in to ready: middle and nine in ten."""
        middle, late = (counted_quantile(self.first_ready, q) for q in (0.5, 0.9))
        return middle, late

    def ready_earlier(self, need: int) -> float:
        """Share of the runs that are ready before the need date and not on it."""
        before = self.first_ready <= need - self.day
        return float((before & ~self.ready_when_needed).mean())


def last_stay(asked: Question, route: Route, after: int = AFTER_DAYS) -> LastStay:
    """Follow a route to its last place and so many days beyond the need date."""
    day = route.moves[-1] if route.moves else asked.now
    path = asked.stay(route.places, route.moves, max(asked.need, day) + after)
    ready = is_ready(path.mean, path.shell, path.core, asked.target)
    return LastStay(path, day, first_day(ready), ready[asked.need - day])


def plan_of(found: Solution, anywhere: Question, known_days: int, weigh: Weigh) -> Plan:
    """Follow the chosen route once more and read everything off it.

    Parameters
    ----------
    found : Solution
        By the planner.
    anywhere : Question
        The same, of the stack as it would be now in each place at hand, whether it may
        begin there or not: what each place does by itself.
    known_days : int
        Days from the stacking whose weather is the actual one.
    weigh : callable
        The weekly risks of a route.
    """
    asked, best = found.asked, found.best
    air, begun = asked.air, asked.begun
    with ThreadPoolExecutor(processors()) as pool:
        later = pool.submit(found.earliest)
        another = pool.submit(_another_year, asked, best)
        following = pool.submit(last_stay, asked, best)
        by_itself = pool.submit(_stays, found, anywhere)
        at_deadline = pool.submit(_latest, found)
        dry_wood = pool.submit(_equilibrium, asked, best.places[-1])
        legs = pool.submit(legs_of, asked, best)
        weighed = pool.submit(_weighed, found, weigh)
    stay, feasible = following.result(), by_itself.result()
    first = air.places[best.places[0]]
    green = _moisture(asked) > ROOM_LIMIT
    sure, even = (_earliest(asked, day) for day in later.result())

    def latest(level: float) -> date | None:
        day = found.latest(level)
        return None if day is None else date_of(begun, day)

    curve = found.curve
    years, emc = _emc_by_year(asked, best.places[-1])
    mean = float(np.median(stay.path.mean[asked.need - stay.day]))
    return Plan(
        board=asked.board,
        target=asked.target,
        stacked=date_of(begun, 0),
        need=date_of(begun, asked.need),
        known_to=date_of(begun, known_days) if known_days else None,
        places={air.places[k].name: air.places[k].about.title for k in asked.places},
        green=green,
        forced_start=green and asked.now <= 1 and not first.about.open_air,
        feasible=feasible,
        drawbacks=_drawbacks(asked, green),
        route=legs.result(),
        probability_by_need=best.chance,
        bring_in_by=latest(SURE),
        bring_in_even=latest(EVENS),
        latest=at_deadline.result(),
        little_lost_until=latest(max(best.chance - LITTLE, LITTLE)),
        acclimate_days=stay.acclimate_days() if best.moves else (None, None),
        ready=stay.dates(begun),
        ready_earlier=stay.ready_earlier(asked.need),
        moisture_by_need=mean,
        equilibrium_by_need=dry_wood.result(),
        another_year=another.result(),
        earliest=sure,
        earliest_even=even,
        dangers=weighed.result()[0],
        gentler=weighed.result()[1],
        simpler=_simpler(asked, best, found.routes),
        curve_days=begun + (np.zeros(0, np.int64) if curve is None else curve.days),
        curve=np.zeros(0) if curve is None else curve.chance,
        recent=_recent_years(asked, best.places[-1], stay.ready_when_needed),
        years=air.years.years if air.many_years else 1,
        air=air,
        fallbacks=air.fallbacks,
        emc=emc,
        emc_years=years,
    )


def _weighed(
    found: Solution, weigh: Weigh
) -> tuple[tuple[Danger, ...], Gentler | None]:
    """Weigh the risks of the best route, and of others where some are severe."""
    asked = found.asked
    since = asked.begun + np.timedelta64(asked.now, "D")
    dangers = severe_dangers(weigh(found.best), since)
    if not dangers:
        return dangers, None
    other = gentler_route(found.best, dangers, found.routes, weigh, since)
    if other is None:
        return dangers, None
    route, left = other
    return dangers, Gentler(legs_of(asked, route), route.chance, left)


def legs_of(asked: Question, route: Route) -> tuple[Leg, ...]:
    """Follow a route stay by stay."""
    legs, start = [], 0
    for k, number in enumerate(route.places):
        place, begin = asked.air.places[number], date_of(asked.begun, start)
        if k == len(route.moves):
            legs.append(Leg(place.name, place.kind, begin, None, None))
            break
        start = route.moves[k]
        path = asked.stay(route.places[: k + 1], route.moves[:k], start)
        end, mean = date_of(asked.begun, start), float(np.median(path.mean[-1]))
        legs.append(Leg(place.name, place.kind, begin, end, mean))
    return tuple(legs)


def date_of(begun: Day, days: int) -> date:
    """Return the date so many days after the stacking."""
    return date.fromisoformat(str(begun + np.timedelta64(days, "D")))


def _moisture(asked: Question) -> float:
    """Middle of the runs when stacked, or now, % MC."""
    return float(np.median(next(iter(asked.moisture.values()))))


def _stays(found: Solution, anywhere: Question) -> dict[str, float]:
    """Chance of every place at hand by itself."""
    known = {route.places[0]: route for route in found.routes if not route.moves}
    new = [Route((k,), ()) for k in anywhere.states if k not in known]
    known |= {route.places[0]: route for route in evaluate(anywhere, new)}
    return {anywhere.air.places[k].name: known[k].chance for k in sorted(known)}


def _drawbacks(asked: Question, green: bool) -> dict[str, Drawback]:
    found = {}
    for number in asked.places:
        place = asked.air.places[number]
        if rain_unknown(asked.air, number):
            found[place.name] = Drawback.RAIN_UNKNOWN
        if green and not takes_green(place):
            found[place.name] = Drawback.GREEN_IN_CLOSED_PLACE
    return found


def _latest(found: Solution) -> LastMove | None:
    """Make the last move on the last day that is 90 % sure."""
    day = found.latest(SURE)
    if found.curve is None or day is None:
        return None
    stay = last_stay(found.asked, found.best.moved_on(*found.best.moves[:-1], day))
    chance = float(found.curve.chance[found.curve.days == day][0])
    begun = found.asked.begun
    return LastMove(
        date_of(begun, day), chance, stay.acclimate_days(), stay.dates(begun)
    )


def _equilibrium(asked: Question, place: int) -> float:
    """Middle of boards that have been in a place for a year, on the need date."""
    runs = asked.ensemble
    begin = start_state(boards_of(asked.board, runs.members), asked.air.mean_emc(place))
    path = runs.stay(begin, asked.need - 365, asked.need, place)
    return float(np.median(path.mean[-1]))


def _another_year(asked: Question, best: Route) -> float:
    """Chance of the same route, its last move and the need a year later."""
    moves = (*best.moves[:-1], best.moves[-1] + 365) if best.moves else ()
    later = replace(asked, need=asked.need + 365)
    return evaluate(later, [best.moved_on(*moves)])[0].chance


def _earliest(asked: Question, first: EarliestDay | None) -> Earliest | None:
    if first is None:
        return None
    route = first.route
    return Earliest(
        date_of(asked.begun, first.day),
        date_of(asked.begun, route.moves[-1]) if route.moves else None,
        route.chance,
        legs_of(asked, route),
    )


def _simpler(
    asked: Question, best: Route, routes: tuple[Route, ...]
) -> dict[tuple[str, ...], float]:
    """Find the chains of fewer moves that nothing simpler beats."""
    found: dict[tuple[str, ...], float] = {}
    for moves in range(len(best.moves)):
        same = [route for route in routes if len(route.moves) == moves]
        if not same:
            continue
        top = max(same, key=lambda route: route.rank)
        if top.chance > max(found.values(), default=0.0):
            found[tuple(asked.air.places[k].name for k in top.places)] = top.chance
    return found


def _emc_by_year(asked: Question, place: int) -> tuple[tuple[int, ...], FloatArray]:
    """Daily EMC of a place as stated, %, from 1 January, one row a weather year."""
    hourly = 100.0 * asked.air.stated_emc(place)
    rows, years = asked.air.years.starts(np.datetime64("2001-01-01"))
    at = (rows[:, None] + np.arange(365 * DAY_HOURS)) % hourly.size
    daily: FloatArray = hourly[at].reshape(rows.size, 365, DAY_HOURS).mean(axis=2)
    return tuple(int(year) for year in years), daily


def _recent_years(asked: Question, place: int, ready: BoolArray) -> RecentYears | None:
    """Tell the last years apart where dry wood was drier or damper in them.

    One board with the middle of all that is not known stays dry in the place through
    every year, so that only the weather makes the difference. A run is of the year
    whose weather it has on the need date.
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
