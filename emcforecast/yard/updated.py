"""What the readings say about a stack, and how far they move its forecast."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from emcforecast.ensemble.evidence import Evidence, expected
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Traces
from emcforecast.ensemble.update import Learned, learn, moved_words
from emcforecast.forecast.targets import Target
from emcforecast.wood.paired_readings import judge_pair
from emcforecast.yard.actions import Action, day_words
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.model import Stack
from emcforecast.yard.outlook import Outlook, cut_off, extended, followed, thinned
from emcforecast.yard.questioned import spot_of, without

AIR_DRY = 20.0
DISAGREE = 2.0
"""Standard deviations between forecast and reading that ask for a second reading."""
STALE_DAYS = 30
"""A questioned reading older than this is not asked for again."""
YEARS_UNKNOWN = 4
"""Weather years that readings are weighed with where the past weather is unknown."""


@dataclass(frozen=True)
class Heard:
    """What the readings did.

    Parameters
    ----------
    readings : tuple of Corrected
        All of the stack, used or not, in order of time.
    above : float or None
        The last used reading less the forecast without readings, % MC.
    moved_days : int or None
        By how much the date of the target (or of 20 %) moved, days; later is above 0.
    words : str
        Both in a sentence, or "".
    pair : str
        The verdict on the latest shell and core readings of one day, or "".
    actions : tuple of Action
        What the readings ask for.
    questions : tuple of Action
        What to do about a latest reading that is not used.
    """

    readings: tuple[Corrected, ...] = ()
    above: float | None = None
    moved_days: int | None = None
    words: str = ""
    pair: str = ""
    actions: tuple[Action, ...] = ()
    questions: tuple[Action, ...] = ()


def hear(
    plain: Outlook, readings: Sequence[Corrected], target: Target | None
) -> tuple[Outlook, Heard]:
    """Let the readings of a stack move its forecast.

    Parameters
    ----------
    plain : Outlook
        Without readings.
    readings : sequence of Corrected
        Of this stack, in order of time.
    target : Target or None
        Whose date is looked at; 20 % when None.

    Returns
    -------
    Outlook
        With the readings.
    Heard
    """
    used = [one for one in readings if one.used]
    if not used:
        return plain, Heard(tuple(readings), questions=_questions(plain, readings))
    evidence = {id(one): evidence_of(one, plain.stack) for one in used}
    learned = learn(
        plain.bank,
        followed(plain.stack, plain.number),
        list(evidence.values()),
        plain.base.days,
        today=cut_off(plain.bank, plain.today),
        past=_years(plain),
        before=plain.base,
    )
    why = {id(doubt.reading): _plain(doubt.reason) for doubt in learned.doubts}
    judged = tuple(
        one.doubted(why[id(evidence[id(one)])])
        if id(one) in evidence and id(evidence[id(one)]) in why
        else one
        for one in readings
    )
    gone = [one for one, was in zip(judged, readings, strict=True) if one is not was]
    if gone:
        # A wrong reading may have thrown out a right one.
        again = without(judged, gone, plain.stack)
        if sum(one.used for one in again) > sum(one.used for one in judged):
            return hear(plain, again, target)
    counted = [one for one in judged if one.used]
    if not counted:
        return plain, Heard(judged, questions=_questions(plain, judged))
    same = learned.before.mean is learned.after.mean
    base, prior = thinned(learned.after, learned.before.weight if same else None)
    heard = extended(plain.stack, plain.bank, plain.number, plain.today, base)
    # The same traces, where they serve for both: what differs is what was read.
    was = plain.whole if prior is None else heard.whole.weighed(prior)
    moved = _moved(was, heard, target)
    last = counted[-1]
    return heard, Heard(
        judged,
        learned.above,
        moved,
        f"{learned.words()}{moved_words(moved, _today_words(was, heard))}",
        _pair_words(counted, plain.stack, target),
        _disagreement(plain, last, learned),
        _questions(plain, judged),
    )


def evidence_of(one: Corrected, stack: Stack) -> Evidence:
    """Return a corrected reading as the forecast takes it.

    Parameters
    ----------
    one : Corrected
        A used reading.
    stack : Stack
        Its stack; a reading from before the stacking day counts for that day.

    Returns
    -------
    Evidence
    """
    r = one.reading
    day = np.datetime64(max(r.day, stack.stacked), "D")
    sd = one.sd if math.isfinite(one.sd) else None
    if r.part == "shell":
        return Evidence(day, one.mc, "shell", sd)
    if r.part == "core":
        return Evidence(day, one.mc, "core", sd)
    if r.depth_mm is None:
        return Evidence(day, one.mc, "mean", sd)
    share = r.depth_mm / stack.thickness.actual_mm
    return Evidence(day, one.mc, min(share, 1.0 - share), sd)


def _plain(reason: str) -> str:
    """Leave out what is said of every questioned reading."""
    return reason.replace("It is kept, not used; read", "Read")


def _pair_words(
    counted: Sequence[Corrected], stack: Stack, target: Target | None
) -> str:
    """Judge the latest shell and core that were read on one day and board."""
    found: dict[tuple[object, str], dict[str, float]] = {}
    for one in counted:
        if one.mc is not None:
            spot = found.setdefault((one.reading.day, one.reading.board), {})
            spot[spot_of(one.reading, stack)] = one.mc
    pairs = [spot for spot in found.values() if {"shell", "core"} <= set(spot)]
    if not pairs:
        return ""
    span = None if target is None else (target.low or 0.0, target.high)
    told = judge_pair(pairs[-1]["shell"], pairs[-1]["core"], span)
    return f"{told.verdict}. {told.why}"


def _years(plain: Outlook) -> tuple[int, ...]:
    """Pick years for a past that is not known: all would multiply the draws."""
    years = plain.base.years
    return years[:: max(1, -(-len(years) // YEARS_UNKNOWN))]


def _moved(was: Traces, heard: Outlook, target: Target | None) -> int | None:
    """Days by which the next moisture that both still have ahead moved."""
    wanted = [AIR_DRY] if target is None else [target.high, AIR_DRY]
    for mc in wanted:
        dates = [
            quantiles(traces.first_below(mc), traces.weight, (0.5,))[0]
            for traces in (was, heard.whole)
        ]
        if np.isfinite(dates).all() and max(dates) > heard.now:
            return round(dates[1] - dates[0])
    return None


def _today_words(was: Traces, heard: Outlook) -> str:
    """Say how the forecast of today changed."""
    before, now = (
        quantiles(traces.mean[heard.now], traces.weight, (0.5,))[0]
        for traces in (was, heard.whole)
    )
    if f"{now:.1f}" == f"{before:.1f}":
        return "the forecast stays"
    return f"the forecast of today moved from {before:.1f} to {now:.1f} %"


def _disagreement(
    plain: Outlook, last: Corrected, learned: Learned
) -> tuple[Action, ...]:
    """Ask for a second reading where the last one surprises."""
    if learned.above is None or last.mc is None:
        return ()
    there = expected(plain.base, evidence_of(last, plain.stack))
    low, high = quantiles(there, plain.base.weight, (0.16, 0.84))
    spread = math.hypot(last.sd, 0.5 * (high - low))
    if abs(learned.above) <= DISAGREE * spread:
        return ()
    how = _another_way(plain, last)
    words = f"{how} this week; forecast and last reading disagree by "
    words += f"{abs(learned.above):.1f}"
    return (Action("weigh" if "weigh" in how else "reading", plain.today, words),)


def _questions(plain: Outlook, readings: Sequence[Corrected]) -> tuple[Action, ...]:
    """Ask again where the latest reading was not used."""
    if not readings or readings[-1].used:
        return ()
    last = readings[-1]
    if (plain.today - last.reading.day).days > STALE_DAYS:
        return ()
    on = day_words(last.reading.day, plain.today)
    unused = f"the reading of {on} ({last.reading.shown}) is not used"
    if last.reading.day > plain.today:
        words = f"log it again with its right date: {unused}"
    elif last.reading.kind == "weight" and "oven-dry" in last.doubts[0]:
        words = f"complete the sample board in the yard file: {unused}"
    else:
        words = f"read again: {unused}"
    return (Action("reading", plain.today, words, last.doubts[0]),)


def _another_way(plain: Outlook, last: Corrected) -> str:
    """Name the reading that would settle it."""
    if plain.stack.samples and last.reading.kind != "weight":
        boards = ", ".join(sample.board for sample in plain.stack.samples)
        return f"weigh sample board {boards}"
    if last.reading.kind == "oven":
        return "read two more boards"
    if (last.mc or 0.0) > 25.0:
        return "dry a piece in an oven"
    return "read two more boards, pins at a quarter of the thickness"
