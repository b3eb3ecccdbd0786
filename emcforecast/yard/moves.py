"""The move that makes a stack ready, and a stop on the way that leaves it drier."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.forecast.plan.success import AIRY, EVENS, ROOM_LIMIT, SURE
from emcforecast.forecast.targets import Target
from emcforecast.yard.branches import Branch, branch
from emcforecast.yard.outlook import Outlook

AIR_DRY = 20.0
COARSE_DAYS, MOST_TRIED = 28, 10
LATER_DAYS = 60
"""A move is followed so long beyond the need date."""
LATEST_DAYS = 1100
"""A stack that cannot be ready in time is followed so long to say when it is."""
HOPELESS = 0.5
"""A place is not tried when its driest air is this much above the target, % MC."""
WORTH_MOVING = 1.0
"""A stop on the way must leave the wood drier by this much, % MC."""


@dataclass(frozen=True)
class MoveIn:
    """The move that makes a stack ready.

    Parameters
    ----------
    setting : str
        Where to.
    by : date or None
        Last day with 90 % certainty, or None where no day has it.
    even : date or None
        Last day with an even chance.
    best : date
        The day of the surest move.
    chance : float
        Of being ready in time, moving on `by`, or else on `best`.
    ready : tuple of date or None
        When it is ready, P10, P50 and P90, moving on that day.
    damp_again : float
        Share of the runs wetter than the target on the need date.
    """

    setting: str
    by: date | None
    even: date | None
    best: date
    chance: float
    ready: tuple[date | None, date | None, date | None]
    damp_again: float = 0.0

    @property
    def day(self) -> date:
        """The day the advice is for."""
        return self.by or self.best


def need_in(outlook: Outlook) -> int:
    """Return the days from today until it is needed, or the end of the look ahead."""
    last = outlook.ahead
    if outlook.stack.need is None:
        return last
    return min(max((outlook.stack.need - outlook.today).days, 0), last)


def date_of(outlook: Outlook, record: float) -> date | None:
    """Return the date of a record, or None for never."""
    return outlook.day(record) if np.isfinite(record) else None


def kind_of(outlook: Outlook, setting: str) -> str:
    """Return the storage kind behind a setting."""
    return outlook.bank.settings[outlook.number[setting]].kind


def rained_on(outlook: Outlook) -> bool:
    """Whether the stack lies uncovered and is wetter than air-dry."""
    here = outlook.stack.setting_on(outlook.day(outlook.base.days))
    wet = float(outlook.middle()[0]) > AIR_DRY
    return wet and kind_of(outlook, here) == "stack"


def best_move(outlook: Outlook, setting: str, target: Target) -> MoveIn | None:
    """Find the last day on which carrying the stack to a place still serves.

    Parameters
    ----------
    outlook : Outlook
    setting : str
        Where to.
    target : Target

    Returns
    -------
    MoveIn or None
        None when the wood is too wet for the place all the time until needed.

    Notes
    -----
    Without a need date nothing presses: the move is then made on the first day the
    wood is air-dry.
    """
    first = outlook.base.days - outlook.now
    ahead = need_in(outlook) - first
    if ahead < 7 or outlook.driest(setting) > target.high + HOPELESS:
        return None
    wet = outlook.middle()[first:]
    allowed = np.arange(ahead)
    if kind_of(outlook, setting) not in AIRY:
        limit = ROOM_LIMIT if outlook.stack.need else AIR_DRY
        allowed = allowed[wet[:ahead] <= limit]
    if outlook.stack.need is None:
        allowed = allowed[:1]
    if not allowed.size:
        return None
    step = max(COARSE_DAYS, allowed.size // MOST_TRIED)
    tried = _try(outlook, setting, allowed[(allowed - allowed[0]) % step == 0])
    chance = _chance(outlook, tried, target)
    by, even = (_last(tried.offsets, chance, level) for level in (SURE, EVENS))
    best = outlook.day(outlook.base.days + tried.offsets[int(np.argmax(chance))])
    if by is not None:
        later = allowed[(allowed > by) & (allowed < by + step)][:: max(step // 7, 1)]
        tried = _try(outlook, setting, np.concatenate([[by], later]))
        chance = _chance(outlook, tried, target)
        by = _last(tried.offsets, chance, SURE) or by
    at = int(np.argmax(chance)) if by is None else int(np.argmax(tried.offsets == by))
    ready = tried.ready(target)[at]
    lucky, middle, cautious = (
        date_of(outlook, outlook.base.days + days)
        for days in quantiles(ready, np.full(ready.size, 1.0 / ready.size))
    )
    need = need_in(outlook) - first
    damp = tried.mean[need, at] > target.high if outlook.stack.need else np.zeros(1)
    return MoveIn(
        setting,
        None if by is None else outlook.day(outlook.base.days + by),
        None if even is None else outlook.day(outlook.base.days + even),
        best,
        float(chance[at]),
        (lucky, middle, cautious),
        float(damp.mean()),
    )


def sooner_or_later(
    outlook: Outlook, setting: str, target: Target
) -> tuple[date | None, date | None, date | None]:
    """Return when a stack carried to a place now is ready, need date or not.

    Parameters
    ----------
    outlook : Outlook
    setting : str
        Where to.
    target : Target

    Returns
    -------
    tuple of date or None
        P10, P50 and P90, within three years.
    """
    tried = branch(outlook, setting, np.zeros(1, dtype=np.int64), LATEST_DAYS)
    ready = tried.ready(target)[0]
    lucky, middle, cautious = (
        date_of(outlook, outlook.base.days + days)
        for days in quantiles(ready, np.full(ready.size, 1.0 / ready.size))
    )
    return lucky, middle, cautious


def _try(outlook: Outlook, setting: str, offsets: IntArray) -> Branch:
    days = outlook.whole.days - outlook.base.days
    if outlook.stack.need is not None:
        days = min(days, need_in(outlook) + LATER_DAYS)
    return branch(outlook, setting, offsets, days)


def _chance(outlook: Outlook, tried: Branch, target: Target) -> FloatArray:
    """Probability of being ready in time, or at all where no time is set."""
    ready = tried.ready(target)
    if outlook.stack.need is None:
        return np.asarray(np.isfinite(ready).mean(axis=1))
    need = need_in(outlook) - (outlook.base.days - outlook.now)
    return np.asarray((ready <= need).mean(axis=1))


def _last(offsets: NDArray[np.int64], chance: FloatArray, level: float) -> int | None:
    enough = np.flatnonzero(chance >= level - 1e-9)
    return int(offsets[enough[-1]]) if enough.size else None


@dataclass(frozen=True)
class Stop:
    """A stay in an airy place before the last move.

    Parameters
    ----------
    setting : str
    by : date
        The last day that still gains most of it.
    gain : float
        How much drier it then comes in, % MC.
    """

    setting: str
    by: date
    gain: float


def stop_on_the_way(
    outlook: Outlook, places: Sequence[str], move: MoveIn
) -> Stop | None:
    """Find a stay in an airy place before the last move that leaves it drier."""
    last = (move.day - outlook.day(outlook.base.days)).days
    if last < 2 * COARSE_DAYS or kind_of(outlook, move.setting) in AIRY:
        return None
    at_last = float(outlook.middle()[last + outlook.base.days - outlook.now])
    best: Stop | None = None
    for name in places:
        if kind_of(outlook, name) not in AIRY or name == move.setting:
            continue
        tried = branch(outlook, name, np.arange(0, last, COARSE_DAYS), last)
        gain = at_last - np.median(tried.mean[-1], axis=1)
        most = float(gain.max())
        if most >= WORTH_MOVING and (best is None or most > best.gain):
            late = int(tried.offsets[np.flatnonzero(gain >= 0.8 * most)[-1]])
            # In the open, damp wood stains and is rained on again: no day is gained.
            offset = 0 if rained_on(outlook) else late
            best = Stop(name, outlook.day(outlook.base.days + offset), most)
    return best
