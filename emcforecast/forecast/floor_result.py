"""What `floor` answers with."""

from dataclasses import dataclass

from emcforecast._types import FloatArray
from emcforecast.ensemble.percentiles import Range
from emcforecast.storage.drivers import Fallback
from emcforecast.wood.board import Board


@dataclass(frozen=True)
class Span:
    """A range that comes from the place itself, not from the weather years.

    Parameters
    ----------
    low, high : float
        Tenth and ninetieth percentile over the likely ranges of the place's
        parameters, % of oven-dry mass.
    """

    low: float
    high: float


@dataclass(frozen=True)
class Month:
    """One month of a setting; temperatures °C, RH %, moisture % of oven-dry mass.

    Parameters
    ----------
    month : int
        1 to 12.
    air_temperature, relative_humidity : float
        Mean air at the wood.
    emc : float
        Mean of the hourly equilibrium moisture content.
    published_basis_emc : float
        EMC of the mean temperature and mean humidity, as published tables reckon.
    mean : float
        Mean running moisture content of the board.
    lowest : Range
        The least running moisture content within the month, over the years.
    place : Span
        The same of a middle year, were the place not quite as stated.
    """

    month: int
    air_temperature: float
    relative_humidity: float
    emc: float
    published_basis_emc: float
    mean: float
    lowest: Range
    place: Span


@dataclass(frozen=True)
class Lowest:
    """The least running moisture content of a whole year, over the years.

    Parameters
    ----------
    month : int
        The month it usually falls in.
    p10, p50, p90 : float
        As in `Range`, % of oven-dry mass.
    place : Span
        The middle, were the place not quite as stated.
    """

    month: int
    p10: float | None
    p50: float
    p90: float | None
    place: Span


@dataclass(frozen=True)
class SettingFloor:
    """What one setting can do.

    Parameters
    ----------
    name, kind : str
        The setting and its storage kind.
    months : tuple of Month
        January to December.
    lowest : Lowest
        The least of the year.
    day_range : ndarray, shape (3, 365)
        Running moisture content by day of the year: p10, p50 and p90 over the
        years, % of oven-dry mass (equal rows from a single year).
    fallbacks : tuple of Fallback
        What the weather lacked and what stood in for it.
    rained_on : bool
        Whether rain was counted.
    """

    name: str
    kind: str
    months: tuple[Month, ...]
    lowest: Lowest
    day_range: FloatArray
    fallbacks: tuple[Fallback, ...] = ()
    rained_on: bool = False


@dataclass(frozen=True)
class Floor:
    """The answer of `floor`: every setting for one board in one climate.

    Parameters
    ----------
    board : Board
        Species and thickness.
    settings : dict of str to SettingFloor
        Under "outdoor", "shed" and "indoor".
    years : tuple of int
        The weather years used.
    """

    board: Board
    settings: dict[str, SettingFloor]
    years: tuple[int, ...]
