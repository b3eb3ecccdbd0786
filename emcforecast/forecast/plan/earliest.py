"""The first day on which wood can be ready, and the move that does it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.run_boards import Moisture
from emcforecast.forecast.plan.question import Chain, Question, Route
from emcforecast.forecast.plan.success import EVENS, HAIR, SURE, is_ready, may_enter

LOOK_DAYS = 1100
"""Days beyond the need date that are looked at."""
BEFORE_DAYS = 300
"""Moves are tried from this long before the need date on."""
STRIDE, FINE = 28, 14
"""Days between tried moves, at first and near the best; far ahead twice as many."""
LATER_DAYS = 365
"""How much later a move is tried where the wood is still too wet for the place."""
FAR_DAYS = 400
PATIENCE = 200
"""Days after an even chance that a surer day is looked for, where either will do."""
ALIKE = 0.1
"""Boards whose cells differ by no more (% MC) count as one."""
AS_SOON = 7
"""Days that do not buy an open stack."""


@dataclass(frozen=True)
class EarliestDay:
    """The first day after the need date on which wood can be ready.

    Parameters
    ----------
    day : int
        Days since the stacking.
    route : Route
        With the last day of moving that does it and its chance then.
    """

    day: int
    route: Route


@dataclass
class _Branch:
    """Runs in the last place of a way, each moved there on one day."""

    places: tuple[int, ...]
    moves: tuple[int, ...]
    state: FloatArray = field(repr=False)
    wetness: float
    chance: list[float] = field(default_factory=list)


def earliest(
    asked: Question,
    few: IntArray,
    best: Route | None = None,
    *,
    even_too: bool = True,
) -> tuple[EarliestDay | None, EarliestDay | None]:
    """Find the first day after the need date on which the wood can be ready.

    Parameters
    ----------
    asked : Question
        What is asked, of every run.
    few : ndarray of int
        Runs to look with; all confirm what is found.
    best : Route, optional
        The best route to the need date: its way to the last place is tried too.
    even_too : bool
        Look for both as far as can be; otherwise for one that is 90 % sure only
        within 200 days of the one with an even chance.

    Returns
    -------
    sure, even : EarliestDay or None
        The first day that is 90 % sure by any move, and the first that has an even
        chance; None where there is none within three years.
    """
    sheltered_first = sorted(
        asked.states, key=lambda k: not asked.air.places[k].about.covered
    )
    ways: list[Chain] = [((k,), ()) for k in sheltered_first]
    if best is not None and len(best.moves) > 1:
        ways.append((best.places[:-1], best.moves[:-1]))
    levels = [SURE]
    if best is None or best.chance < EVENS:
        levels.append(EVENS)
    end = asked.need + LOOK_DAYS
    begin = max(asked.need - BEFORE_DAYS, asked.first_move)
    dates = np.concatenate(
        [
            np.arange(begin, asked.need + FAR_DAYS, STRIDE),
            np.arange(asked.need + FAR_DAYS, end, 2 * STRIDE),
        ]
    )
    patience = LOOK_DAYS if even_too else PATIENCE
    scouts = asked.some(few)
    rough = _first_days(scouts, ways, dates, end, levels, patience=patience)
    sure, even = rough[SURE], rough.get(EVENS)
    sure = None if sure is None else _confirmed(asked, sure, SURE, end)
    if even is None or (sure is not None and not even_too):
        return sure, None
    return sure, _confirmed(asked, even, EVENS, end)


def _confirmed(
    asked: Question, first: EarliestDay, level: float, end: int
) -> EarliestDay | None:
    """Try with every run the moves near the one that a few runs found.

    Later ones where the middle of all runs is still too wet for the place by then.
    """
    places, moves = first.route.places, first.route.moves
    if not moves:
        return _first_days(asked, [(places, ())], np.zeros(0, int), end, [level])[level]
    begin = max(asked.first_move, (0, *moves[:-1])[-1] + 1)
    way = places[:-1], moves[:-1]
    for later in range(0, LATER_DAYS, STRIDE):
        dates = moves[-1] + later + FINE * np.arange(-1, 2)
        dates = np.unique(np.maximum(dates, begin))
        (stay,), day = _begin(asked, [way], int(dates[-1]))
        if day < end and _moved(asked, stay, day, places[-1]):
            return _first_days(asked, [way], dates, end, [level], places[-1])[level]
    return None


def _first_days(
    asked: Question,
    ways: Sequence[Chain],
    dates: IntArray,
    end: int,
    levels: Sequence[float],
    last: int | None = None,
    patience: int = LOOK_DAYS,
) -> dict[float, EarliestDay | None]:
    """Follow all ways and moves together until every level is reached, or to the end.

    Parameters
    ----------
    asked : Question
        What is asked.
    ways : sequence of (places, moves)
        Where the wood may be until its last move; the plainest first.
    dates : ndarray of int
        Days of moving to try.
    end : int
        How far to look, days since the stacking.
    levels : sequence of float
        Chances to reach.
    last : int, optional
        Only this further place.
    patience : int
        Days after the lowest level is reached that the highest is looked for.
    """
    stays, day = _begin(asked, ways, 0 if last is None else int(dates[0]))
    branches = list(stays)
    begun = asked.need + 1
    found: dict[float, EarliestDay | None] = dict.fromkeys(levels)
    marks = sorted({day, *dates.tolist(), *range(day, end, STRIDE), end})
    for at, until in pairwise(marks):
        if at < day:
            continue
        if at in dates:
            branches += [new for old in stays for new in _moved(asked, old, at, last)]
        path = _advance(asked, branches, at, until)
        ready = is_ready(path.mean, path.shell, path.core, asked.target)
        share = ready.reshape(ready.shape[0], len(branches), -1).mean(axis=2)
        for k, branch in enumerate(branches):
            rows = slice(max(begun - at, 0) if at < begun else 1, None)
            branch.chance += share[rows, k].tolist()
            mean = path.mean[-1, k * asked.runs : (k + 1) * asked.runs]
            branch.wetness = float(np.median(mean))
        for level in [level for level in levels if found[level] is None]:
            found[level] = _reached(branches, level, until)
        if found[max(levels)] is not None or _long_enough(found, until, patience):
            break
        moved = _unlike(branches[len(stays) :])
        if last is not None and until > dates[-1]:
            stays = []
        branches = [*stays, *moved]
    return found


def _begin(
    asked: Question,
    ways: Sequence[Chain],
    earliest_day: int,
) -> tuple[list[_Branch], int]:
    """Follow ways to a day on which all have come into their last place."""
    day = max(earliest_day, asked.now, *(moves[-1] for _, moves in ways if moves), 0)
    branches = []
    for places, moves in ways:
        path = asked.stay(places, moves, day)
        wetness = float(np.median(path.mean[-1]))
        branches.append(_Branch(places, moves, path.state, wetness))
    return branches, day


def _moved(
    asked: Question, branch: _Branch, day: int, last: int | None
) -> list[_Branch]:
    """Copy a branch into every place, or one, to which it may go on."""
    onward = asked.onward(branch.places) if last is None else [last]
    return [
        _Branch((*branch.places, k), (*branch.moves, day), branch.state, branch.wetness)
        for k in onward
        if may_enter(asked.air.places[k], branch.wetness) and not asked.hopeless(k)
    ]


def _long_enough(
    found: dict[float, EarliestDay | None], until: int, patience: int
) -> bool:
    lowest = found[min(found)]
    return lowest is not None and until > lowest.day + patience


def _unlike(branches: Sequence[_Branch]) -> list[_Branch]:
    """Leave out boards that have come to hold what those moved later hold.

    Those moved later then do as well, and only the last move that serves is asked for.
    """
    kept: list[_Branch] = []
    for k, branch in enumerate(branches):
        later = (b for b in branches[k + 1 :] if b.places == branch.places)
        after = next(later, None)
        cells = (branch.state.shape[0] - 3) // 2
        if after is None or (
            100.0 * np.abs(branch.state[:cells] - after.state[:cells]).max() > ALIKE
        ):
            kept.append(branch)
    return kept


def _advance(
    asked: Question, branches: Sequence[_Branch], day: int, until: int
) -> Moisture:
    """Let all branches stay where they are."""
    n = asked.runs
    path = asked.ensemble.run(
        np.concatenate([branch.state for branch in branches], axis=1),
        day,
        until,
        np.repeat([branch.places[-1] for branch in branches], n)[None, :],
        np.full((1, 1), day),
        np.tile(np.arange(n), len(branches)),
    )
    for k, branch in enumerate(branches):
        branch.state = path.state[:, k * n : (k + 1) * n]
    return path


def _reached(
    branches: Sequence[_Branch], level: float, until: int
) -> EarliestDay | None:
    """Find the first day with a chance, and the last move of the plainest way to it."""
    firsts = [_first_day(branch, level, until) for branch in branches]
    known = [first for first in firsts if first is not None]
    if not known or min(known) + AS_SOON > until:
        # What comes within the week may be plainer.
        return None
    soon = min(known) + AS_SOON
    near = [
        (branch.places, first)
        for branch, first in zip(branches, firsts, strict=True)
        if first is not None and first <= soon
    ]
    order = list(dict.fromkeys(branch.places for branch in branches))
    places = min((places for places, _ in near), key=order.index)
    day = min(first for where, first in near if where == places)
    good = [
        branch
        for branch in branches
        if branch.places == places and _on(branch, day, until) >= level - HAIR
    ]
    best = max(good, key=lambda branch: branch.moves)
    chance = _on(best, day, until)
    return EarliestDay(day, Route(places, best.moves, chance))


def _first_day(branch: _Branch, level: float, until: int) -> int | None:
    enough = np.flatnonzero(np.array(branch.chance) >= level - HAIR)
    if not enough.size:
        return None
    return until - len(branch.chance) + 1 + int(enough[0])


def _on(branch: _Branch, day: int, until: int) -> float:
    """Chance of a branch on a day; 0 before it has moved."""
    number = day - (until - len(branch.chance) + 1)
    return branch.chance[number] if number >= 0 else 0.0
