"""What a reading stands for: corrected, with each step and its spread."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from emcforecast import bounds
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.wood.meter import MeterSetting, interpret
from emcforecast.wood.meter import Reading as MeterReading
from emcforecast.wood.sample_board import oven_dry_moisture, oven_dry_weight
from emcforecast.wood.species import Species, find_species
from emcforecast.yard.doubt import Doubt, DoubtKind
from emcforecast.yard.model import Meter, Stack, Yard
from emcforecast.yard.reading import Reading

WET_ABOVE = 30.0
"""Above this a meter tells "wet" and no number, % MC."""

_THICK_FOR_PINLESS_MM = 40.0


@dataclass(frozen=True)
class Weighed:
    """A sample board on the scale, kg, and what it weighs oven dry."""

    board: str
    now_kg: float
    dry_kg: float
    mc: float | None = None


@dataclass(frozen=True)
class OvenTest:
    """An oven test, % of oven-dry mass: nothing to correct."""

    mc: float


@dataclass(frozen=True)
class OverScale:
    """A meter over its scale."""

    kind: str


@dataclass(frozen=True)
class OtherWood:
    """A pin meter set to a wood of another group: no correction is published."""

    set_to: Species
    wood: Species


Step = Weighed | OvenTest | OverScale | OtherWood | MeterReading


@dataclass(frozen=True)
class Corrected:
    """A reading and what it stands for.

    Parameters
    ----------
    reading : Reading
    mc : float or None
        Moisture content, % of oven-dry mass; None where there is no number.
    wet : bool
        It tells only "above 30 %".
    sd : float
        One standard deviation of `mc`, %.
    steps : tuple of Step
        What was done.
    doubts : tuple of Doubt
        Why it is not used; empty when it is.
    """

    reading: Reading
    mc: float | None
    wet: bool
    sd: float
    steps: tuple[Step, ...]
    doubts: tuple[Doubt, ...] = ()

    @property
    def used(self) -> bool:
        """Whether the forecast takes it in."""
        return not self.doubts

    @property
    def shown(self) -> str:
        """What it stands for, in a few words."""
        if self.mc is not None:
            return _("{mc:.1f} %", mc=self.mc)
        return _("wet, above 30, no number") if self.wet else _("no number")

    def doubted(self, *why: Doubt) -> "Corrected":
        """Return the same reading with reasons not to use it."""
        return replace(self, doubts=(*self.doubts, *why))


def correct(
    reading: Reading, stack: Stack, dry_kg: float | None, meter: Meter
) -> Corrected:
    """Say what a reading stands for.

    Parameters
    ----------
    reading : Reading
    stack : Stack
        The stack it was taken on.
    dry_kg : float or None
        Oven-dry weight of the sample board, kg, where known.
    meter : Meter
        How the yard's meter was made.

    Returns
    -------
    Corrected
        With a doubt, when the number cannot be one.
    """
    if reading.kind == "weight":
        return _weighed(reading, stack, dry_kg)
    if reading.kind == "oven":
        return _tested(reading, stack)
    return _metered(reading, stack, meter)


def dry_weights(
    yard: Yard, readings: Iterable[Reading]
) -> dict[tuple[str, str], float]:
    """Return the oven-dry weight of every sample board, kg.

    Parameters
    ----------
    yard : Yard
        Its `samples` come first.
    readings : iterable of Reading
        A board weighed on the day of its oven test serves as well.

    Returns
    -------
    dict
        By (stack, board), stack names in lower case.
    """
    found: dict[tuple[str, str], float] = {}
    rows = list(readings)
    tests = {
        (r.stack.casefold(), r.board, r.day): r.value for r in rows if r.kind == "oven"
    }
    for row in rows:
        key = (row.stack.casefold(), row.board, row.day)
        if (
            row.kind == "weight"
            and row.board
            and bounds.within(tests.get(key, -1.0), bounds.MOISTURE)
        ):
            found.setdefault(key[:2], oven_dry_weight(row.value, tests[key]))
    for stack in yard.stacks:
        for sample in stack.samples:
            found[stack.name.casefold(), sample.board] = sample.dry_kg
    return found


def _weighed(reading: Reading, stack: Stack, dry_kg: float | None) -> Corrected:
    if dry_kg is None:
        known = tuple(sample.board for sample in stack.samples)
        return Corrected(reading, None, False, math.inf, ()).doubted(
            Doubt(DoubtKind.NO_OVEN_DRY_WEIGHT, known=known)
        )
    board = reading.board or "without a mark"
    weighed = Weighed(board, reading.value, dry_kg)
    if reading.value < dry_kg:
        return Corrected(reading, None, False, math.inf, (weighed,)).doubted(
            Doubt(DoubtKind.BELOW_OVEN_DRY_WEIGHT, dry_kg=dry_kg)
        )
    mc = oven_dry_moisture(reading.value, dry_kg)
    weighed = replace(weighed, mc=mc)
    return _plausible(
        Corrected(reading, mc, False, _sd_by_weight(mc), (weighed,)), stack
    )


def _tested(reading: Reading, stack: Stack) -> Corrected:
    steps = (OvenTest(reading.value),)
    if not 0.0 < reading.value < math.inf:
        return Corrected(reading, None, False, math.inf, steps).doubted(
            Doubt(DoubtKind.NO_OVEN_TEST_NUMBER)
        )
    mc = reading.value
    return _plausible(Corrected(reading, mc, False, _sd_by_weight(mc), steps), stack)


def _plausible(found: Corrected, stack: Stack) -> Corrected:
    most = stack.species.most_moisture
    if found.mc is not None and found.mc > most + 10.0:
        return found.doubted(
            Doubt(DoubtKind.MORE_THAN_WOOD_HOLDS, mc=found.mc, limit=most)
        )
    return found


def _metered(reading: Reading, stack: Stack, meter: Meter) -> Corrected:
    if math.isinf(reading.value):
        over = OverScale(reading.kind)
        return Corrected(reading, None, True, math.inf, (over,))
    try:
        told = interpret(
            reading.value, _held(reading, stack, meter), species=stack.species
        )
    except InputError as error:
        return Corrected(reading, None, False, math.inf, ()).doubted(
            Doubt(DoubtKind.CANNOT_BE_CORRECTED, refusal=str(error).rstrip("."))
        )
    if told.corrected is None:
        found = Corrected(reading, None, told.wet, math.inf, (told,))
        if told.wet and reading.value <= 100.0:
            return found
        return found.doubted(Doubt(DoubtKind.OUTSIDE_METER))
    sd = 1.0 if told.corrected < 20.0 else 2.0
    steps: tuple[Step, ...] = (told,)
    strange = _set_to_another_wood(reading, stack)
    if strange is not None:
        sd, steps = sd * 1.5, (*steps, strange)
    if reading.kind == "pinless" and stack.thickness.actual_mm > _THICK_FOR_PINLESS_MM:
        sd *= 1.5
    return Corrected(reading, told.corrected, False, sd, steps)


def _held(reading: Reading, stack: Stack, meter: Meter) -> MeterSetting:
    """Return how the meter was set and held, for the correction."""
    numbers = _numbers(reading.species_setting)
    gravity = numbers.get("") or _gravity_of(reading.species_setting)
    pinless = reading.kind == "pinless"
    return MeterSetting(
        kind="pinless" if pinless else "pin",
        wood_temperature=reading.wood_temperature,
        calibrated_at=meter.calibrated_at,
        compensated=meter.compensated,
        slope=numbers.get("a", 1.0),
        offset=numbers.get("b", 0.0),
        set_gravity=gravity if pinless else None,
        pin_depth_mm=reading.depth_mm,
        thickness_mm=stack.thickness.actual_mm,
        insulated=meter.insulated or reading.depth_mm is not None,
    )


def _numbers(setting: str) -> Mapping[str, float]:
    """Return the numbers of "a=1.05 b=-0.3" or of a bare "0.60"."""
    pairs = re.findall(r"([ab])\s*=\s*(-?\d+(?:\.\d+)?)", setting.lower())
    if pairs:
        return {name: float(number) for name, number in pairs}
    bare = re.fullmatch(r"(?:sg\s*)?(\d*\.\d+|\d+)", setting.lower().strip())
    return {"": float(bare[1])} if bare else {}


def _gravity_of(setting: str) -> float | None:
    """Return the specific gravity of a wood a pinless meter was set to."""
    if not setting:
        return None
    try:
        species = find_species(setting)
    except InputError:
        return None
    return species.gravity_12 or species.basic_gravity


def _set_to_another_wood(reading: Reading, stack: Stack) -> OtherWood | None:
    setting = reading.species_setting
    if reading.kind != "pin" or not setting or _numbers(setting):
        return None
    try:
        species = find_species(setting)
    except InputError:
        return None
    if species.group == stack.species.group:
        return None
    return OtherWood(species, stack.species)


def _sd_by_weight(mc: float) -> float:
    """One board stands for the stack: 1 % MC, or 4 % of the moisture."""
    return max(1.0, 0.04 * mc)
