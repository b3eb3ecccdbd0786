"""Judge readings taken together: shell and core, or two meters."""

from dataclasses import dataclass
from enum import Enum

from emcforecast import bounds
from emcforecast.errors import InputError

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
                f"{name} {mc:g} is outside {bounds.spoken(bounds.METER_READING)} % MC. "
                "Give the corrected reading."
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
