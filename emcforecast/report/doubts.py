"""The words of why a reading is not used."""

from emcforecast.dates import spoken
from emcforecast.language import N_, _, number, p_
from emcforecast.report.meter import meter_name
from emcforecast.units import UnitSystem, format_mass, format_temperature
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.doubt import Doubt, DoubtKind
from emcforecast.yard.questioned import SAME_DAY_WITHIN


def doubt_words(doubt: Doubt, one: Corrected, system: UnitSystem) -> str:
    """Say why a reading is not used, and what to do about it."""
    r, kind = one.reading, doubt.kind
    if kind in (DoubtKind.UNKNOWN_STACK, DoubtKind.CANNOT_BE_CORRECTED):
        return doubt.refusal
    if kind is DoubtKind.AHEAD_OF_TODAY:
        return _(
            "{date} is after today, {other}",
            date=spoken(r.day),
            other=spoken(doubt.day or r.day),
        )
    if kind is DoubtKind.BEFORE_SAWN:
        return _(
            "{date} is before it was sawn, {other}",
            date=spoken(r.day),
            other=spoken(doubt.day or r.day),
        )
    if kind is DoubtKind.REPEATED_ROW:
        return _("the same reading stands on line {line}", line=doubt.line)
    if kind is DoubtKind.WOOD_TEMPERATURE:
        return _(
            "wood at {temperature} is hardly one of a yard: check the unit of its "
            "temperature",
            temperature=format_temperature(r.wood_temperature or 0.0, system),
        )
    if kind is DoubtKind.OUTSIDE_METER:
        return _(
            "{mc:g} % is outside what a {kind} meter can show",
            mc=r.value,
            kind=meter_name(r.kind),
        )
    if kind is DoubtKind.NO_OVEN_TEST_NUMBER:
        return _("an oven test gives a number above 0")
    if kind is DoubtKind.NO_OVEN_DRY_WEIGHT:
        return _(
            "board {board} has no known oven-dry weight (known boards: {known}). Add "
            "it under samples in the yard file, or log an oven test of the day it was "
            "weighed",
            board=r.board or _("without a mark"),
            known=", ".join(doubt.known) or _("none"),
        )
    if kind is DoubtKind.BELOW_OVEN_DRY_WEIGHT:
        return _(
            "{now} is below the board's oven-dry weight, {dry}: check the scale, the "
            "unit and which board it was",
            now=format_mass(r.value, system),
            dry=format_mass(doubt.dry_kg or 0.0, system),
        )
    return _doubted_number(doubt, one)


def _doubted_number(doubt: Doubt, one: Corrected) -> str:
    """Say why a moisture cannot be, or is not to be believed."""
    r, kind = one.reading, doubt.kind
    mc, limit = doubt.mc or 0.0, doubt.limit or 0.0
    if kind is DoubtKind.MORE_THAN_WOOD_HOLDS:
        return _(
            "{mc:.0f} % is more than this wood can hold, about {limit:.0f} %: check "
            "the weight, its unit and the board",
            mc=mc,
            limit=limit,
        )
    if kind is DoubtKind.SAME_SPOT_DIFFERS:
        return _(
            "{mc:.1f} against {others} on the same day: more than {apart:g} apart. "
            "Read again to see which is right",
            mc=mc,
            others=p_("between numbers", ", ").join(
                number(other, ".1f") for other in doubt.others
            ),
            apart=SAME_DAY_WITHIN,
        )
    if kind is DoubtKind.CHANGED_TOO_FAST:
        return _(
            N_(
                "it rose from {mc:.1f} % on {date} to {now}; wood this thick gains no "
                "more than to {limit:.1f} in that time. Read again, deeper or on "
                "another board"
            )
            if doubt.high is not None
            else N_(
                "it fell from {mc:.1f} % on {date} to {now}; wood this thick gets no "
                "lower than {limit:.1f} in that time. Read again, deeper or on another "
                "board"
            ),
            mc=mc,
            date=spoken(doubt.day or r.day, r.day),
            now=one.shown if one.mc is not None else _("above 30"),
            limit=limit,
        )
    return _(
        "the weather and the other readings leave room for {low:.0f} to {high:.0f} %. "
        "Read another board, or check the date, the species setting and the battery",
        low=doubt.low,
        high=doubt.high,
    )
