"""The words of moisture readings: corrections, pairs, two meters, weighings."""

from collections.abc import Callable

from emcforecast.language import N_, NP_, _, number, p_
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
    (0.15, N_("near the surface: expect the inside to be wetter while it dries")),
    (0.35, N_("about the mean of a board that dries as usual")),
    (1.0, N_("near the core, the wettest part while it dries")),
)
_METERS = {"pin": NP_("meter", "pin"), "pinless": NP_("meter", "pinless")}
_PLAIN = {
    Step.COMPENSATED: N_("The meter corrects for temperature itself: nothing added."),
    Step.FROZEN: N_(
        "The wood is frozen: above about 15 % readings scatter. Warm a piece indoors "
        "overnight in a bag and read again."
    ),
    Step.UNINSULATED: N_(
        "Pins without insulation read the wettest wood they touch: after rain or dew "
        "that is the surface."
    ),
    Step.GRAVITY_UNKNOWN: N_(
        "A pinless meter needs the specific gravity of the wood: check the setting, as "
        "denser wood than set reads high."
    ),
    Step.UNUSUAL_TEMPERATURE: N_(
        "Wood this cold or hot shifts pinless readings in a way that differs by meter: "
        "use its own table, or read again at room temperature."
    ),
    Step.OUTER_PART: N_(
        "It reads the outer part of the board most; a wet core in thick stock is "
        "missed."
    ),
    Step.PLANED_FACE: N_(
        "A planed face reads the wood under the dry skin: higher than before planing, "
        "and nearer the truth."
    ),
}


def meter_name(kind: str) -> str:
    """Name a kind of meter before the word: "pin" of "a pin meter"."""
    return p_("meter", _METERS[kind])


def verdict_words(found: Reading) -> str:
    """Say a reading in a few words: "14 %", or "wet, above 30, no number"."""
    if found.corrected is not None:
        return _("{mc:.0f} %", mc=found.corrected)
    low, high = RELIABLE[found.setting.kind]
    if found.wet:
        return _("wet, above {mc:g}, no number", mc=high)
    return _("dry, below {mc:g}, no number", mc=low)


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
        return _(_PLAIN[one.step])
    return _WORDS[one.step](one, found, system)


