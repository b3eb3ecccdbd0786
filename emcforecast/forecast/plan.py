"""Where next, when in, ready when: the best route through the places one has."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from emcforecast.errors import InputError
from emcforecast.forecast.airs import air_bank
from emcforecast.forecast.paths import Cast, cast
from emcforecast.forecast.ring import as_day
from emcforecast.forecast.targets import Target
from emcforecast.storage.settings import Setting
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]
Report = Callable[[float, str], None]

ROOM_LIMIT = 25.0
"""Wood wetter than this (% MC, middle of the runs) is not taken into a closed or
heated place: it checks, and the place grows mould (common practice, no source)."""
EVEN = 2.5
"""Core less shell, % MC, at which a board counts as even (common practice)."""
SURE, EVENS = 0.9, 0.5
NEARLY = 0.02
"""Where 90 % cannot be had, the last date this near the best is taken."""
COARSE_DAYS, MOVE_DAYS = 14, 28
LONGEST = 4 * 365
SETTLE_DAYS = 240
"""How long after coming in a board is followed."""
AIRY = ("stack", "stack-roof", "shed", "loft")
"""Kinds of place that take green wood."""
DAILY_WITHIN = 240
"""Moves are tried day by day this long before the need date, fortnightly before."""
NEAR_ENOUGH = 0.2
"""Where nothing succeeds, moves within this of the driest count as good, % MC."""
CHUNK = 6000
"""Runs followed at once."""


@dataclass(frozen=True)
class Leg:
    """One stay: setting, its kind, from and until (None: to the end), and why."""

    setting: str
    kind: str
    start: date
    end: date | None
    moisture_at_end: float | None
    why: str


@dataclass(frozen=True)
class Dates:
    """Days for lucky, middle and cautious weather; None where not reached."""

    p10: date | None
    p50: date | None
    p90: date | None


@dataclass(frozen=True)
class Plan:
    """What `plan` found.

    Parameters
    ----------
    board : Board
    target : Target
    stacked, need : date
    feasible : dict of str to float
        Probability that each setting alone holds the wood in the target by the need
        date.
    alone : dict of str to str
        What forbids staying there alone, where something does.
    route : tuple of Leg
    bring_in_by, bring_in_even : date or None
        The last date to make the last move with 90 and with 50 % certainty.
    acclimate_days : tuple of float or None
        Days from the last move to ready: middle and nine in ten.
    ready : Dates
    probability_by_need : float
    another_year : float
        The same route's probability if needed a year later.
    curve_days, curve : ndarray
        Date of the last move and the probability of being ready in time.
    moisture_by_need : float
        Middle of the runs on the need date, % MC.
    next_good : tuple of date and float, or None
        The first later day within a year that is 90 % sure, else the surest, with its
        probability; None when no later day is surer than the need date.
    years : int
        Weather years behind it.
    fallbacks : tuple of str
    emc : ndarray, shape (years, 365)
        Daily EMC of the last setting, %, by weather year, for the picture.
    """

    board: Board
    target: Target
    stacked: date
    need: date
    feasible: dict[str, float]
    alone: dict[str, str]
    route: tuple[Leg, ...]
    bring_in_by: date | None
    bring_in_even: date | None
    acclimate_days: tuple[float | None, float | None]
    ready: Dates
    probability_by_need: float
    another_year: float
    curve_days: NDArray[np.datetime64] = field(repr=False)
    curve: Array = field(repr=False)
    moisture_by_need: float
    next_good: tuple[date, float] | None
    years: int
    fallbacks: tuple[str, ...]
    emc: Array = field(repr=False)


@dataclass(frozen=True)
class _Route:
    """Settings by number, the days of the moves, and how well it does."""

    settings: tuple[int, ...]
    moves: tuple[int, ...]
    probability: float
    excess: float

    @property
    def rank(self) -> tuple[float, float, int, int]:
        """Better is greater: surer (to 1 %), nearer, fewer moves, later last move."""
        return (
            round(self.probability, 2),
            -round(self.excess, 1),
            -len(self.moves),
            self.moves[-1] if self.moves else 0,
        )


def plan(
    weather: "xr.Dataset",
    species: str = "white oak",
    thickness: float | str = "4/4",
    *,
    stacked: "date | str",
    need: "date | str",
    target: Target,
    have: Sequence[Setting],
    from_mc: float | None = None,
    members: int = 4,
    progress: Report | None = None,
) -> Plan:
    """Find the best route through the places at hand and when to make each move.

    Parameters
    ----------
    weather : Dataset
        A weather series, hourly or monthly; dim ``time``.
    species : str
        A wood's name.
    thickness : float or str
        mm, or text such as "8/4".
    stacked, need : date or str
        When the stack begins and when the wood is needed.
    target : Target
        The moisture to be at.
    have : sequence of Setting
        The places at hand, airiest first; a route visits them in this order.
    from_mc : float, optional
        Moisture content when stacked, %; green when left out.
    members : int
        Draws, for each weather year, of what nobody knows about the stack.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        When the dates are in the wrong order or too far apart, or nothing is at hand.
    WeatherError
        When the series does not cover a year.

    Notes
    -----
    Every weather year runs at once with every member. Routes are searched on a
    coarse grid of move dates, the best one again day by day. A run succeeds when the
    board has been in the target and even (core less shell at most 2.5 % MC) by the
    need date and is no wetter than the target on it. Green wood is not taken into a
    closed or heated place.

    Examples
    --------
    >>> from emcforecast import read_weather
    >>> from emcforecast.forecast.targets import target_for_use
    >>> from emcforecast.storage.settings import default_setting
    >>> found = plan(
    ...     read_weather("demo"), "yellow-poplar", "4/4",
    ...     stacked="2026-04-01", need="2027-02-01",
    ...     target=target_for_use("furniture"),
    ...     have=[default_setting("shed"), default_setting("indoor")], members=1,
    ... )
    >>> found.route[-1].setting
    'indoor'
    """
    first, last = as_day(stacked), as_day(need)
    days = int((last - first).astype(int))
    if not have:
        raise InputError("no place is at hand; say --have outdoor,shed,indoor")
    if not 7 <= days <= LONGEST:
        raise InputError(
            f"needed {last}, stacked {first}: the need date must lie a week to four "
            "years after; check the two dates"
        )
    board = Board(species, thickness)
    report = progress or (lambda fraction, what: None)
    bank = air_bank(weather, have, airs=max(members, 1), progress=report)
    coarse = cast(bank, board, first, 1)
    report(0.1, "routes")
    routes = _search(coarse, have, from_mc, days, target, report)
    full = cast(bank, board, first, members)
    best, curve_days, curve = _refine(full, routes, from_mc, days, target, report)
    report(0.9, "dates")
    return _told(full, have, best, (curve_days, curve), from_mc, (first, last), target)


def _green_ok(setting: Setting) -> bool:
    return setting.kind in AIRY


def _rain_unknown(runs: Cast, setting: Setting) -> bool:
    """Whether boards there would be rained on, and the weather does not say."""
    number = runs.bank.settings.index(setting)
    return setting.kind == "stack" and not runs.bank.rain_film[number].any()


def _search(
    runs: Cast,
    have: Sequence[Setting],
    from_mc: float | None,
    days: int,
    target: Target,
    report: Report,
) -> list[_Route]:
    """Every route on the coarse grid: single stays, one move, two moves."""
    start = runs.start(from_mc)
    found: list[_Route] = []
    firsts = range(len(have))
    for a in firsts:
        report(0.1 + 0.6 * a / len(have), "routes")
        means, states = runs.daily(a, start, 0, days, COARSE_DAYS)
        if not _green_ok(have[a]) and np.median(means[0]) > ROOM_LIMIT:
            continue
        if _rain_unknown(runs, have[a]) and len(have) > 1 and _green_ok(have[1]):
            continue
        found.append(_Route((a,), (), *_stay(runs, a, start, 0, days, target)))
        wet = np.median(means, axis=1)
        for b in range(a + 1, len(have)):
            at = _moves(wet, have[b], days, COARSE_DAYS)
            scores = _sweep(runs, b, states[at // COARSE_DAYS], at, days, target)
            found += [
                _Route((a, b), (int(d),), p, x)
                for d, p, x in zip(at, *scores, strict=True)
            ]
            for d1 in at[at % MOVE_DAYS == 0] if b + 1 < len(have) else ():
                found += _onward(
                    runs, have, (a, b), int(d1), states[d1 // COARSE_DAYS], days, target
                )
    if not found:
        raise InputError(
            "none of the places at hand takes green wood; add an airy one "
            "(--have outdoor or shed), or say --from-mc when it is already drier"
        )
    return found


def _onward(
    runs: Cast,
    have: Sequence[Setting],
    visited: tuple[int, int],
    moved: int,
    state: Array,
    days: int,
    target: Target,
) -> list[_Route]:
    """Routes that go on from a second place to a third."""
    means, states = runs.daily(visited[1], state, moved, days - moved, COARSE_DAYS)
    wet = np.median(means, axis=1)
    found: list[_Route] = []
    for c in range(visited[1] + 1, len(have)):
        at = _moves(wet, have[c], days - moved, COARSE_DAYS)
        at = at[at > 0]
        scores = _sweep(runs, c, states[at // COARSE_DAYS], moved + at, days, target)
        found += [
            _Route((*visited, c), (moved, moved + int(d)), p, x)
            for d, p, x in zip(at, *scores, strict=True)
        ]
    return found


def _moves(wet: Array, setting: Setting, days: int, stride: int) -> NDArray[np.int64]:
    """Days on which the stack may move into a setting."""
    at = np.arange(wet.size, dtype=np.int64) * stride
    allowed = (at > 0) & (at < days)
    if not _green_ok(setting):
        allowed &= wet <= ROOM_LIMIT
    return at[allowed]


def _stay(
    runs: Cast, setting: int, state: Array, day: int, days: int, target: Target
) -> tuple[float, float]:
    """Probability of success, and points too wet when needed."""
    chance, excess = _sweep(runs, setting, state[None], np.array([day]), days, target)
    return float(chance[0]), float(excess[0])


def _sweep(
    runs: Cast,
    setting: int,
    states: Array,
    at: NDArray[np.int64],
    days: int,
    target: Target,
) -> tuple[Array, Array]:
    """Probability of success, and points too wet when needed, for each last move."""
    chance, excess = np.empty(at.size), np.empty(at.size)
    step = max(1, CHUNK // runs.runs)
    for k in range(0, at.size, step):
        part = at[k : k + step]
        packed = np.concatenate(list(states[k : k + step]), axis=1)
        mean, shell, core, _ = runs.go(setting, packed, part, int(days - part[0]))
        ok = _success(mean, shell, core, days - part, target)
        chance[k : k + step] = ok.mean(axis=1)
        needed = np.median(mean[days - part, np.arange(part.size)], axis=1)
        excess[k : k + step] = np.maximum(needed - target.high, 0.0)
    return chance, excess


def _success(
    mean: Array, shell: Array, core: Array, left: NDArray[np.int64], target: Target
) -> NDArray[np.bool_]:
    """Whether each run is in the target in time and not wetter when needed.

    Parameters
    ----------
    mean, shell, core : ndarray, shape (days, copies, runs)
    left : ndarray of int, shape (copies,)
        Days left until the need date.
    """
    return _at_need(mean, left, target) & (
        _first_ready(mean, shell, core, target) <= left[:, None]
    )


def _at_need(mean: Array, left: NDArray[np.int64], target: Target) -> NDArray[np.bool_]:
    value = mean[left, np.arange(left.size), :]
    result: NDArray[np.bool_] = value <= target.high + 1e-9
    return result


def _first_ready(mean: Array, shell: Array, core: Array, target: Target) -> Array:
    """Days until a run is first in the target and even; infinite when never."""
    good = (mean <= target.high) & (np.abs(core - shell) <= EVEN)
    first = np.argmax(good, axis=0).astype(np.float64)
    never = ~good.any(axis=0)
    result: Array = np.where(never, np.inf, first)
    return result


def _refine(
    runs: Cast,
    routes: list[_Route],
    from_mc: float | None,
    days: int,
    target: Target,
    report: Report,
) -> tuple[_Route, NDArray[np.int64], Array]:
    """Sweep the last move of the best coarse route day by day with every member."""
    top = max(routes, key=lambda route: route.rank)
    report(0.75, "bring-in dates")
    state, day = _before_last(runs, top, from_mc)
    if not top.moves:
        stay = _stay(runs, top.settings[-1], state, 0, days, target)
        return _Route(top.settings, (), *stay), np.zeros(0, np.int64), np.zeros(0)
    means, states = runs.daily(top.settings[-2], state, day, days - day)
    wet = np.median(means, axis=1)
    setting = runs.bank.settings[top.settings[-1]]
    at = _moves(wet, setting, days - day, 1)
    early = days - day - at > DAILY_WITHIN
    at = at[~early | (at % COARSE_DAYS == 0)]
    scores = _sweep(runs, top.settings[-1], states[at], day + at, days, target)
    moves = day + at
    return _chosen(top, moves, *scores), moves, scores[0]


def _chosen(
    top: _Route, moves: NDArray[np.int64], chance: Array, excess: Array
) -> _Route:
    """Pick the last day that is 90 % sure, else the last of nearly the surest."""
    enough = np.flatnonzero(chance >= min(SURE, float(chance.max()) - NEARLY) - 1e-9)
    if chance.max() <= NEARLY:
        enough = np.flatnonzero(excess <= excess.min() + NEAR_ENOUGH)
    k = int(enough[-1])
    route = (*top.moves[:-1], int(moves[k]))
    return _Route(top.settings, route, float(chance[k]), float(excess[k]))


def _before_last(runs: Cast, route: _Route, from_mc: float | None) -> tuple[Array, int]:
    """State and day when the stay before the last move begins."""
    state, day = runs.start(from_mc), 0
    for setting, move in zip(route.settings[:-2], route.moves[:-1], strict=True):
        state = runs.go(setting, state, day, move - day)[3]
        day = move
    return state, day


def _told(
    runs: Cast,
    have: Sequence[Setting],
    best: _Route,
    curve: tuple[NDArray[np.int64], Array],
    from_mc: float | None,
    span: tuple[np.datetime64, np.datetime64],
    target: Target,
) -> Plan:
    """Follow the chosen route once more and read everything off it."""
    first, last = span
    days = int((last - first).astype(int))
    state, day = runs.start(from_mc), 0
    at_moves: list[float] = []
    for setting, move in zip(best.settings[:-1], best.moves, strict=True):
        mean, _, _, state = runs.go(setting, state, day, move - day)
        at_moves.append(float(np.median(mean[-1, 0])))
        day = move
    end = max(days, day + SETTLE_DAYS) + 365
    mean, shell, core, _ = runs.go(best.settings[-1], state, day, end - day)
    ready = _first_ready(mean, shell, core, target)[0]
    feasible, alone = _alone(runs, have, from_mc, days, target)
    return Plan(
        board=runs.board,
        target=target,
        stacked=_date(first, 0),
        need=_date(last, 0),
        feasible=feasible,
        alone=alone,
        route=_legs(have, best, first, at_moves, target),
        bring_in_by=_latest(first, curve, SURE),
        bring_in_even=_latest(first, curve, EVENS),
        acclimate_days=(_days(ready, 0.5), _days(ready, 0.9))
        if best.moves
        else (None, None),
        ready=Dates(*(_when(first, day, ready, q) for q in (0.1, 0.5, 0.9))),
        probability_by_need=best.probability,
        another_year=_another_year(runs, best, from_mc, days, target),
        curve_days=first + curve[0],
        curve=curve[1],
        moisture_by_need=float(np.median(mean[days - day, 0])),
        next_good=_next_good(first, mean[:, 0], ready, day, days, target),
        years=runs.bank.ring.years if runs.bank.many_years else 1,
        fallbacks=runs.bank.fallbacks,
        emc=_emc_by_year(runs, best.settings[-1]),
    )


def _next_good(
    first: np.datetime64,
    mean: Array,
    ready: Array,
    day: int,
    days: int,
    target: Target,
) -> tuple[date, float] | None:
    """Look for a later need date that the same route would meet."""
    ahead = np.arange(days - day, min(days - day + 366, mean.shape[0]))
    good = (mean[ahead] <= target.high) & (ready[None, :] <= ahead[:, None])
    chance = good.mean(axis=1)
    if chance.max() <= chance[0] + NEARLY:
        return None
    sure = np.flatnonzero(chance >= min(SURE, float(chance.max())) - 1e-9)
    k = int(sure[0])
    return _date(first, day + int(ahead[k])), float(chance[k])


def _alone(
    runs: Cast,
    have: Sequence[Setting],
    from_mc: float | None,
    days: int,
    target: Target,
) -> tuple[dict[str, float], dict[str, str]]:
    feasible, alone = {}, {}
    start = runs.start(from_mc)
    wet = from_mc is None or from_mc > ROOM_LIMIT
    for number, setting in enumerate(have):
        feasible[setting.name], _ = _stay(runs, number, start, 0, days, target)
        if _rain_unknown(runs, setting):
            alone[setting.name] = "the weather tells no rain, so it cannot be judged"
        if wet and not _green_ok(setting):
            alone[setting.name] = (
                f"green wood straight into the {setting.about.title} checks and moulds"
            )
    return feasible, alone


def _another_year(
    runs: Cast, best: _Route, from_mc: float | None, days: int, target: Target
) -> float:
    """Probability of the same route, its last move and the need a year later."""
    state, day = runs.start(from_mc), 0
    moves = (*best.moves[:-1], best.moves[-1] + 365) if best.moves else ()
    for setting, move in zip(best.settings[:-1], moves, strict=True):
        state = runs.go(setting, state, day, move - day)[3]
        day = move
    return _stay(runs, best.settings[-1], state, day, days + 365, target)[0]


def _legs(
    have: Sequence[Setting],
    best: _Route,
    first: np.datetime64,
    at_moves: Sequence[float],
    target: Target,
) -> tuple[Leg, ...]:
    starts = (0, *best.moves)
    legs = []
    for k, number in enumerate(best.settings):
        setting = have[number]
        final = k == len(best.settings) - 1
        legs.append(
            Leg(
                setting.name,
                setting.kind,
                _date(first, starts[k]),
                None if final else _date(first, starts[k + 1]),
                None if final else at_moves[k],
                f"to the target, {target.words}"
                if final
                else f"then about {at_moves[k]:.0f} % in the mean",
            )
        )
    return tuple(legs)


def _latest(
    first: np.datetime64, curve: tuple[NDArray[np.int64], Array], level: float
) -> date | None:
    enough = np.flatnonzero(curve[1] >= level - 1e-9)
    return _date(first, int(curve[0][enough[-1]])) if enough.size else None


def _date(first: np.datetime64, days: int) -> date:
    return date.fromisoformat(str(first + days))


def _days(ready: Array, level: float) -> float | None:
    """Quantile of the days, counting the runs that never get there."""
    value = float(np.quantile(ready, level, method="inverted_cdf"))
    return value if np.isfinite(value) else None


def _when(first: np.datetime64, day: int, ready: Array, level: float) -> date | None:
    value = _days(ready, level)
    return None if value is None else _date(first, day + int(value))


def _emc_by_year(runs: Cast, setting: int) -> Array:
    """Daily EMC of a setting as stated, %, one row a weather year of the ring."""
    bank = runs.bank
    hourly = 100.0 * bank.tables[setting * bank.airs, :, 4]
    days = hourly.size // 24
    daily = hourly[: days * 24].reshape(days, 24).mean(axis=1)
    years = max(days // 365, 1)
    starts = (np.arange(years) * 365.25).astype(int)
    starts = np.minimum(starts, max(days - 365, 0))
    return np.array([np.resize(daily[s : s + 365], 365) for s in starts])
