"""Why a reading is not used, as values; `emcforecast.report.yard_readings` says it."""

from dataclasses import dataclass
from datetime import date
from enum import Enum


class DoubtKind(Enum):
    """What is wrong with a reading."""

    UNKNOWN_STACK = "no such stack"
    AHEAD_OF_TODAY = "its day is ahead of today"
    BEFORE_SAWN = "its day is before the wood was sawn"
    REPEATED_ROW = "the same row twice"
    CANNOT_BE_CORRECTED = "refused by the correction"
    WOOD_TEMPERATURE = "a temperature that wood in a yard does not have"
    OUTSIDE_METER = "outside what the meter can tell"
    NO_OVEN_TEST_NUMBER = "no number of an oven test"
    NO_OVEN_DRY_WEIGHT = "the sample board has no oven-dry weight"
    BELOW_OVEN_DRY_WEIGHT = "below the oven-dry weight"
    MORE_THAN_WOOD_HOLDS = "more water than the wood can hold"
    SAME_SPOT_DIFFERS = "another reading of the spot and day differs"
    CHANGED_TOO_FAST = "changed faster than the wood can"
    CONTRADICTED = "the weather and the other readings contradict it"


@dataclass(frozen=True)
class Doubt:
    """A reason not to use a reading.

    Parameters
    ----------
    kind : DoubtKind
    mc, limit : float or None
        Moisture of the other reading, and what is possible at most or least, % MC.
    low, high : float or None
        What there is room for, % MC.
    others : tuple of float
        Readings of the same spot and day, % MC.
    day : date or None
        Today, the day of sawing, or of the reading before.
    line : int or None
        Of the log.
    dry_kg : float or None
        Oven-dry weight of the board, kg.
    known : tuple of str
        Sample boards that have one.
    refusal : str
        What the yard or the correction refused it with.
    """

    kind: DoubtKind
    mc: float | None = None
    limit: float | None = None
    low: float | None = None
    high: float | None = None
    others: tuple[float, ...] = ()
    day: date | None = None
    line: int | None = None
    dry_kg: float | None = None
    known: tuple[str, ...] = ()
    refusal: str = ""
