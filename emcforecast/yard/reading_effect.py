"""What the readings of a stack do to its forecast."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from emcforecast.ensemble.evidence import Reading, expected
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.ensemble.update import Update, apply_readings
from emcforecast.ensemble.weights import Outlier
from emcforecast.forecast.targets import Target
from emcforecast.wood.sample_board import PairVerdict, judge_pair
from emcforecast.yard.actions import Action, Reason
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.doubt import Doubt, DoubtKind
from emcforecast.yard.model import Stack
from emcforecast.yard.outlook import Outlook, extended, followed, known_limit
from emcforecast.yard.questioned import spot_of, without

AIR_DRY = 20.0
DISAGREE = 2.0
"""Standard deviations between forecast and reading that ask for a second reading."""
STALE_DAYS = 30
"""A reading that is not used and older than this is not asked for again."""
YEARS_UNKNOWN = 4
"""Weather years that readings are weighed with where the past weather is unknown."""
METER_TOP = 25.0
"""Above this a second meter reading settles little, % MC."""


@dataclass(frozen=True)
class ReadingEffect:
    """What the readings did.

    Parameters
    ----------
    readings : tuple of Corrected
        All of the stack, used or not, in order of time.
    update : Update or None
        The forecast before and after those that count; None without any.
    moved_days : int or None
        By how much the date of the target (or of 20 %) moved, days; later is above 0.
    today_before, today_after : float or None
        Middle of today's moisture without and with the readings, % MC.
    pair : PairVerdict or None
        The latest shell and core readings of one day and board, judged together.
    actions : tuple of Action
        What the readings ask for.
    questions : tuple of Action
        What to do about a latest reading that is not used.
    """

    readings: tuple[Corrected, ...] = ()
    update: Update | None = field(default=None, repr=False)
    moved_days: int | None = None
    today_before: float | None = None
    today_after: float | None = None
    pair: PairVerdict | None = None
    actions: tuple[Action, ...] = ()
    questions: tuple[Action, ...] = ()

    @property
    def above(self) -> float | None:
        """The last used reading less the forecast that knew those before it, % MC."""
        return None if self.update is None else self.update.above


def apply_log(
    plain: Outlook,
    readings: Sequence[Corrected],
    target: Target | None,
    number: Mapping[str, int],
) -> tuple[Outlook, ReadingEffect]:
    """Let the readings of a stack move its forecast.

    Parameters
    ----------
    plain : Outlook
        Without readings, to the horizon.
    readings : sequence of Corrected
        Of this stack, in order of time.
    target : Target or None
        Whose date is looked at; 20 % when None.
    number : mapping of str to int
        Number of each of the yard's places in the air.

    Returns
    -------
    Outlook
        With the readings, until the stack is there.
    ReadingEffect
    """
    used = [one for one in readings if one.used]
    if not used:
        questions = _questions(plain, readings)
        effect = ReadingEffect(tuple(readings), questions=questions)
        return plain.until_there, effect
    air = plain.base.ensemble.air
    evidence = {id(one): evidence_of(one, plain.stack) for one in used}
    update = apply_readings(
        air,
        followed(plain.stack, number),
        list(evidence.values()),
        plain.base.days,
        today=known_limit(air, plain.today),
        past=_years(plain),
        before=plain.base,
    )
    why = {id(outlier.reading): outlier for outlier in update.outliers}
    judged = tuple(
        one.doubted(_contradicted(why[id(evidence[id(one)])]))
        if id(one) in evidence and id(evidence[id(one)]) in why
        else one
        for one in readings
    )
    gone = [one for one, was in zip(judged, readings, strict=True) if one is not was]
    if gone:
        # A wrong reading may have thrown out a right one.
        again = without(judged, gone, plain.stack)
        if sum(one.used for one in again) > sum(one.used for one in judged):
            return apply_log(plain, again, target, number)
    counted = [one for one in judged if one.used]
    if not counted:
        questions = _questions(plain, judged)
        return plain.until_there, ReadingEffect(judged, questions=questions)
    after = extended(plain.stack, plain.today, update.after, target).until_there
    # The same runs, where they serve for both: what differs is what was read.
    same = update.before.mean is update.after.mean
    was = (
        after.whole.reweighted(update.before.weight)
        if same
        else plain.until_there.whole
    )
    before_today, after_today = (
        quantiles(runs.mean[after.now], runs.weight, (0.5,))[0]
        for runs in (was, after.whole)
    )
    return after, ReadingEffect(
        judged,
        update,
        _moved(was, after, target),
        before_today,
        after_today,
        _pair(counted, plain.stack, target),
        _disagreement(plain, counted[-1], update),
        _questions(plain, judged),
    )


def _contradicted(outlier: Outlier) -> Doubt:
    return Doubt(DoubtKind.CONTRADICTED, low=outlier.low, high=outlier.high)


def evidence_of(one: Corrected, stack: Stack) -> Reading:
    """Return a corrected reading as the forecast takes it.

    Parameters
    ----------
    one : Corrected
        A used reading.
    stack : Stack
        Its stack; a reading from before the stacking day counts for that day.

    Returns
    -------
    Reading
    """
    r = one.reading
    day = np.datetime64(max(r.day, stack.stacked), "D")
    sd = one.sd if math.isfinite(one.sd) else None
    if r.part == "shell":
        return Reading(day, one.mc, "shell", sd)
    if r.part == "core":
        return Reading(day, one.mc, "core", sd)
    if r.depth_mm is None:
        return Reading(day, one.mc, "mean", sd)
    share = r.depth_mm / stack.thickness.actual_mm
    return Reading(day, one.mc, min(share, 1.0 - share), sd)


def _pair(
    counted: Sequence[Corrected], stack: Stack, target: Target | None
) -> PairVerdict | None:
    """Judge the latest shell and core that were read on one day and board."""
    found: dict[tuple[object, str], dict[str, float]] = {}
    for one in counted:
        if one.mc is not None:
            spot = found.setdefault((one.reading.day, one.reading.board), {})
            spot[spot_of(one.reading, stack)] = one.mc
    pairs = [spot for spot in found.values() if {"shell", "core"} <= set(spot)]
    if not pairs:
        return None
    span = None if target is None else (target.low or 0.0, target.high)
    return judge_pair(pairs[-1]["shell"], pairs[-1]["core"], span)


def _years(plain: Outlook) -> tuple[int, ...]:
    """Pick years for a past that is not known: all would multiply the draws."""
    years = plain.base.years
    return years[:: max(1, -(-len(years) // YEARS_UNKNOWN))]


def _moved(was: Trajectories, after: Outlook, target: Target | None) -> int | None:
    """Days by which the next moisture that both still have ahead moved."""
    wanted = [AIR_DRY] if target is None else [target.high, AIR_DRY]
    for mc in wanted:
        dates = [
            quantiles(runs.first_below(mc), runs.weight, (0.5,))[0]
            for runs in (was, after.whole)
        ]
        if np.isfinite(dates).all() and max(dates) > after.now:
            return round(dates[1] - dates[0])
    return None


def _disagreement(
    plain: Outlook, last: Corrected, update: Update
) -> tuple[Action, ...]:
    """Ask for a second reading where the last one surprises."""
    if update.above is None or last.mc is None:
        return ()
    there = expected(plain.base, evidence_of(last, plain.stack))
    low, high = quantiles(there, plain.base.weight, (0.16, 0.84))
    spread = math.hypot(last.sd, 0.5 * (high - low))
    if abs(update.above) <= DISAGREE * spread:
        return ()
    how, boards = _another_way(plain, last)
    return (
        Action(
            "weigh" if how == "weigh" else "reading",
            plain.today,
            Reason.DISAGREEMENT,
            difference_mc=abs(update.above),
            how=how,
            boards=boards,
        ),
    )


def _questions(plain: Outlook, readings: Sequence[Corrected]) -> tuple[Action, ...]:
    """Ask again where the latest reading was not used."""
    if not readings or readings[-1].used:
        return ()
    last = readings[-1]
    if (plain.today - last.reading.day).days > STALE_DAYS:
        return ()
    action = Action("reading", plain.today, Reason.READING_NOT_USED, reading=last)
    return (action,)


def _another_way(plain: Outlook, last: Corrected) -> tuple[str, tuple[str, ...]]:
    """Name the reading that would settle it."""
    if plain.stack.samples and last.reading.kind != "weight":
        return "weigh", tuple(sample.board for sample in plain.stack.samples)
    if last.reading.kind == "oven":
        return "boards", ()
    if (last.mc or 0.0) > METER_TOP:
        return "oven", ()
    return "pins", ()
