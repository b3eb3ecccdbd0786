"""What a moisture reading means: the published corrections, one by one."""

import math
from dataclasses import dataclass
from enum import Enum
from typing import Literal

from emcforecast import bounds
from emcforecast.errors import InputError
from emcforecast.language import _
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

PINLESS_TEMPERATURES = (5.0, 35.0)
"""°C of the wood outside which a dielectric reading shifts; common practice."""

FROZEN_ABOVE = 15.0
"""% MC above which readings of frozen wood scatter."""

CALIBRATED_AT = 21.1
"""Wood temperature most resistance meters are made for: 70 °F, in °C."""

MC_PER_STEP, STEP_C = 0.5, 5.6
"""A resistance reading shifts by 0.5 % MC for every 5.6 °C (10 °F)."""


class Step(Enum):
    """What was done to a reading, or must be known about it."""

    SHOWN = "what the meter showed"
    COMPENSATED = "the meter corrects for temperature itself"
    TEMPERATURE_UNKNOWN = "wood temperature not given"
    FULL_EQUATION = "corrected for temperature and species by one equation"
    TEMPERATURE = "corrected for temperature by the handbook's rule"
    SPECIES = "corrected by the meter's species coefficients"
    FROZEN = "frozen wood scatters"
    UNINSULATED = "bare pins read the wettest wood they touch"
    PIN_DEPTH = "part of the board the pins saw"
    GRAVITY_UNKNOWN = "specific gravity not known"
    GRAVITY = "corrected for specific gravity"
    UNUSUAL_TEMPERATURE = "wood too cold or hot for a pinless meter"
    OUTER_PART = "a pinless meter reads the outer part most"
    DRY_FACE = "read on a rough face or an end"
    PLANED_FACE = "read on a planed face"
    RESULT = "what it stands for"
    NO_NUMBER = "outside what the meter can tell"


@dataclass(frozen=True)
class Correction:
    """One step from what a meter showed to what it stands for.

    Parameters
    ----------
    before, after : float
        Moisture content before and after the step, %; equal where it only says
        something.
    """

    step: Step
    before: float
    after: float


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


@dataclass(frozen=True)
class Reading:
    """A reading and what it stands for.

    Parameters
    ----------
    reading : float
        What the meter showed, % MC.
    corrected : float or None
        The moisture content it stands for, % of ovendry mass; None where a meter
        gives no number.
    low, high : float or None
        About two times in three the truth lies between these, %.
    spread : float or None
        One standard deviation, %.
    corrections : tuple of Correction
        In order.
    setting : MeterSetting
        How the meter was set and held.
    gravity : float or None
        Specific gravity of the wood, where a pinless meter needs it.
    wet : bool
        Above what the meter can tell; without a number and not wet it is below.
    """

    reading: float
    corrected: float | None
    low: float | None
    high: float | None
    spread: float | None
    corrections: tuple[Correction, ...]
    setting: MeterSetting
    gravity: float | None = None
    wet: bool = False

    @property
    def valid(self) -> bool:
        """Whether the number counts."""
        return self.corrected is not None


def interpret(
    reading: float,
    setting: MeterSetting | None = None,
    *,
    species: Species | None = None,
) -> Reading:
    """Correct a meter's reading step by step.

    Parameters
    ----------
    reading : float
        What the meter showed, % MC.
    setting : MeterSetting, optional
        How the meter was set and held; a pin meter by default.
    species : Species, optional
        The wood; gives a pinless meter its true specific gravity.

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
    >>> round(interpret(12.0, cold).corrected, 1)
    14.0
    >>> interpret(42.0).corrected is None
    True
    """
    held = MeterSetting() if setting is None else setting
    if not bounds.within(reading, bounds.METER_READING):
        raise InputError(
            _(
                "reading {reading:g} is outside {allowed} % MC. Give the "
                "number the meter showed.",
                reading=reading,
                allowed=bounds.spoken(bounds.METER_READING),
            )
        )
    low, high = RELIABLE[held.kind]
    gravity = held.wood_gravity
    if gravity is None and species is not None:
        gravity = species.gravity_12 or species.basic_gravity
    steps = [Correction(Step.SHOWN, reading, reading)]
    if reading <= high:
        steps += (
            _pin_corrections(reading, held)
            if held.kind == "pin"
            else _pinless_corrections(reading, held, gravity)
        )
    value = steps[-1].after
    if not low <= value <= high:
        steps.append(Correction(Step.NO_NUMBER, value, value))
        none = (None, None, None, None)
        return Reading(reading, *none, tuple(steps), held, gravity, value > high)
    spread = 1.0 if value < 20.0 else 2.0
    highest = value + spread
    if held.face in ("rough", "end"):
        highest = value + ROUGH_READS_LOW_BY[1]
        steps.append(Correction(Step.DRY_FACE, value, value))
    elif held.face == "planed":
        steps.append(Correction(Step.PLANED_FACE, value, value))
    steps.append(Correction(Step.RESULT, value, value))
    ends = (value - spread, highest, spread)
    return Reading(reading, value, *ends, tuple(steps), held, gravity)


