"""The words of readings: what they did, and why some are questioned."""

from datetime import date

from emcforecast.dates import spoken
from emcforecast.ensemble.percentiles import Range
from emcforecast.report.doubts import doubt_words
from emcforecast.report.meter import correction_steps, pair_reason, pair_verdict
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
            text += f" Shell and core: {pair}" if (pair := pair_words(one)) else ""
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
            lines.append(f"Board {step.board} weighs {now}; oven dry it weighs {dry}.")
            if step.mc is not None:
                lines.append(
                    f"100 × (weight / oven-dry weight - 1) = {step.mc:.1f} % of "
                    "oven-dry mass."
                )
        elif isinstance(step, OvenTest):
            lines.append(
                f"An oven test: {step.mc:g} % of oven-dry mass, nothing to correct."
            )
        elif isinstance(step, OverScale):
            lines.append(f"The {step.kind} meter was over its scale: wet, above 30.")
        elif isinstance(step, OtherWood):
            lines.append(
                f"The meter was set to {step.set_to.spoken} and the wood is "
                f"{step.wood.spoken}: no correction is published, so the reading "
                "counts for less."
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
    line = f" (line {r.line})" if r.line else ""
    return (
        f"{r.stack}, {spoken(r.day, today)}, {r.kind} {r.shown}{line}: questioned, "
        f"kept and not used. {sentence(doubt_words(one.doubts[0], one, system))}"
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
    now = f"{state.stack.name} now: {_range_words(state.mean)} on average, "
    now += f"shell {state.shell.p50:.0f}, core {state.core.p50:.0f}."
    one = next(r for r in state.effect.readings if r.reading == one.reading)
    if one.used:
        lead = f"{state.stack.name}: {effect_words(state)}."
    else:
        lead = questioned_words(one, today, system)
    parts = [wrapped(lead)]
    parts += [wrapped(step) for step in reading_steps(one, system)]
    if one.used and one.mc is None:
        parts.append("It counts as wet: above 30 %.")
    if pair := pair_words(state):
        parts.append(wrapped(f"Shell and core: {pair}"))
    actions = [state.next, *state.effect.questions]
    after = " ".join(map(sentence, all_words(actions, state, yard, today)))
    parts.append(wrapped(f"{now} Next: {after}"))
    return "\n".join(parts)


def _range_words(value: Range) -> str:
    if value.p10 is None or value.p90 is None:
        return f"{value.p50:.0f} %"
    return f"{value.p50:.0f} % ({value.p10:.0f} to {value.p90:.0f})"