def _shown(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _(
        "The {kind} meter showed {mc:g} %.",
        kind=meter_name(found.setting.kind),
        mc=one.before,
    )


def _per_step(system: UnitSystem) -> str:
    return "10 °F" if system == "us" else f"{number(5.6, 'g')} °C"


def _temperature_unknown(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _(
        "Wood temperature not given: taken as {temperature}, where the meter is right. "
        "Cold wood reads low, {mc:g} % for every {step}.",
        temperature=format_temperature(found.setting.calibrated_at, system),
        mc=0.5,
        step=_per_step(system),
    )


def _full_equation(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _(
        "Wood at {temperature}: the fuller published equation (temperature and species "
        "together) gives {mc:.1f} %.",
        temperature=_wood_temperature(found, system),
        mc=one.after,
    )


def _temperature(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _(
        "Wood at {temperature}, meter made for {calibrated}: {added}, {mc:g} % MC for "
        "every {step}.",
        temperature=_wood_temperature(found, system),
        calibrated=format_temperature(found.setting.calibrated_at, system),
        added=_added(one),
        mc=0.5,
        step=_per_step(system),
    )


def _wood_temperature(found: Reading, system: UnitSystem) -> str:
    now = found.setting.wood_temperature
    return "" if now is None else format_temperature(now, system)


def _species(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _("Species coefficients of the meter give {mc:.1f} %.", mc=one.after)


def _gravity(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _(
        "Set to specific gravity {set_to:.2f}, the wood is {gravity:.2f}: {added} "
        "(about in proportion, an assumption).",
        set_to=found.setting.set_gravity,
        gravity=found.gravity,
        added=_added(one),
    )


def _pin_depth(one: Correction, found: Reading, system: UnitSystem) -> str:
    depth = found.setting.pin_depth_mm or 0.0
    thickness = found.setting.thickness_mm or 1.0
    share = min(depth / thickness, 1.0 - depth / thickness)
    part = next(words for limit, words in _PART_BY_DEPTH if share <= limit)
    return _(
        "Pins {depth} deep in {thickness}: {part}. A fifth to a quarter of the "
        "thickness ({fifth} or a little more) reads about the mean.",
        depth=format_length(depth, system),
        thickness=format_length(thickness, system),
        part=_(part),
        fifth=format_length(thickness / 5.0, system),
    )


def likeliest_words(found: Reading) -> str:
    """Say what the wood is likeliest at; an end or a rough face reads low."""
    value = found.corrected or 0.0
    low, high = found.low or value, found.high or value
    if found.setting.face in ("rough", "end"):
        least, most = (value + more for more in ROUGH_READS_LOW_BY)
        return _(
            N_(
                "The wood is rather at {least:.0f} to {most:.0f} % of oven-dry mass: "
                "the {mc:.0f} % read on the end is low"
            )
            if found.setting.face == "end"
            else N_(
                "The wood is rather at {least:.0f} to {most:.0f} % of oven-dry mass: "
                "the {mc:.0f} % read on a rough face is low"
            ),
            least=least,
            most=most,
            mc=value,
        )
    return _(
        "The wood is at {mc} of oven-dry mass (between {low:.0f} and {high:.0f}, two "
        "times in three)",
        mc=verdict_words(found),
        low=low,
        high=high,
    )


def _dry_face(one: Correction, found: Reading, system: UnitSystem) -> str:
    least, most = (one.after + more for more in ROUGH_READS_LOW_BY)
    return _(
        N_(
            "Read on the end, which is drier than the wood beneath: the board is "
            "rather at {least:.0f} to {most:.0f} %. Plane a spot, or cut in from the "
            "end, and read again."
        )
        if found.setting.face == "end"
        else N_(
            "Read on a rough face, which is drier than the wood beneath: the board is "
            "rather at {least:.0f} to {most:.0f} %. Plane a spot, or cut in from the "
            "end, and read again."
        ),
        least=least,
        most=most,
    )


def _result(one: Correction, found: Reading, system: UnitSystem) -> str:
    return _(
        "Corrected: {mc:.1f} % of ovendry mass, give or take {spread:g}.",
        mc=one.after,
        spread=found.spread,
    )


def _no_number(one: Correction, found: Reading, system: UnitSystem) -> str:
    kind = found.setting.kind
    low, high = RELIABLE[kind]
    return _(
        N_(
            "A {kind} meter counts from {low:g} to {high:g} %: {verdict}. To know, "
            "weigh a sample board."
        )
        if found.wet
        else N_(
            "A {kind} meter counts from {low:g} to {high:g} %: {verdict}. To know, dry "
            "a piece in an oven."
        ),
        kind=meter_name(kind),
        low=low,
        high=high,
        verdict=verdict_words(found),
    )


def _added(one: Correction) -> str:
    change = one.after - one.before
    if abs(change) < 0.05:
        return _("nothing to correct")
    return _(
        N_("add {mc:.1f}") if change > 0 else N_("take off {mc:.1f}"), mc=abs(change)
    )


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
    said = {
        PairState.REWETTED: N_(
            "not ready: shell {shell:.0f} wetter than core {core:.0f}"
        ),
        PairState.ABOVE_TARGET: N_("not ready: core {core:.0f}"),
        PairState.UNEVEN: N_("not ready: core {core:.0f}"),
        PairState.TOO_DRY: N_("too dry: {low:.0f} to {high:.0f}"),
        PairState.READY: N_("ready: {low:.0f} to {high:.0f}"),
    }[found.state]
    return _(said, shell=shell, core=core, low=min(shell, core), high=max(shell, core))


def pair_reason(found: PairVerdict) -> str:
    """Say why shell and core are judged so, and what to do."""
    shell, apart = found.shell, abs(found.core - found.shell)
    low, high = found.target or (0.0, 0.0)
    said = {
        PairState.REWETTED: N_(
            "The outside has taken up water again, from rain, damp air or the floor. "
            "Find the damp, let it even out, then read again."
        ),
        PairState.ABOVE_TARGET: N_(
            "The shell reads {shell:.0f} but the core must come down to {high:g}. Cut "
            "now and it warps as the core follows."
        ),
        PairState.UNEVEN: N_(
            "The core is {apart:.0f} above the shell ({shell:.0f}); even means within "
            "{within:g}. Cut now and it warps as the core follows."
        ),
        PairState.TOO_DRY: N_(
            "Below the {low:g} wanted: it will swell in use. Let it take up moisture "
            "where it will live."
        ),
        PairState.READY: N_(
            "Shell and core are even. Compare with the air ahead: flat in winter is "
            "not yet settled for summer."
        ),
    }[found.state]
    return _(said, shell=shell, apart=apart, low=low, high=high, within=EVEN_WITHIN)


def two_meters(first: float, second: float, agree: bool) -> tuple[str, ...]:
    """Say whether two corrected readings (%) agree, and what to look at if not."""
    apart = abs(first - second)
    if agree:
        return (
            _(
                "They differ by {apart:.1f}: two good meters do. Take the mean, "
                "{mc:.1f} %.",
                apart=apart,
                mc=(first + second) / 2.0,
            ),
        )
    return (
        _("They differ by {apart:.1f}; neither is to be believed yet.", apart=apart),
        _("Check the species or specific-gravity setting of each."),
        _(
            "Read the same planed spot, 20 in or more from the ends, wood at room "
            "temperature."
        ),
        _(
            "A pin meter at the surface and a pinless one through the face do not see "
            "the same wood: a wet core or a damp skin sets them apart."
        ),
        _("An oven-dry test of one cut piece settles it."),
    )
