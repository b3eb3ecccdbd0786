"""The words of moisture readings: corrections, pairs, two meters, weighings."""

from collections.abc import Callable

from emcforecast.units import (
    UnitSystem,
    format_length,
    format_temperature,
)
from emcforecast.wood.meter import (
    RELIABLE,
    ROUGH_READS_LOW_BY,
    Correction,
    Reading,
    Step,
)
from emcforecast.wood.sample_board import EVEN_WITHIN, PairState, PairVerdict

_PART_BY_DEPTH = (
    (0.15, "near the surface: expect the inside to be wetter while it dries"),
    (0.35, "about the mean of a board that dries as usual"),
    (1.0, "near the core, the wettest part while it dries"),
)
_PLAIN = {
    Step.COMPENSATED: "The meter corrects for temperature itself: nothing added.",
    Step.FROZEN: (
        "The wood is frozen: above about 15 % readings scatter. Warm a piece indoors "
        "overnight in a bag and read again."
    ),
    Step.UNINSULATED: (
        "Pins without insulation read the wettest wood they touch: after rain or dew "
        "that is the surface."
    ),
    Step.GRAVITY_UNKNOWN: (
        "A pinless meter needs the specific gravity of the wood: check the setting, as "
        "denser wood than set reads high."
    ),
    Step.UNUSUAL_TEMPERATURE: (
        "Wood this cold or hot shifts pinless readings in a way that differs by meter: "
        "use its own table, or read again at room temperature."
    ),
    Step.OUTER_PART: (
        "It reads the outer part of the board most; a wet core in thick stock is "
        "missed."
    ),
    Step.PLANED_FACE: (
        "A planed face reads the wood under the dry skin: higher than before planing, "
        "and nearer the truth."
    ),
}


def verdict_words(found: Reading) -> str:
    """Say a reading in a few words: "14 %", or "wet, above 30, no number"."""
    if found.corrected is not None:
        return f"{found.corrected:.0f} %"
    low, high = RELIABLE[found.setting.kind]
    side = f"wet, above {high:g}" if found.wet else f"dry, below {low:g}"
    return f"{side}, no number"


def correction_steps(found: Reading, system: UnitSystem) -> tuple[str, ...]:
    """Say each correction of a reading in a sentence, in order.

    Parameters
    ----------
    system : {"us", "si"}
        Units of temperatures and lengths.
    """
    return tuple(_step_words(one, found, system) for one in found.corrections)


def _step_words(one: Correction, found: Reading, system: UnitSystem) -> str:
    if one.step in _PLAIN:
        return _PLAIN[one.step]
    return _WORDS[one.step](one, found, system)


def _shown(one: Correction, found: Reading, system: UnitSystem) -> str:
    return f"The {found.setting.kind} meter showed {one.before:g} %."


def _per_step(system: UnitSystem) -> str:
    return "10 °F" if system == "us" else "5.6 °C"


def _temperature_unknown(one: Correction, found: Reading, system: UnitSystem) -> str:
    return (
        f"Wood temperature not given: taken as "
        f"{format_temperature(found.setting.calibrated_at, system)}, where the meter "
        f"is right. Cold wood reads low, 0.5 % for every {_per_step(system)}."
    )


def _full_equation(one: Correction, found: Reading, system: UnitSystem) -> str:
    return (
        f"Wood at {_wood_temperature(found, system)}: the fuller published equation "
        f"(temperature and species together) gives {one.after:.1f} %."
    )


def _temperature(one: Correction, found: Reading, system: UnitSystem) -> str:
    return (
        f"Wood at {_wood_temperature(found, system)}, meter made for "
        f"{format_temperature(found.setting.calibrated_at, system)}: {_added(one)}, "
        f"0.5 % MC for every {_per_step(system)}."
    )


def _wood_temperature(found: Reading, system: UnitSystem) -> str:
    now = found.setting.wood_temperature
    return "" if now is None else format_temperature(now, system)


def _species(one: Correction, found: Reading, system: UnitSystem) -> str:
    return f"Species coefficients of the meter give {one.after:.1f} %."


def _gravity(one: Correction, found: Reading, system: UnitSystem) -> str:
    return (
        f"Set to specific gravity {found.setting.set_gravity:.2f}, the wood is "
        f"{found.gravity:.2f}: {_added(one)} (about in proportion, an assumption)."
    )


def _pin_depth(one: Correction, found: Reading, system: UnitSystem) -> str:
    depth = found.setting.pin_depth_mm or 0.0
    thickness = found.setting.thickness_mm or 1.0
    share = min(depth / thickness, 1.0 - depth / thickness)
    part = next(words for limit, words in _PART_BY_DEPTH if share <= limit)
    return (
        f"Pins {format_length(depth, system)} deep in "
        f"{format_length(thickness, system)}: {part}. A fifth to a quarter of the "
        f"thickness ({format_length(thickness / 5.0, system)} or a little more) reads "
        "about the mean."
    )


