"""The words of readings: what they did, and why some are questioned."""

from datetime import date

from emcforecast.dates import spoken
from emcforecast.ensemble.percentiles import Range
from emcforecast.language import N_, _
from emcforecast.report.doubts import doubt_words
from emcforecast.report.meter import (
    correction_steps,
    meter_name,
    pair_reason,
    pair_verdict,
)
from emcforecast.report.names import reading_kind, wood_name
from emcforecast.report.words import sentence, wrapped
from emcforecast.report.yard_actions import all_words, effect_words
from emcforecast.units import UnitSystem, format_mass
from emcforecast.yard.corrected import (
    Corrected,
    OtherWood,
    OvenTest,
    OverScale,
    Weighed,
)
from emcforecast.yard.model import Yard
from emcforecast.yard.result import StackState, YardState


def readings_lines(state: YardState, *, every: bool) -> list[str]:
    """Say what the readings did, and which are questioned and why.

    Parameters
    ----------
    state : YardState
    every : bool
        Also of those that are used; else only of those questioned.

    Returns
    -------
    list of str
        Wrapped, one paragraph a stack or reading.
    """
    lines = []
    for one in state.stacks if every else ():
        if words := effect_words(one):
            last = next(r for r in reversed(one.effect.readings) if r.used)
            when = spoken(last.reading.day, state.today)
            shown = f", {last.shown}" if last.mc is not None else ""
            text = f"{one.stack.name} ({when}{shown}): {words}."
            if pair := pair_words(one):
                text = " ".join([text, _("Shell and core: {said}", said=pair)])
            lines.append(wrapped(text))
    for one in state.stacks:
        for reading in one.effect.readings:
            if not reading.used:
                lines.append(wrapped(questioned_words(reading, state.today)))
    return lines


def pair_words(one: StackState) -> str:
    """Say what the latest shell and core readings come to together, or ""."""
    pair = one.effect.pair
    return "" if pair is None else f"{pair_verdict(pair)}. {pair_reason(pair)}"


def reading_steps(one: Corrected, system: UnitSystem = "si") -> list[str]:
    """Say each step from a row of the log to what it stands for."""
    lines: list[str] = []
    for step in one.steps:
        if isinstance(step, Weighed):
            now, dry = (format_mass(kg, system) for kg in (step.now_kg, step.dry_kg))
            lines.append(
                _(
                    "Board {board} weighs {now}; oven dry it weighs {dry}.",
                    board=step.board,
                    now=now,
                    dry=dry,
                )
            )
            if step.mc is not None:
                lines.append(
                    _(
                        "100 × (weight / oven-dry weight - 1) = {mc:.1f} % of oven-dry "
                        "mass.",
                        mc=step.mc,
                    )
                )
        elif isinstance(step, OvenTest):
            lines.append(
                _(
                    "An oven test: {mc:g} % of oven-dry mass, nothing to correct.",
                    mc=step.mc,
                )
            )
        elif isinstance(step, OverScale):
            lines.append(
                _(
                    "The {kind} meter was over its scale: wet, above 30.",
                    kind=meter_name(step.kind),
                )
            )
        elif isinstance(step, OtherWood):
            lines.append(
                _(
                    "The meter was set to {set_to} and the wood is {wood}: no "
                    "correction is published, so the reading counts for less.",
                    set_to=wood_name(step.set_to.spoken),
                    wood=wood_name(step.wood.spoken),
                )
            )
        else:
            lines += correction_steps(step, system)
    return lines


def questioned_words(one: Corrected, today: date, system: UnitSystem = "si") -> str:
    """Say why a reading is questioned.

    Parameters
    ----------
    one : Corrected
        With doubts.
    today : date

    Returns
    -------
    str
    """
    r = one.reading
    return _(
        N_(
            "{stack}, {date}, {kind} {reading} (line {line}): questioned, kept and not "
            "used. {why}"
        )
        if r.line
        else N_(
            "{stack}, {date}, {kind} {reading}: questioned, kept and not used. {why}"
        ),
        stack=r.stack,
        date=spoken(r.day, today),
        kind=reading_kind(r.kind),
        reading=r.shown,
        line=r.line,
        why=sentence(doubt_words(one.doubts[0], one, system)),
    )


def reading_text(
    state: StackState,
    one: Corrected,
    yard: Yard,
    today: date,
    system: UnitSystem = "si",
) -> str:
    """Return what `yard reading` says of a new reading.

    Parameters
    ----------
    state : StackState
        Of its stack, the reading counted.
    one : Corrected
        The reading.
    yard : Yard
        Which names the places.
    today : date
    system : {"us", "si"}
        Units of weights and temperatures.

    Returns
    -------
    str
        The answer, then each step, then what is next.
    """
    now = _(
        "{stack} now: {range} on average, shell {shell:.0f}, core {core:.0f}.",
        stack=state.stack.name,
        range=_range_words(state.mean),
        shell=state.shell.p50,
        core=state.core.p50,
    )
    one = next(r for r in state.effect.readings if r.reading == one.reading)
    if one.used:
        lead = f"{state.stack.name}: {effect_words(state)}."
    else:
        lead = questioned_words(one, today, system)
    parts = [wrapped(lead)]
    parts += [wrapped(step) for step in reading_steps(one, system)]
    if one.used and one.mc is None:
        parts.append(_("It counts as wet: above 30 %."))
    if pair := pair_words(state):
        parts.append(wrapped(_("Shell and core: {said}", said=pair)))
    actions = [state.next, *state.effect.questions]
    after = " ".join(map(sentence, all_words(actions, state, yard, today)))
    parts.append(wrapped(" ".join([now, _("Next: {do}", do=after)])))
    return "\n".join(parts)


def _range_words(value: Range) -> str:
    if value.p10 is None or value.p90 is None:
        return f"{value.p50:.0f} %"
    return _(
        "{mc:.0f} % ({low:.0f} to {high:.0f})",
        mc=value.p50,
        low=value.p10,
        high=value.p90,
    )
