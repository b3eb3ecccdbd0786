"""What one moisture reading means, corrected in plain steps."""

from dataclasses import dataclass
from typing import Literal

from emcforecast.errors import InputError
from emcforecast.units import UnitSystem, format_length, format_temperature
from emcforecast.wood.meter_formulas import (
    CALIBRATED_AT,
    fully_corrected,
    gravity_corrected,
    temperature_corrected,
)
from emcforecast.wood.species import Species

MeterKind = Literal["pin", "pinless"]
METER_KINDS: tuple[MeterKind, ...] = ("pin", "pinless")
Rule = Literal["handbook", "full"]
RULES: tuple[Rule, ...] = ("handbook", "full")
Face = Literal["planed", "rough", "end"]
FACES: tuple[Face, ...] = ("planed", "rough", "end")

RELIABLE = {"pin": (6.0, 30.0), "pinless": (4.0, 30.0)}
"""Moisture contents between which a meter's number counts, %."""

ROUGH_READS_LOW_BY = (1.0, 3.0)
"""% MC by which a rough or end surface reads low; common practice, no source."""

_PART_BY_DEPTH = (
    (0.15, "near the surface: expect the inside to be wetter while it dries"),
    (0.35, "about the mean of a board that dries as usual"),
    (1.0, "near the core, the wettest part while it dries"),
)


@dataclass(frozen=True)
class Reading:
    """A reading with its corrections told one by one.

    Parameters
    ----------
    reading : float
        What the meter showed, % MC.
    corrected : float or None
        The moisture content it stands for, % of ovendry mass; None where a meter
        gives no number.
    low, high : float or None
        About two times in three the truth lies between these, %.
    steps : tuple of str
        What was done and why, in order.
    valid : bool
        Whether the number counts.
    verdict : str
        The reading in a few words: "14 %", or "wet, above 30, no number".
    wet : bool
        Whether it is above what the meter can tell.
    """

    reading: float
    corrected: float | None
    low: float | None
    high: float | None
    steps: tuple[str, ...]
    valid: bool
    verdict: str
    wet: bool = False


@dataclass(frozen=True)
class MeterSetting:
    """How the meter was set and held.

    Parameters
    ----------
    kind : {"pin", "pinless"}
        Resistance between pins, or dielectric through the face.
    wood_temperature : float or None
        Of the wood, not of the air, °C.
    calibrated_at : float
        Wood temperature the meter is made for, °C.
    compensated : bool
        The meter already corrected for temperature itself.
    rule : {"handbook", "full"}
        Correct by 0.5 % MC per 5.6 °C, or by the fuller published equation.
    slope, offset : float
        The meter's species coefficients a and b for the full rule.
    set_gravity, wood_gravity : float or None
        Specific gravity the pinless meter was set to, and that of the wood.
    pin_depth_mm, thickness_mm : float or None
        How deep the pins went, and how thick the board is, mm.
    insulated : bool
        Whether only the pins' tips touch.
    face : {"planed", "rough", "end"} or None
        Where it was read.
    """

    kind: MeterKind = "pin"
    wood_temperature: float | None = None
    calibrated_at: float = CALIBRATED_AT
    compensated: bool = False
    rule: Rule = "handbook"
    slope: float = 1.0
    offset: float = 0.0
    set_gravity: float | None = None
    wood_gravity: float | None = None
    pin_depth_mm: float | None = None
    thickness_mm: float | None = None
    insulated: bool = False
    face: Face | None = None

    def __post_init__(self) -> None:
        """Refuse settings that mean nothing."""
        _one_of("meter kind", self.kind, METER_KINDS)
        _one_of("rule", self.rule, RULES)
        if self.face is not None:
            _one_of("face", self.face, FACES)
        for name, gravity in (
            ("set gravity", self.set_gravity),
            ("wood gravity", self.wood_gravity),
        ):
            _within(name, gravity, 0.1, 1.4)
        _within("wood temperature", self.wood_temperature, -40.0, 70.0, " °C")
        _within("calibration temperature", self.calibrated_at, 0.0, 40.0, " °C")
        _within("pin depth", self.pin_depth_mm, 0.5, 150.0, " mm")
        _within("slope a", self.slope, 0.3, 3.0)
        _within("offset b", self.offset, -20.0, 20.0)
        if self.pin_depth_mm and self.thickness_mm:
            _within("pin depth", self.pin_depth_mm, 0.0, self.thickness_mm, " mm")


