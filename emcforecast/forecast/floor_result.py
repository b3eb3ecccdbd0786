"""What `floor` answers with."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from operator import attrgetter
from typing import Any

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.dates import MONTHS
from emcforecast.ensemble.percentiles import YearRange
from emcforecast.forecast.tabular import Tabular, Variable, of_wood, spoken_range
from emcforecast.storage.drivers import Fallback
from emcforecast.wood.board import Board

PERCENTILES = {"p10": "one in ten", "p50": "middle", "p90": "nine in ten"}


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
        EMC of the mean temperature and mean humidity, as published tables give it.
    mean : float
        Mean running moisture content of the board.
    lowest : YearRange
        The least running moisture content within the month, over the years.
    place : Span
        The same of a middle year, if the place differs from what is stated.
    """

    month: int
    air_temperature: float
    relative_humidity: float
    emc: float
    published_basis_emc: float
    mean: float
    lowest: YearRange
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
        The middle, if the place differs from what is stated.
    least, most : float or None
        The lowest and highest year, % of oven-dry mass; None from a single year.
    """

    month: int
    p10: float | None
    p50: float
    p90: float | None
    place: Span
    least: float | None = None
    most: float | None = None


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


@dataclass(frozen=True, repr=False)
class Floor(Tabular):
    """The answer of `floor`: every setting for one board in one climate.

    Parameters
    ----------
    board : Board
        Species and thickness.
    settings : dict of str to SettingFloor
        Under "outdoor", "shed" and "indoor"; where several of one are compared, under
        their kinds (`emcforecast.forecast.floor.chosen_settings`).
    years : tuple of int
        The weather years used.
    origin : dict of str to str
        Source, licence and attribution of the weather, where it says them.
    """

    board: Board
    settings: dict[str, SettingFloor]
    years: tuple[int, ...]
    origin: dict[str, str] = field(default_factory=dict)

    def _coordinates(self) -> dict[str, Any]:
        return {
            "place": list(self.settings),
            "month": ("month", np.arange(1, 13), {"long_name": "month of the year"}),
        }

    def _attributes(self) -> dict[str, Any]:
        return {
            **self.origin,
            "species": str(self.board.species),
            "thickness_mm": self.board.thickness_mm,
            "kinds": ", ".join(place.kind for place in self.settings.values()),
            "weather_years": ", ".join(str(year) for year in self.years),
        }

    def _variables(self) -> dict[str, Variable]:
        places = list(self.settings.values())

        def monthly(name: str, attrs: dict[str, str]) -> Variable:
            get = attrgetter(name)
            table = [[get(month) for month in place.months] for place in places]
            return ("place", "month"), np.array(table, dtype=np.float64), attrs

        def yearly(name: str, attrs: dict[str, str]) -> Variable:
            get = attrgetter(name)
            values = [get(place.lowest) for place in places]
            return "place", np.array(values, dtype=np.float64), attrs

        mean = {"cell_methods": "time: mean"}
        found = {
            "air_temperature": monthly(
                "air_temperature",
                {"standard_name": "air_temperature", "units": "degC",
                 "long_name": "temperature of the air at the wood"} | mean,
            ),
            "relative_humidity": monthly(
                "relative_humidity",
                {"standard_name": "relative_humidity", "units": "%",
                 "long_name": "humidity of the air at the wood"} | mean,
            ),
            "emc": monthly("emc", of_wood("mean equilibrium moisture content") | mean),
            "board_mean": monthly("mean", of_wood("board, mean") | mean),
        }  # fmt: skip
        least = {"cell_methods": "time: minimum"}
        for name, words in PERCENTILES.items():
            title = f"lowest of the board, {words} over the years"
            attrs = of_wood(title) | least
            found[f"lowest_{name}"] = monthly(f"lowest.{name}", attrs)
            found[f"year_lowest_{name}"] = yearly(name, attrs)
        for end in ("low", "high"):
            attrs = of_wood(f"lowest of the board, {end} end if the place differs")
            found[f"lowest_place_{end}"] = monthly(f"place.{end}", attrs | least)
        found["year_lowest_month"] = yearly(
            "month", {"units": "1", "long_name": "month of the year's lowest"}
        )
        return found

    def _summary(self) -> tuple[str, Sequence[tuple[str, str]]]:
        years = f"{len(self.years)} weather year{'s' * (len(self.years) != 1)}"
        wood = f"{self.board.thickness_mm:g} mm {self.board.species}"
        rows = [
            (
                f"{name} ({place.kind})",
                f"lowest {spoken_range(least.p10, least.p50, least.p90)}, "
                f"{MONTHS[least.month - 1]}",
            )
            for name, place in self.settings.items()
            for least in [place.lowest]
        ]
        return f"{wood}, {years}", rows