def likeliest_words(found: Reading) -> str:
    """Say what the wood is likeliest at; an end or a rough face reads low."""
    value = found.corrected or 0.0
    low, high = found.low or value, found.high or value
    if found.setting.face in ("rough", "end"):
        least, most = (value + more for more in ROUGH_READS_LOW_BY)
        where = "the end" if found.setting.face == "end" else "a rough face"
        return (
            f"The wood is rather at {least:.0f} to {most:.0f} % of oven-dry mass: the "
            f"{value:.0f} % read on {where} is low"
        )
    return (
        f"The wood is at {verdict_words(found)} of oven-dry mass (between {low:.0f} "
        f"and {high:.0f}, two times in three)"
    )


def _dry_face(one: Correction, found: Reading, system: UnitSystem) -> str:
    where = "the end" if found.setting.face == "end" else "a rough face"
    least, most = (one.after + more for more in ROUGH_READS_LOW_BY)
    return (
        f"Read on {where}, which is drier than the wood beneath: the board is "
        f"rather at {least:.0f} to {most:.0f} %. Plane a spot, or cut in from the "
        "end, and read again."
    )


def _result(one: Correction, found: Reading, system: UnitSystem) -> str:
    return (
        f"Corrected: {one.after:.1f} % of ovendry mass, give or take {found.spread:g}."
    )


def _no_number(one: Correction, found: Reading, system: UnitSystem) -> str:
    kind = found.setting.kind
    low, high = RELIABLE[kind]
    advice = "weigh a sample board" if found.wet else "dry a piece in an oven"
    return (
        f"A {kind} meter counts from {low:g} to {high:g} %: {verdict_words(found)}. To "
        f"know, {advice}."
    )


def _added(one: Correction) -> str:
    change = one.after - one.before
    if abs(change) < 0.05:
        return "nothing to correct"
    return f"{'add' if change > 0 else 'take off'} {abs(change):.1f}"


_WORDS: dict[Step, Callable[[Correction, Reading, UnitSystem], str]] = {
    Step.SHOWN: _shown,
    Step.TEMPERATURE_UNKNOWN: _temperature_unknown,
    Step.FULL_EQUATION: _full_equation,
    Step.TEMPERATURE: _temperature,
    Step.SPECIES: _species,
    Step.GRAVITY: _gravity,
    Step.PIN_DEPTH: _pin_depth,
    Step.DRY_FACE: _dry_face,
    Step.RESULT: _result,
    Step.NO_NUMBER: _no_number,
}


def pair_verdict(found: PairVerdict) -> str:
    """Say what shell and core come to in a few words: "not ready: core 16"."""
    shell, core = found.shell, found.core
    span = f"{min(shell, core):.0f} to {max(shell, core):.0f}"
    return {
        PairState.REWETTED: f"not ready: shell {shell:.0f} wetter than core {core:.0f}",
        PairState.ABOVE_TARGET: f"not ready: core {core:.0f}",
        PairState.UNEVEN: f"not ready: core {core:.0f}",
        PairState.TOO_DRY: f"too dry: {span}",
        PairState.READY: f"ready: {span}",
    }[found.state]


def pair_reason(found: PairVerdict) -> str:
    """Say why shell and core are judged so, and what to do."""
    shell, apart = found.shell, abs(found.core - found.shell)
    low, high = found.target or (0.0, 0.0)
    return {
        PairState.REWETTED: (
            "The outside has taken up water again, from rain, damp air or the floor. "
            "Find the damp, let it even out, then read again."
        ),
        PairState.ABOVE_TARGET: (
            f"The shell reads {shell:.0f} but the core must come down to {high:g}. Cut "
            "now and it warps as the core follows."
        ),
        PairState.UNEVEN: (
            f"The core is {apart:.0f} above the shell ({shell:.0f}); even means within "
            f"{EVEN_WITHIN:g}. Cut now and it warps as the core follows."
        ),
        PairState.TOO_DRY: (
            f"Below the {low:g} wanted: it will swell in use. Let it take up moisture "
            "where it will live."
        ),
        PairState.READY: (
            "Shell and core are even. Compare with the air ahead: flat in winter is "
            "not yet settled for summer."
        ),
    }[found.state]


def two_meters(first: float, second: float, agree: bool) -> tuple[str, ...]:
    """Say whether two corrected readings (%) agree, and what to look at if not."""
    apart = abs(first - second)
    if agree:
        return (
            f"They differ by {apart:.1f}: two good meters do. Take the mean, "
            f"{(first + second) / 2.0:.1f} %.",
        )
    return (
        f"They differ by {apart:.1f}; neither is to be believed yet.",
        "Check the species or specific-gravity setting of each.",
        "Read the same planed spot, 20 in or more from the ends, wood at room "
        "temperature.",
        "A pin meter at the surface and a pinless one through the face do not see "
        "the same wood: a wet core or a damp skin sets them apart.",
        "An oven-dry test of one cut piece settles it.",
    )