def interpret(
    reading: float,
    setting: MeterSetting | None = None,
    *,
    species: Species | None = None,
    system: UnitSystem = "si",
) -> Reading:
    """Say what a meter's reading stands for, step by step.

    Parameters
    ----------
    reading : float
        What the meter showed, % MC.
    setting : MeterSetting, optional
        How the meter was set and held; a pin meter by default.
    species : Species, optional
        The wood; gives a pinless meter its true specific gravity.
    system : {"us", "si"}
        Units of the steps.

    Returns
    -------
    Reading

    Raises
    ------
    InputError
        When the reading is not between 0 and 200.

    Notes
    -----
    The spread is 1 % MC below 20 and 2 % above. Outside 6 to 30 % (pin) or 4 to
    30 % (pinless) a meter tells "wet" or "dry" but no number.

    Examples
    --------
    >>> cold = MeterSetting(wood_temperature=-1.1)
    >>> interpret(12.0, cold).verdict
    '14 %'
    >>> interpret(42.0).verdict
    'wet, above 30, no number'
    """
    held = MeterSetting() if setting is None else setting
    if not 0.0 <= reading <= 200.0:
        raise InputError(
            f"reading {reading:g} is outside 0 to 200 % MC. Give the number the meter "
            f"showed."
        )
    low, high = RELIABLE[held.kind]
    steps = [f"The {held.kind} meter showed {reading:g} %."]
    if reading > high:
        return _no_number(reading, "wet", high, held, steps)
    if held.kind == "pin":
        value = _pin_steps(reading, held, steps, system)
    else:
        value = _pinless_steps(reading, held, species, steps)
    if value > high:
        return _no_number(reading, "wet", high, held, steps)
    if value < low:
        return _no_number(reading, "dry", low, held, steps)
    spread = 1.0 if value < 20.0 else 2.0
    lowest, highest = value - spread, value + spread
    if held.face in ("rough", "end"):
        least, most = ROUGH_READS_LOW_BY
        highest = value + most
        steps.append(
            f"Read on {_FACE_WORDS[held.face]}, which is drier than the wood beneath: "
            f"the board is more likely {value + least:.0f} to {value + most:.0f} %. "
            f"Plane a spot, or cut in from the end, and read again."
        )
    elif held.face == "planed":
        steps.append(
            "A planed face reads the wood under the dry skin: higher than before "
            "planing, and nearer the truth."
        )
    steps.append(f"Corrected: {value:.1f} % of ovendry mass, give or take {spread:g}.")
    return Reading(
        reading, value, lowest, highest, tuple(steps), True, f"{value:.0f} %"
    )


_FACE_WORDS = {"rough": "a rough face", "end": "the end"}


def _pin_steps(
    reading: float, held: MeterSetting, steps: list[str], system: UnitSystem
) -> float:
    """Correct a resistance reading, telling each step."""
    value = reading
    now = held.wood_temperature
    if held.compensated:
        steps.append("The meter corrects for temperature itself: nothing added.")
    elif now is None:
        steps.append(
            f"Wood temperature not given: taken as "
            f"{format_temperature(held.calibrated_at, system)}, where the meter is "
            f"right. Cold wood reads low, 0.5 % for every "
            f"{'10 °F' if system == 'us' else '5.6 °C'}."
        )
    elif held.rule == "full":
        value = fully_corrected(reading, now, held.slope, held.offset)
        steps.append(
            f"Wood at {format_temperature(now, system)}: the fuller published equation "
            f"(temperature and species together) gives {value:.1f} %."
        )
    else:
        value = temperature_corrected(reading, now, held.calibrated_at)
        steps.append(
            f"Wood at {format_temperature(now, system)}, meter made for "
            f"{format_temperature(held.calibrated_at, system)}: "
            f"{_added(value - reading)}, 0.5 % MC for every "
            f"{'10 °F' if system == 'us' else '5.6 °C'}."
        )
    if held.rule != "full" and (held.slope, held.offset) != (1.0, 0.0):
        value = (value - held.offset) / held.slope
        steps.append(f"Species coefficients of the meter give {value:.1f} %.")
    if now is not None and now < 0.0 and value > 15.0:
        steps.append(
            "The wood is frozen: above about 15 % readings scatter. Warm a piece "
            "indoors overnight in a bag and read again."
        )
    _depth_step(held, steps, system)
    return value


