"""Surface checks: drying per day against the published safe rate, and dry air."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np

from emcforecast import tables
from emcforecast._types import FloatArray, TimeArray
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.units import MM_PER_INCH
from emcforecast.wood.risks.week import (
    LEVELS,
    Cause,
    Level,
    Measured,
    RiskWeek,
    SafeRate,
    level_of,
    step_hours,
    weeks,
)
from emcforecast.wood.species import Species, find_species

THICKNESS_POWER = -1.32
"""Safe rate by thickness: 8/4 dries 2.5 times slower than 4/4."""

NO_LONGER_BELOW = 20.0
"""Mean moisture content below which most drying risk is past, %."""

LIMITS = (0.6, 0.9, 1.0)
"""Shares of the safe rate where moderate and high begin (an assumption); severe is
above the published maximum itself."""

GREEN_ABOVE = 30.0
"""Moisture of the core, %, above which a board is green inside: its face shrinks
alone."""

CHECKS_EASILY, CHECKS_HARDLY = 5.0, 11.0
"""Published safe rates of 4/4 stock, % MC per day, below which a wood checks easily
(oaks, beech) and above which it hardly does (yellow-poplar, soft maple)."""

DRY_AIR, VERY_DRY_AIR = 10.0, 8.5
"""EMC of a week's air, %, at which green wood checks whatever its mean does (common
practice, no source): faces come to the air's moisture within a day or two, and means
of days and months leave out sun, gusts and the driest afternoons."""

_SOURCE = (
    "University of Kentucky FOR-128, Table 9: maximum safe drying rate (read; the "
    "column order of the copy read was uncertain)"
)


def scaled_rate(rate_4_4: float, thickness_mm: float) -> float:
    """Return the safe rate of a thickness from that of 4/4 stock, % MC per day.

    Parameters
    ----------
    rate_4_4 : float
        Of 4/4 stock, % MC per day.
    thickness_mm : float
        Nominal thickness, mm (25.4 for 4/4).

    Notes
    -----
    rate (t / 25.4)^-1.32.

    Examples
    --------
    >>> round(scaled_rate(3.8, 50.8), 1)
    1.5
    """
    return float(rate_4_4 * np.power(thickness_mm / MM_PER_INCH, THICKNESS_POWER))


def safe_rate(species: Species, thickness: float | str | Thickness) -> SafeRate:
    """Return the published safe drying rate of a board.

    Parameters
    ----------
    species : Species
        The wood.
    thickness : float or str or Thickness
        Nominal thickness counts where it is known, else the actual one.

    Notes
    -----
    A wood without its own rate takes that of its group, else that of its density
    (`rate_by_density`). For lowland red oak 1.0 to 3.8 is published and the middle is
    taken.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> safe_rate(find_species("white oak"), "4/4").rate
    2.5
    """
    size = parse_thickness(thickness)
    nominal = size.nominal_mm or size.actual_mm
    for row in tables.rows("safe_rates"):
        if species.name in row["species"].split("|"):
            scaled = scaled_rate(_rate_4_4(row), nominal)
            return SafeRate(scaled, row["name"], row["basis"], _SOURCE)
    by_density = scaled_rate(rate_by_density(species.basic_gravity), nominal)
    return SafeRate(by_density, species.spoken, "density", _SOURCE)


def rate_by_density(basic_gravity: float) -> float:
    """Return the safe rate of 4/4 stock that hardwoods of a density have, % MC a day.

    Parameters
    ----------
    basic_gravity : float
        Ovendry mass on green volume, relative to water.

    Notes
    -----
    A least-squares power of the basic gravity through the published woods, never
    beyond the slowest and the fastest of them. A wood left out of the fit is met
    within a factor of 1.6 (root mean square). Softwoods stand harder drying than
    hardwoods (USDA FPL report R1900-1, read), so for them it is a cautious figure.

    Examples
    --------
    >>> 5.0 < rate_by_density(0.5) < 8.0
    True
    """
    slope, level, slowest, fastest = _density_line()
    rate = np.exp(level + slope * np.log(basic_gravity))
    return float(np.clip(rate, slowest, fastest))


@cache
def _density_line() -> tuple[float, float, float, float]:
    """Slope and level of the logarithms, and the least and the greatest rate."""
    rows = [row for row in tables.rows("safe_rates") if row["basis"] == "published"]
    rate = np.array([_rate_4_4(row) for row in rows])
    gravity = [
        np.mean(
            [find_species(name).basic_gravity for name in row["species"].split("|")]
        )
        for row in rows
    ]
    slope, level = np.polyfit(np.log(gravity), np.log(rate), 1)
    return float(slope), float(level), float(rate.min()), float(rate.max())


def _rate_4_4(row: dict[str, str]) -> float:
    rate = float(row["rate_4_4"])
    return (rate + float(row["low_4_4"])) / 2.0 if row["low_4_4"] else rate


def greatest_daily_loss(time: TimeArray, mean: FloatArray) -> FloatArray:
    """Return the loss over the day that starts at each time, % MC.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    mean : array, shape (n,)
        Mean moisture content of the board, %.

    Returns
    -------
    array, shape (n,)
        Zero where the board gains or is below 20 %; NaN in the last day.
    """
    per_day = max(1, round(24.0 / step_hours(time)))
    loss = np.full(mean.shape, np.nan)
    loss[:-per_day] = mean[:-per_day] - mean[per_day:]
    loss = np.where(loss < 0.0, 0.0, loss)
    return np.where(mean < NO_LONGER_BELOW, 0.0 * loss, loss)


def checking_by_week(
    time: TimeArray,
    mean: FloatArray,
    species: Species,
    thickness: float | str | Thickness,
    *,
    temperature: FloatArray | None = None,
    humidity: FloatArray | None = None,
    core: FloatArray | None = None,
) -> tuple[RiskWeek, ...]:
    """Judge surface checking week by week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    mean : array, shape (n,)
        Mean moisture content of the board, %.
    temperature, humidity : array, shape (n,), optional
        Of the air at the wood, °C and %; without them dry air is not judged.
    core : array, shape (n,), optional
        Moisture content in the middle, %; the mean when not given.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the fastest day of the week, % MC per day.
    """
    safe = safe_rate(species, thickness)
    easily = safe_rate(species, "4/4").rate
    inner = mean if core is None else core
    loss = greatest_daily_loss(time, mean)
    size = parse_thickness(thickness)
    found = []
    week = weeks(time)
    air = np.full(len(week.days), np.inf)
    if temperature is not None and humidity is not None:
        air = equilibrium_moisture_content(week.mean(temperature), week.mean(humidity))
    most = [week.greatest(values).tolist() for values in (loss, mean, inner)]
    for day, emc, fastest, wettest, inside in zip(
        week.days, air.tolist(), *most, strict=True
    ):
        if np.isfinite(fastest):
            judged = _week(day, fastest, wettest, safe, species, size)
            found.append(_in_dry_air(judged, emc, inside, easily))
    return tuple(found)


def _in_dry_air(week: RiskWeek, air: float, inside: float, rate: float) -> RiskWeek:
    """Raise the level of green wood in air that dries its faces far ahead."""
    if rate >= CHECKS_HARDLY or inside < GREEN_ABOVE or air > DRY_AIR:
        return week
    rank = 2 if air > VERY_DRY_AIR else 3
    level = LEVELS[rank + (rate < CHECKS_EASILY)]
    if LEVELS.index(level) <= LEVELS.index(week.level):
        return week
    measured = replace(week.measured, air_emc_pct=air)
    return replace(week, level=level, cause=Cause.DRY_AIR, measured=measured)


def _week(
    day: date,
    fastest: float,
    wettest: float,
    safe: SafeRate,
    species: Species,
    size: Thickness,
) -> RiskWeek:
    measured = Measured(safe_rate=safe, species=species.spoken, thickness=size)
    level: Level = "low"
    cause = Cause.PAST_CHECKING
    if wettest >= NO_LONGER_BELOW:
        level, cause = level_of(fastest / safe.rate, LIMITS), Cause.DRYING_RATE
    return RiskWeek(day, "surface checks", level, cause, fastest, measured)
