"""Moisture by weighing: the oven-dry test and the sample board."""

from dataclasses import dataclass
from enum import Enum

from emcforecast import bounds
from emcforecast.errors import InputError
from emcforecast.language import _


def oven_dry_moisture(wet: float, dry: float) -> float:
    """Return moisture content from a weight and the oven-dry weight of the piece.

    Parameters
    ----------
    wet, dry : float
        Weight now, and after 101 to 105 °C until it no longer falls (of a sample
        board, from `oven_dry_weight`); any unit, the same for both.

    Returns
    -------
    float
        Moisture content, % of ovendry mass.

    Raises
    ------
    InputError
        When a weight is not above zero or the dry piece is the heavier.

    Notes
    -----
    MC = 100 (wet - dry) / dry. Cut the piece at least 20 in (0.5 m) from the ends.

    References
    ----------
    Wood Handbook, FPL-GTR-190, ch. 13; ASTM D4442 (from memory).

    Examples
    --------
    >>> oven_dry_moisture(136.0, 100.0), round(oven_dry_moisture(4.14, 2.75), 1)
    (36.0, 50.5)
    """
    _positive("wet weight", wet)
    _positive("dry weight", dry)
    moisture = 100.0 * (wet - dry) / dry
    if moisture < -1e-9:
        raise InputError(
            _(
                "dry weight {dry:g} is above wet weight {wet:g}. Give the "
                "wet one first, both in the same unit.",
                dry=dry,
                wet=wet,
            )
        )
    return max(moisture, 0.0)


def oven_dry_weight(weight: float, moisture: float) -> float:
    """Return what a sample board would weigh oven dry.

    Parameters
    ----------
    weight : float
        Its weight when the moisture was known, any unit.
    moisture : float
        Moisture content then: the mean of a section cut from each end, %.

    Returns
    -------
    float
        Oven-dry weight, in the same unit.

    Raises
    ------
    InputError
        When a number is out of range.

    Notes
    -----
    OD = 100 W0 / (MC0 + 100).

    References
    ----------
    Dry Kiln Operator's Manual, USDA AH-188, ch. 6 (from memory).

    Examples
    --------
    >>> round(oven_dry_weight(4.46, 62.2), 2)
    2.75
    """
    _positive("weight", weight)
    _moisture(moisture)
    return 100.0 * weight / (moisture + 100.0)


def weight_at_moisture(dry_weight: float, moisture: float) -> float:
    """Return what a sample board weighs when it reaches a moisture content.

    Parameters
    ----------
    dry_weight : float
        Its oven-dry weight, any unit.
    moisture : float
        Moisture content, % of ovendry mass.

    Returns
    -------
    float
        Weight to wait for, in the same unit.

    Examples
    --------
    >>> weight_at_moisture(2.75, 20.0)
    3.3
    """
    _positive("dry weight", dry_weight)
    _moisture(moisture)
    return dry_weight * (100.0 + moisture) / 100.0


def wet_basis(moisture: float) -> float:
    """Return water as % of the whole weight, from % of ovendry mass.

    Examples
    --------
    >>> wet_basis(100.0)
    50.0
    """
    _moisture(moisture)
    return 100.0 * moisture / (100.0 + moisture)


def _positive(what: str, value: float) -> None:
    if not 0.0 < value < 1e9:
        raise InputError(
            _(
                "{what} {value:g} is not above zero. Weigh the piece again.",
                what=what,
                value=value,
            )
        )


def _moisture(value: float) -> None:
    if not bounds.within(value, bounds.MOISTURE):
        raise InputError(
            _(
                "moisture content {value:g} % is outside {allowed} % of "
                "oven-dry mass. Check the number.",
                value=value,
                allowed=bounds.spoken(bounds.MOISTURE),
            )
        )


EVEN_WITHIN = 2.0
"""Shell and core this near (% MC) count as even; common practice, no source."""

AGREE_WITHIN = 2.0
"""Two corrected readings this near (% MC) agree: 1 % for each meter, roughly."""


class PairState(Enum):
    """What a shell and a core reading say together."""

    REWETTED = "the shell is wetter than the core"
    ABOVE_TARGET = "the core is above the target"
    UNEVEN = "the core is wetter than the shell"
    TOO_DRY = "below the target"
    READY = "even, and within the target"


@dataclass(frozen=True)
class PairVerdict:
    """A shell and a core reading judged together.

    Parameters
    ----------
    shell, core : float
        % of ovendry mass.
    target : (float, float) or None
        Lowest and highest moisture content wanted, %.
    """

    state: PairState
    shell: float
    core: float
    target: tuple[float, float] | None = None

    @property
    def ready(self) -> bool:
        """Whether both lie within the target, or are even when none was given."""
        return self.state is PairState.READY

    @property
    def mean(self) -> float:
        """The likely mean of the board, % of ovendry mass."""
        return mean_of_pair(self.shell, self.core)


def mean_of_pair(shell: float, core: float) -> float:
    """Return the mean of a board from its shell and core, %.

    Notes
    -----
    A board that dries as usual is wettest in the middle and falls off as a
    parabola; its mean lies two thirds of the way from shell to core.

    Examples
    --------
    >>> mean_of_pair(10.0, 16.0)
    14.0
    """
    return shell + 2.0 / 3.0 * (core - shell)


def judge_pair(
    shell: float, core: float, target: tuple[float, float] | None = None
) -> PairVerdict:
    """Judge a shell and a core reading of one board.

    Parameters
    ----------
    shell, core : float
        Corrected moisture contents near the face and at mid-thickness, %.
    target : (float, float), optional
        Lowest and highest moisture content wanted, %.

    Raises
    ------
    InputError
        When a number is not a moisture content.

    Examples
    --------
    >>> judge_pair(10.0, 16.0).state.name
    'UNEVEN'
    >>> judge_pair(8.0, 9.0, (7.0, 9.0)).ready
    True
    """
    for name, mc in (("shell", shell), ("core", core)):
        if not bounds.within(mc, bounds.METER_READING):
            raise InputError(
                _(
                    "{name} {mc:g} is outside {allowed} % MC. Give the corrected "
                    "reading.",
                    name=name,
                    mc=mc,
                    allowed=bounds.spoken(bounds.METER_READING),
                )
            )
    if shell - core > EVEN_WITHIN:
        state = PairState.REWETTED
    elif target is not None and core > target[1]:
        state = PairState.ABOVE_TARGET
    elif core - shell > EVEN_WITHIN:
        state = PairState.UNEVEN
    elif target is not None and min(shell, core) < target[0] - 1.0:
        state = PairState.TOO_DRY
    else:
        state = PairState.READY
    return PairVerdict(state, shell, core, target)


def meters_agree(first: float, second: float) -> bool:
    """Tell whether two corrected readings (%) differ by no more than good meters do.

    Examples
    --------
    >>> meters_agree(11.0, 12.0)
    True
    """
    return abs(first - second) <= AGREE_WITHIN
