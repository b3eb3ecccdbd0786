"""The words of why a reading is not used."""

from emcforecast.dates import spoken
from emcforecast.units import UnitSystem, format_mass
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.doubt import Doubt, DoubtKind
from emcforecast.yard.questioned import SAME_DAY_WITHIN


def doubt_words(doubt: Doubt, one: Corrected, system: UnitSystem) -> str:
    """Say why a reading is not used, and what to do about it."""
    r, kind = one.reading, doubt.kind
    mc, limit = doubt.mc or 0.0, doubt.limit or 0.0
    if kind in (DoubtKind.UNKNOWN_STACK, DoubtKind.CANNOT_BE_CORRECTED):
        return doubt.refusal
    if kind is DoubtKind.AHEAD_OF_TODAY:
        return f"{spoken(r.day)} is after today, {spoken(doubt.day or r.day)}"
    if kind is DoubtKind.BEFORE_SAWN:
        return f"{spoken(r.day)} is before it was sawn, {spoken(doubt.day or r.day)}"
    if kind is DoubtKind.REPEATED_ROW:
        return f"the same reading stands on line {doubt.line}"
    if kind is DoubtKind.OUTSIDE_METER:
        return f"{r.value:g} % is outside what a {r.kind} meter can show"
    if kind is DoubtKind.NO_OVEN_TEST_NUMBER:
        return "an oven test gives a number above 0"
    if kind is DoubtKind.NO_OVEN_DRY_WEIGHT:
        return (
            f"board {r.board or 'without a mark'} has no known oven-dry weight (known "
            f"boards: {', '.join(doubt.known) or 'none'}). Add it under samples in the "
            "yard file, or log an oven test of the day it was weighed"
        )
    if kind is DoubtKind.BELOW_OVEN_DRY_WEIGHT:
        return (
            f"{format_mass(r.value, system)} is below the board's oven-dry weight, "
            f"{format_mass(doubt.dry_kg or 0.0, system)}: check the scale, the unit "
            "and which board it was"
        )
    if kind is DoubtKind.MORE_THAN_WOOD_HOLDS:
        return (
            f"{mc:.0f} % is more than this wood can hold, about {limit:.0f} %: check "
            "the weight, its unit and the board"
        )
    if kind is DoubtKind.SAME_SPOT_DIFFERS:
        others = ", ".join(f"{other:.1f}" for other in doubt.others)
        return (
            f"{mc:.1f} against {others} on the same day: more than "
            f"{SAME_DAY_WITHIN:g} apart. Read again to see which is right"
        )
    if kind is DoubtKind.CHANGED_TOO_FAST:
        rose = doubt.high is not None
        now = one.shown if one.mc is not None else "above 30"
        return (
            f"it {'rose' if rose else 'fell'} from {mc:.1f} % on "
            f"{spoken(doubt.day or r.day, r.day)} to {now}; wood this thick "
            f"{'gains no more than to' if rose else 'gets no lower than'} "
            f"{limit:.1f} in that time. Read again, deeper or on another board"
        )
    return (
        f"the weather and the other readings leave room for {doubt.low:.0f} to "
        f"{doubt.high:.0f} %. Read another board, or check the date, the species "
        "setting and the battery"
    )