def _pinless_steps(
    reading: float, held: MeterSetting, species: Species | None, steps: list[str]
) -> float:
    """Correct a dielectric reading, telling each step."""
    value = reading
    true = held.wood_gravity
    if true is None and species is not None:
        true = species.gravity_12 or species.basic_gravity
    if held.set_gravity is None or true is None:
        steps.append(
            "A pinless meter needs the specific gravity of the wood: check the "
            "setting, as denser wood than set reads high."
        )
    else:
        value = gravity_corrected(reading, held.set_gravity, true)
        steps.append(
            f"Set to specific gravity {held.set_gravity:.2f}, the wood is {true:.2f}: "
            f"{_added(value - reading)} (about in proportion, an assumption)."
        )
    if held.wood_temperature is not None and not 5.0 <= held.wood_temperature <= 35.0:
        steps.append(
            "Wood this cold or hot shifts pinless readings in a way that differs by "
            "meter: use its own table, or read again at room temperature."
        )
    steps.append(
        "It reads the outer part of the board most; a wet core in thick stock is "
        "missed."
    )
    return value


def _depth_step(held: MeterSetting, steps: list[str], system: UnitSystem) -> None:
    """Say which part of the board the pins saw."""
    if not held.insulated:
        steps.append(
            "Pins without insulation read the wettest wood they touch: after rain or "
            "dew that is the surface."
        )
    if held.pin_depth_mm is None or held.thickness_mm is None:
        return
    share = held.pin_depth_mm / held.thickness_mm
    share = min(share, 1.0 - share)
    part = next(words for limit, words in _PART_BY_DEPTH if share <= limit)
    mean_at = format_length(held.thickness_mm / 5.0, system)
    steps.append(
        f"Pins {format_length(held.pin_depth_mm, system)} deep in "
        f"{format_length(held.thickness_mm, system)}: {part}. A fifth to a quarter of "
        f"the thickness ({mean_at} or a little more) reads about the mean."
    )


def _no_number(
    reading: float, word: str, limit: float, held: MeterSetting, steps: list[str]
) -> Reading:
    low, high = RELIABLE[held.kind]
    side = "above" if word == "wet" else "below"
    verdict = f"{word}, {side} {limit:g}, no number"
    advice = "weigh a sample board" if word == "wet" else "dry a piece in an oven"
    return Reading(
        reading,
        None,
        None,
        None,
        (
            *steps,
            f"A {held.kind} meter counts from {low:g} to {high:g} %: {verdict}. To "
            f"know, {advice}.",
        ),
        False,
        verdict,
        word == "wet",
    )


def _added(change: float) -> str:
    if abs(change) < 0.05:
        return "nothing to correct"
    return f"{'add' if change > 0 else 'take off'} {abs(change):.1f}"


def _one_of(what: str, given: str, allowed: tuple[str, ...]) -> None:
    if given not in allowed:
        raise InputError(f"{what} {given!r} is not known: say {' or '.join(allowed)}.")


def _within(
    what: str, value: float | None, low: float, high: float, unit: str = ""
) -> None:
    if value is not None and not low <= value <= high:
        raise InputError(
            f"{what} {value:g}{unit} is outside {low:g} to {high:g}{unit}. Check the "
            f"number and its unit."
        )
