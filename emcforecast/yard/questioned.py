"""Readings that cannot be right, or contradict others: questioned, kept, not used.

The rules: the log's row cannot be read; no such stack; the day lies ahead, or before
the wood was sawn; its wood is as hot as hardly any in a yard; the number lies outside
what the meter can tell; a sample board without an oven-dry weight, or below it; more
water than the wood can hold; another reading of the same spot and day differs by more
than 4 % MC; the moisture changed faster than wood of that thickness can; the same row
twice.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median

from emcforecast.errors import YardError
from emcforecast.physics.diffusion import content_factor, temperature_factor
from emcforecast.units import UnitSystem
from emcforecast.wood.board import Board
from emcforecast.yard.corrected import WET_ABOVE, Corrected, correct, dry_weights
from emcforecast.yard.doubt import Doubt, DoubtKind
from emcforecast.yard.log import Log
from emcforecast.yard.model import Stack, Yard
from emcforecast.yard.reading import Reading, reading_from

SAME_DAY_WITHIN = 4.0
"""Two readings of one spot on one day differ by no more than this, % MC."""

FIBRE_SATURATION = 28.0
"""Wood takes up water from air and rain to about here, % MC."""

HOTTEST_C = 50.0
"""Wood that is read is hardly hotter, °C, and °F without a unit are; common practice,
no source."""

WARMEST_C = 35.0
"""The bound on the speed of a change takes the wood this warm all the time."""


@dataclass(frozen=True)
class Judged:
    """Every row of the log, judged.

    Parameters
    ----------
    readings : tuple of Corrected
        In order of time; those with doubts are not used.
    unread : tuple of str
        Rows that cannot be read at all: line, and why.
    """

    readings: tuple[Corrected, ...]
    unread: tuple[str, ...] = ()

    def of(self, stack: Stack) -> tuple[Corrected, ...]:
        """Return the readings of one stack, used or not."""
        name = stack.name.casefold()
        return tuple(r for r in self.readings if r.reading.stack.casefold() == name)


def judge(yard: Yard, log: Log, today: date, system: UnitSystem) -> Judged:
    """Correct and question every reading of a yard.

    Parameters
    ----------
    yard : Yard
    log : Log
        Its readings log.
    today : date
        Nothing can have been read after it.
    system : {"us", "si"}
        Units of bare numbers in the log, where the yard file names none.

    Returns
    -------
    Judged
    """
    rows: list[Reading] = []
    unread = [f"line {bad.line} {bad.reason}" for bad in log.damaged]
    for row in log.rows:
        try:
            rows.append(reading_from(row.fields, yard.units or system, row.line))
        except YardError as error:
            unread.append(f"line {row.line}: {error}")
    rows.sort(key=lambda reading: reading.time)
    dry = dry_weights(yard, rows)
    found = [_alone(yard, reading, dry, today) for reading in rows]
    found = _repeated(found)
    for stack in yard.stacks:
        name = stack.name.casefold()
        own = [n for n, r in enumerate(found) if r.reading.stack.casefold() == name]
        judged = _too_fast(_same_day([found[n] for n in own], stack), stack)
        for number, one in zip(own, judged, strict=True):
            found[number] = one
    return Judged(tuple(found), tuple(unread))


def _alone(
    yard: Yard,
    reading: Reading,
    dry: dict[tuple[str, str], float],
    today: date,
) -> Corrected:
    """Judge a reading by itself."""
    try:
        stack = yard.stack(reading.stack)
    except YardError as error:
        why = str(error).removeprefix(f"{yard.path}: ").rstrip(".")
        unknown = Doubt(DoubtKind.UNKNOWN_STACK, refusal=why)
        return Corrected(reading, None, False, math.inf, ()).doubted(unknown)
    dry_kg = dry.get((stack.name.casefold(), reading.board))
    found = correct(reading, stack, dry_kg, yard.meter)
    if reading.day > today:
        found = found.doubted(Doubt(DoubtKind.AHEAD_OF_TODAY, day=today))
    warmth = reading.wood_temperature
    if warmth is not None and warmth > HOTTEST_C and not found.doubts:
        found = found.doubted(Doubt(DoubtKind.WOOD_TEMPERATURE))
    if reading.day < stack.began:
        found = found.doubted(Doubt(DoubtKind.BEFORE_SAWN, day=stack.began))
    return found


def _repeated(found: Sequence[Corrected]) -> list[Corrected]:
    """Question a row that stands in the log twice; the first one counts."""
    seen: dict[tuple[object, ...], int | None] = {}
    result = []
    for one in found:
        r = one.reading
        key = (r.time, r.stack.casefold(), replace(r, stack="", line=None))
        if key in seen:
            again = Doubt(DoubtKind.REPEATED_ROW, line=seen[key])
            result.append(one.doubted(again))
        else:
            seen[key] = r.line
            result.append(one)
    return result


def spot_of(reading: Reading, stack: Stack) -> str:
    """Return what part of a board a reading saw: "shell", "mean" or "core".

    Notes
    -----
    Pins between 0.15 and 0.35 of the thickness, and readings without a depth, see
    about the mean.
    """
    if reading.part is not None or reading.depth_mm is None:
        return reading.part or "mean"
    share = reading.depth_mm / stack.thickness.actual_mm
    share = min(share, 1.0 - share)
    return "shell" if share < 0.15 else "core" if share > 0.35 else "mean"


def _same_day(found: Sequence[Corrected], stack: Stack) -> list[Corrected]:
    """Question readings of one spot and day that differ too much."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, one in enumerate(found):
        r = one.reading
        if one.used and one.mc is not None:
            key = (r.day, r.board, spot_of(r, stack))
            groups.setdefault(key, []).append(number)
    result = list(found)
    for group in groups.values():
        values = {n: found[n].mc or 0.0 for n in group}
        if max(values.values()) - min(values.values()) <= SAME_DAY_WITHIN:
            continue
        trusted = _trusted(found, group, values)
        for n in group:
            apart = abs(values[n] - trusted) if trusted is not None else math.inf
            if apart > SAME_DAY_WITHIN:
                others = tuple(values[m] for m in group if m != n)
                result[n] = found[n].doubted(
                    Doubt(DoubtKind.SAME_SPOT_DIFFERS, mc=values[n], others=others)
                )
    return result


