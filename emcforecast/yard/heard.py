"""What the readings say about a stack, and how far they move its forecast."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time

import numpy as np
from numpy.typing import NDArray

from emcforecast.forecast.members import draw
from emcforecast.forecast.spread import quantiles
from emcforecast.forecast.targets import Target
from emcforecast.forecast.traces import Traces, follow
from emcforecast.yard.actions import Action, day_words
from emcforecast.yard.ahead import Outlook, extended, followed
from emcforecast.yard.corrected import WET_ABOVE, Corrected

Array = NDArray[np.float64]

MEMBERS_HEARD = 24
"""Draws of the levers when readings are there to choose among them."""
FEWEST = 12.0
"""The readings may not leave fewer effective traces than this."""
WET_SD = 2.0
"""How sharply "wet" begins above 30 %, % MC."""
AIR_DRY = 20.0
FAR_OUT = 3.0
"""Standard deviations beyond every trace that question a lone reading."""
DISAGREE = 2.0
"""Standard deviations between forecast and reading that ask for a second reading."""


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
    actions : tuple of Action
        What the readings ask for.
    """

    readings: tuple[Corrected, ...] = ()
    above: float | None = None
    moved_days: int | None = None
    words: str = ""
    actions: tuple[Action, ...] = ()


def hear(
    plain: Outlook, readings: Sequence[Corrected], target: Target | None
) -> tuple[Outlook, Heard]:
    """Weigh the forecast by the readings of a stack.

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
    wider = _wider(plain) if any(one.used for one in readings) else plain.base
    judged = tuple(_far_out(wider, readings))
    used = [one for one in judged if one.used]
    if not used:
        return plain, Heard(judged, actions=_questions(plain, judged))
    likely = sum((_likelihood(wider, one) for one in used), np.zeros(wider.weight.size))
    base = wider.weighed(_weights(wider.weight, likely))
    heard = extended(plain.stack, plain.bank, plain.number, plain.today, base)
    last = used[-1]
    above = None if last.mc is None else last.mc - _middle(plain, last)
    moved = _moved(plain, heard, target)
    return heard, Heard(
        judged,
        above,
        moved,
        _words(above, moved, _today_words(plain, heard)),
        (*_questions(plain, judged), *_disagreement(plain, last, above)),
    )


def _wider(plain: Outlook) -> Traces:
    """Follow more members, for the readings to choose among."""
    return follow(
        plain.bank,
        followed(plain.stack, plain.number),
        plain.base.days,
        members=draw(MEMBERS_HEARD, plain.bank.airs),
    )


def _far_out(traces: Traces, readings: Sequence[Corrected]) -> list[Corrected]:
    """Question a lone reading far from everything the forecast allows.

    A second one on the same side bears it out, and both count.
    """
    gaps = [_gap(traces, one) if one.used else 0.0 for one in readings]
    result = []
    for one, gap in zip(readings, gaps, strict=True):
        alone = sum(other * gap > 0.0 for other in gaps) < 2
        if gap and alone:
            there = expected(traces, one)
            one = one.doubted(
                f"{one.shown} lies far outside what the forecast allows on that day, "
                f"{there.min():.0f} to {there.max():.0f} %. A second reading on "
                f"another board settles it"
            )
        result.append(one)
    return result


def _gap(traces: Traces, one: Corrected) -> float:
    """How far a reading lies beyond every trace, % MC, 0 within reach."""
    there = expected(traces, one)
    if one.mc is None:
        gap = max(WET_ABOVE - float(there.max()), 0.0)
        return gap if gap > FAR_OUT * WET_SD else 0.0
    nearest = float(np.clip(one.mc, there.min(), there.max()))
    gap = one.mc - nearest
    return gap if abs(gap) > FAR_OUT * one.sd else 0.0


def expected(traces: Traces, one: Corrected) -> Array:
    """Return what the reading would be in every trace, % MC.

    Notes
    -----
    A reading at a depth is placed on a parabola between shell and core; one without
    stands for the mean.
    """
    r = one.reading
    begun = datetime.combine(traces.begun.astype("datetime64[D]").item(), time())
    at = (r.time - begun).total_seconds() / 86400.0
    at = min(max(at + (0.5 if r.whole_day else 0.0), 0.0), float(traces.days))
    low = int(at)
    high, share = min(low + 1, traces.days), at - low

    def on_that_day(path: Array) -> Array:
        return np.asarray((1.0 - share) * path[low] + share * path[high])

    if r.part == "shell":
        return on_that_day(traces.shell)
    if r.part == "core":
        return on_that_day(traces.core)
    if r.depth_mm is None:
        return on_that_day(traces.mean)
    shell, core = on_that_day(traces.shell), on_that_day(traces.core)
    thickness = 1000.0 * float(traces.end.lot.thickness.max())
    off_centre = max(1.0 - 2.0 * r.depth_mm / thickness, 0.0)
    return np.asarray(core - (core - shell) * off_centre**2)


def _likelihood(traces: Traces, one: Corrected) -> Array:
    """Log of how likely the reading is in every trace."""
    there = expected(traces, one)
    if one.mc is None:
        wet = [0.5 * math.erfc((WET_ABOVE - mc) / (WET_SD * 2.0**0.5)) for mc in there]
        return np.log(np.maximum(wet, 1e-12))
    return np.asarray(-0.5 * ((one.mc - there) / one.sd) ** 2)


def _weights(prior: Array, log_likely: Array) -> Array:
    """Weigh, yet leave enough traces to speak of a range."""
    power = 1.0
    weight = prior
    for _ in range(40):
        weight = prior * np.exp(power * (log_likely - log_likely.max()))
        weight = weight / weight.sum()
        if 1.0 / float(np.sum(weight**2)) >= min(FEWEST, prior.size / 2.0):
            break
        power *= 0.8
    return np.asarray(weight)


def _middle(plain: Outlook, one: Corrected) -> float:
    return quantiles(expected(plain.base, one), plain.base.weight, (0.5,))[0]


def _moved(plain: Outlook, heard: Outlook, target: Target | None) -> int | None:
    """Days by which the next moisture that both still have ahead moved."""
    wanted = [AIR_DRY] if target is None else [target.high, AIR_DRY]
    for mc in wanted:
        dates = [
            quantiles(o.whole.first_below(mc), o.weight, (0.5,))[0]
            for o in (plain, heard)
        ]
        if np.isfinite(dates).all() and max(dates) > plain.now:
            return round(dates[1] - dates[0])
    return None


def _today_words(plain: Outlook, heard: Outlook) -> str:
    """Say how the forecast of today changed."""
    was, now = (
        quantiles(o.whole.mean[o.now], o.weight, (0.5,))[0] for o in (plain, heard)
    )
    if abs(now - was) < 0.05:
        return "the forecast stays"
    return f"the forecast of today moved from {was:.1f} to {now:.1f} %"


def _words(above: float | None, moved: int | None, today: str) -> str:
    if above is None:
        said = "your reading says wet, above 30, no number"
    elif abs(above) < 0.05:
        said = "your reading was as forecast"
    else:
        side = "above" if above > 0 else "below"
        said = f"your reading was {abs(above):.1f} {side} the forecast"
    if moved is None:
        return f"{said}; {today}"
    if moved == 0:
        return f"{said}; the forecast stays"
    days = f"{abs(moved)} day{'' if abs(moved) == 1 else 's'}"
    return f"{said}; the forecast moved {days} {'later' if moved > 0 else 'earlier'}"


def _disagreement(
    plain: Outlook, last: Corrected, above: float | None
) -> tuple[Action, ...]:
    """Ask for a second reading where the last one surprises."""
    if above is None or last.mc is None:
        return ()
    low, high = quantiles(expected(plain.base, last), plain.base.weight, (0.16, 0.84))
    spread = math.hypot(last.sd, 0.5 * (high - low))
    if abs(above) <= DISAGREE * spread:
        return ()
    how = _another_way(plain, last)
    words = f"{how} this week; forecast and last reading disagree by {abs(above):.1f}"
    return (Action("weigh" if "weigh" in how else "reading", plain.today, words),)


def _questions(plain: Outlook, readings: Sequence[Corrected]) -> tuple[Action, ...]:
    """Ask again where the latest reading was not used."""
    if not readings or readings[-1].used:
        return ()
    last = readings[-1]
    on = day_words(last.reading.day, plain.today)
    words = f"read again: the reading of {on} ({last.reading.shown}) is not used"
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