def _pin_corrections(reading: float, held: MeterSetting) -> list[Correction]:
    """Correct a resistance reading."""
    value, now = reading, held.wood_temperature
    if held.compensated:
        step = Step.COMPENSATED
    elif now is None:
        step = Step.TEMPERATURE_UNKNOWN
    elif held.rule == "full":
        step = Step.FULL_EQUATION
        value = fully_corrected(reading, now, held.slope, held.offset)
    else:
        step = Step.TEMPERATURE
        value = temperature_corrected(reading, now, held.calibrated_at)
    found = [Correction(step, reading, value)]
    if held.rule != "full" and (held.slope, held.offset) != (1.0, 0.0):
        own = (value - held.offset) / held.slope
        found.append(Correction(Step.SPECIES, value, own))
        value = own
    notes = []
    if now is not None and now < 0.0 and value > FROZEN_ABOVE:
        notes.append(Step.FROZEN)
    if not held.insulated:
        notes.append(Step.UNINSULATED)
    if held.pin_depth_mm is not None and held.thickness_mm is not None:
        notes.append(Step.PIN_DEPTH)
    return [*found, *(Correction(note, value, value) for note in notes)]


def _pinless_corrections(
    reading: float, held: MeterSetting, gravity: float | None
) -> list[Correction]:
    """Correct a dielectric reading."""
    value, step = reading, Step.GRAVITY_UNKNOWN
    if held.set_gravity is not None and gravity is not None:
        step = Step.GRAVITY
        value = gravity_corrected(reading, held.set_gravity, gravity)
    found = [Correction(step, reading, value)]
    coldest, hottest = PINLESS_TEMPERATURES
    now = held.wood_temperature
    if now is not None and not coldest <= now <= hottest:
        found.append(Correction(Step.UNUSUAL_TEMPERATURE, value, value))
    return [*found, Correction(Step.OUTER_PART, value, value)]


def temperature_corrected(
    reading: float, wood_temperature: float, calibrated_at: float = CALIBRATED_AT
) -> float:
    """Correct a resistance reading by the handbook's rule.

    Parameters
    ----------
    reading : float
        What the meter showed, % MC.
    wood_temperature, calibrated_at : float
        Of the wood now, and that the meter is made for, °C.

    Returns
    -------
    float
        Moisture content, %.

    Notes
    -----
    0.5 % MC for every 5.6 °C: added when the wood is colder, taken off when warmer.

    References
    ----------
    Wood Handbook, FPL-GTR-190, ch. 13 (electrical methods).

    Examples
    --------
    >>> round(temperature_corrected(12.0, -1.1, 21.1), 1)
    14.0
    """
    return reading + MC_PER_STEP * (calibrated_at - wood_temperature) / STEP_C


def fully_corrected(
    reading: float, wood_temperature: float, slope: float = 1.0, offset: float = 0.0
) -> float:
    """Correct a resistance reading for temperature and species in one equation.

    Parameters
    ----------
    reading : float
        On the Douglas-fir scale, % MC.
    wood_temperature : float
        Of the wood, °C.
    slope, offset : float
        The species coefficients a and b; 1 and 0 for the reference scale.

    Returns
    -------
    float
        Moisture content, %.

    Notes
    -----
    MC = [(R + 0.567 - 0.0260 x + 0.000051 x²) / (0.881 · 1.0056^x) - b] / a. It is
    about zero near 23 °C and, unlike the rule, grows with the reading.

    References
    ----------
    Pfaff and Garrahan (1986), Forest Products Journal 36(3):28-30; the constants
    are from memory and agree with the handbook's rule near its middle.

    Examples
    --------
    >>> round(fully_corrected(12.0, 0.0), 2)
    14.26
    """
    scaled = (
        reading + 0.567 - 0.0260 * wood_temperature + 0.000051 * wood_temperature**2
    )
    return (scaled / (0.881 * math.pow(1.0056, wood_temperature)) - offset) / slope


def gravity_corrected(reading: float, set_gravity: float, wood_gravity: float) -> float:
    """Correct a dielectric reading for a wood other than the meter was set to.

    Notes
    -----
    Denser wood reads higher at the same moisture, about in proportion: the reading
    times set over true specific gravity, both on the same basis. An engineering
    assumption, good to about 1 % MC for gravities within a fifth of each other.

    Examples
    --------
    >>> gravity_corrected(12.0, 0.50, 0.60)
    10.0
    """
    return reading * set_gravity / wood_gravity


def _one_of(what: str, given: str, allowed: tuple[str, ...]) -> None:
    if given not in allowed:
        raise InputError(
            _(
                "{what} {given!r} is not known: say {allowed}.",
                what=what,
                given=given,
                allowed=" or ".join(allowed),
            )
        )


def _within(
    what: str, value: float | None, low: float, high: float, unit: str = ""
) -> None:
    if value is not None and not low <= value <= high:
        raise InputError(
            _(
                "{what} {value:g}{unit} is outside {low:g} to "
                "{high:g}{unit}. Check the number and its unit.",
                what=what,
                value=value,
                unit=unit,
                low=low,
                high=high,
            )
        )