def _trusted(
    found: Sequence[Corrected], group: Sequence[int], values: dict[int, float]
) -> float | None:
    """Return the value the others must come near, or None when nothing decides."""
    weighed = [values[n] for n in group if found[n].reading.kind in ("oven", "weight")]
    if weighed and max(weighed) - min(weighed) <= SAME_DAY_WITHIN:
        return sum(weighed) / len(weighed)
    return median(values.values()) if len(group) > 2 else None


def without(
    readings: Sequence[Corrected], gone: Sequence[Corrected], stack: Stack
) -> list[Corrected]:
    """Judge anew what was questioned only against readings that turned out wrong.

    Parameters
    ----------
    readings : sequence of Corrected
        Of one stack, in order of time.
    gone : sequence of Corrected
        Those of them that the forecast questions, with their doubts.
    stack : Stack

    Returns
    -------
    list of Corrected
    """
    wrong = {one.reading: one for one in gone}
    kept = [
        wrong.get(one.reading)
        or replace(
            one,
            doubts=tuple(
                d for d in one.doubts if d.kind is not DoubtKind.CHANGED_TOO_FAST
            ),
        )
        for one in readings
    ]
    return _too_fast(kept, stack)


def _too_fast(found: Sequence[Corrected], stack: Stack) -> list[Corrected]:
    """Question a mean that changed faster than the wood can."""
    result: list[Corrected] = []
    before: Corrected | None = None
    for one in found:
        doubt = None
        if one.used and _is_mean(one, stack):
            if before is not None:
                doubt = _change_doubt(before, one, stack)
            if doubt is None and one.mc is not None:
                before = one
        result.append(one.doubted(doubt) if doubt else one)
    return result


def _is_mean(one: Corrected, stack: Stack) -> bool:
    seen = spot_of(one.reading, stack) == "mean" and one.reading.kind != "pinless"
    return seen and (one.mc is not None or one.wet)


def _change_doubt(before: Corrected, now: Corrected, stack: Stack) -> Doubt | None:
    was, value = before.mc, now.mc
    if was is None:
        return None
    days = (now.reading.time - before.reading.time).total_seconds() / 86400.0
    # A whole day may hide at either end of a date without a time.
    days += before.reading.whole_day + now.reading.whole_day
    share = fastest_share(stack.board, days)
    sd = now.sd if math.isfinite(now.sd) else 2.0
    margin = 2.0 * math.hypot(before.sd, sd)
    most = was + max(FIBRE_SATURATION - was, 0.0) * share + margin
    least = was * (1.0 - share) - margin
    shown = WET_ABOVE if value is None else value
    if least <= shown <= most:
        return None
    return Doubt(
        DoubtKind.CHANGED_TOO_FAST,
        mc=was,
        limit=most if shown > most else least,
        high=most if shown > most else None,
        day=before.reading.day,
    )


def fastest_share(board: Board, days: float) -> float:
    """Return the most of a change a board's mean can make in so many days.

    Parameters
    ----------
    board : Board
    days : float
        Time, days.

    Returns
    -------
    float
        0 to 1.

    Notes
    -----
    The short-time sorption of a plane sheet whose faces change at once,
    E = 2/√π · √(D t)/L with L half the thickness, and D taken at fibre saturation
    and 35 °C with twice the wood's own factor: no stack is faster.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, eq. 4.20 (from memory).

    Examples
    --------
    >>> fastest_share(Board("white oak", "8/4"), 0.0)
    0.0
    """
    fastest = 2.0 * board.diffusivity * float(content_factor(FIBRE_SATURATION / 100.0))
    fastest *= float(temperature_factor(WARMEST_C))
    half = board.thickness_mm / 2000.0
    reach = math.sqrt(fastest * max(days, 0.0) * 86400.0)
    return min(1.0, 2.0 / math.sqrt(math.pi) * reach / half)
