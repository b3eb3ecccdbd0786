"""A stack followed to today, on from today, and into other places."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.air import AirBank
from emcforecast.ensemble.boards import DAY
from emcforecast.ensemble.draws import draw
from emcforecast.ensemble.percentiles import bands
from emcforecast.ensemble.route import Leg
from emcforecast.ensemble.route import Stack as Followed
from emcforecast.ensemble.trajectories import MEMBERS_OF_ONE_YEAR, Traces, follow, go_on
from emcforecast.ensemble.weights import resample
from emcforecast.forecast.plan.success import is_fit
from emcforecast.forecast.targets import Target
from emcforecast.wood.board import Board
from emcforecast.yard.model import Stack

SHORTEST, LONGEST = 400, 1100
"""Days that are looked ahead, at least and at most."""

SPELL_DAYS, THIN_M = 20, 0.015
"""A board follows the air of so many days; one thinner than this, of fewer."""

MEMBERS = 8
"""Draws of the levers for each weather year."""

MOST_TRACES = 128
"""Most traces that go on from today: two blocks of the board kernel."""


@dataclass(frozen=True)
class Outlook:
    """A stack through every weather year.

    Parameters
    ----------
    stack : Stack
        As the yard file has it.
    bank : AirBank
    number : mapping of str to int
        The bank's number of each setting.
    today : date
    base : Traces
        From stacking to today, or to the day after stacking if that is later.
    whole : Traces
        The same traces, followed to the horizon where the stack lies now.
    now : int
        Record of today, 0 when the stack begins later.
    """

    stack: Stack
    bank: AirBank
    number: Mapping[str, int]
    today: date
    base: Traces
    whole: Traces
    now: int

    @property
    def ahead(self) -> int:
        """Days looked ahead from today, or from stacking."""
        return self.whole.days - self.now

    @property
    def weight(self) -> FloatArray:
        """Weight of every trace."""
        return self.whole.weight

    def day(self, record: float) -> date:
        """Return the date of a record, counted from stacking."""
        return self.stack.stacked + timedelta(days=int(record))

    def driest(self, setting: str) -> float:
        """Return the driest spell of a place's air, as EMC in %."""
        bank = self.bank
        hourly = bank.tables[self.number[setting] * bank.airs, :, 4]
        daily = hourly[: hourly.size // DAY * DAY].reshape(-1, DAY).mean(axis=1)
        thin = self.base.end.lot.thickness.max() < THIN_M
        span = min(SPELL_DAYS // 4 if thin else SPELL_DAYS, daily.size)
        spell = np.convolve(daily, np.full(span, 1.0 / span), mode="valid")
        return float(100.0 * np.nanmin(spell))

    def middle(self) -> FloatArray:
        """Middle of the mean moisture by day from today, % MC, shape (days + 1,)."""
        ahead = self.whole.mean[self.now :]
        if np.ptp(self.weight) < 1e-12:
            return np.asarray(np.median(ahead, axis=1))
        return np.asarray(bands(ahead, self.weight, [0.5])[0])


def followed(stack: Stack, number: Mapping[str, int]) -> Followed:
    """Return a stack of the yard as the forecast follows it."""
    legs = [Leg(number[stack.setting], np.datetime64(stack.stacked, "D"))]
    legs += [
        Leg(number[move.setting], np.datetime64(move.date, "D")) for move in stack.moves
    ]
    board = Board(stack.species, stack.thickness)
    return Followed(board, tuple(legs), start_mc=stack.from_mc)


def horizon(stack: Stack, today: date) -> int:
    """Return how many days ahead matter for a stack."""
    start = max(today, stack.stacked)
    need = (stack.need - start).days + 60 if stack.need else 0
    return min(max(need, SHORTEST), LONGEST)


def look_ahead(
    stack: Stack, bank: AirBank, number: Mapping[str, int], today: date
) -> Outlook:
    """Follow a stack from stacking to the horizon, no reading counted.

    Parameters
    ----------
    stack : Stack
    bank : AirBank
        Holds every setting of the stack's route.
    number : mapping of str to int
        The bank's number of each setting.
    today : date

    Returns
    -------
    Outlook
    """
    now = max((today - stack.stacked).days, 0)
    members = draw(MEMBERS if bank.many_years else MEMBERS_OF_ONE_YEAR, bank.airs)
    base = follow(
        bank,
        followed(stack, number),
        max(now, 1),
        members=members,
        today=cut_off(bank, today),
    )
    # Of a long record some pairs of year and draw stand for all, evenly.
    base, _ = thinned(base)
    return extended(stack, bank, number, today, base)


def cut_off(bank: AirBank, today: date) -> np.datetime64 | None:
    """Return today where the record knows more than today could, else None."""
    day = np.datetime64(today, "D")
    return day if day < bank.ring.end.astype("datetime64[D]") else None


def extended(
    stack: Stack,
    bank: AirBank,
    number: Mapping[str, int],
    today: date,
    base: Traces,
) -> Outlook:
    """Go on with traces that stand at today."""
    now = max((today - stack.stacked).days, 0)
    whole = go_on(base, base.days + horizon(stack, today))
    return Outlook(stack, bank, number, today, base, whole, now)


def thinned(
    traces: Traces, before: FloatArray | None = None, count: int = MOST_TRACES
) -> tuple[Traces, FloatArray | None]:
    """Keep fewer traces, in proportion to their weight; they can still go on.

    Parameters
    ----------
    traces : Traces
    before : ndarray, shape (traces,), optional
        Other weights, that the kept traces shall stand for as well.
    count : int
        Most traces to keep.

    Returns
    -------
    Traces
        With their weights.
    ndarray or None
        The other weights of the kept traces, sum 1.

    Notes
    -----
    With two weightings the traces are picked by their mean, and each pick stands for
    either in proportion to what it has there (importance sampling).
    """
    if traces.weight.size <= count:
        return traces, before
    both = traces.weight if before is None else 0.5 * (traces.weight + before)
    order = np.argsort(traces.mean[-1], kind="stable")
    picked, share = resample(both[order], count)
    index = order[picked]
    walk = traces.end.copy()
    walk.split(index)
    walk.place(walk.row[index])
    per = share / both[index]
    kept = replace(
        traces,
        mean=traces.mean[:, index],
        shell=traces.shell[:, index],
        core=traces.core[:, index],
        year=traces.year[index],
        member=traces.member[index],
        end=walk,
    ).weighed(traces.weight[index] * per)
    kept = replace(kept, heard=traces.heard)
    if before is None:
        return kept, None
    other = before[index] * per
    return kept, other / other.sum()


def first_ready(traces: Traces, now: int, target: Target) -> FloatArray:
    """Days from a record until each trace is first in the target and even.

    Parameters
    ----------
    traces : Traces
    now : int
        The record to count from.
    target : Target

    Returns
    -------
    ndarray, shape (traces,)
        Infinite where never.
    """
    good = is_fit(traces.mean[now:], traces.shell[now:], traces.core[now:], target)
    first: FloatArray = np.argmax(good, axis=0).astype(np.float64)
    first[~good.any(axis=0)] = np.inf
    return first
