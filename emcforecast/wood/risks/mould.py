"""Mould: the published index on a wood surface, and its risk week by week."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.physics.diffusion import SHELL_MM
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.wood.risks.mould_index import mould_index, sustained_index
from emcforecast.wood.risks.week import (
    Cause,
    Measured,
    RiskWeek,
    level_of,
    step_hours,
    weeks,
)
from emcforecast.wood.species import Species

MOULD_LIMITS = (1.0, 3.0, 5.0)
"""Index: 1 begins under the microscope, 3 is seen by eye, 5 covers over half."""

GROWS_ABOVE, HARDLY = 80.0, 0.05
"""% RH below which no mould grows at any warmth (Hukka and Viitanen 1999), and a change
of the index in a week that is none (an assumption)."""


def surface_content(
    mean: FloatArray, shell: FloatArray, thickness_mm: float
) -> FloatArray:
    """Return the moisture content of the face itself, %.

    Parameters
    ----------
    mean, shell : array
        Moisture content of the board and of its outer 2 mm (of thin boards the outer
        sixth), %.
    thickness_mm : float
        mm.

    Returns
    -------
    array
        At least 0.

    Notes
    -----
    Of a parabola about the centre with that mean and that shell. Against the surface
    cell of the board model over 160 days of drying it is within 3 % MC after the first
    week; the outer 2 mm alone are up to 11 % MC damper than the face.

    Examples
    --------
    >>> float(surface_content(np.array(16.0), np.array(16.0), 27.0))
    16.0
    """
    s = min(2.0 * SHELL_MM / thickness_mm, 1.0 / 3.0)
    bend = (mean - shell) / (2.0 / 3.0 - s + s * s / 3.0)
    face: FloatArray = np.maximum(shell - bend * (s - s * s / 3.0), 0.0)
    return face


def surface_humidity(
    temperature: FloatArray, humidity: FloatArray, face: FloatArray
) -> FloatArray:
    """Return the relative humidity mould meets on a board, %.

    Parameters
    ----------
    temperature, humidity : array
        Of the air at the wood, °C and %.
    face : array
        Moisture content of the face, %.

    Returns
    -------
    array
        The higher of the air's and the one the face is at rest with: drying wood is
        damper than the air about it.
    """
    return np.maximum(humidity, np.asarray(equilibrium_humidity(temperature, face)))


def mould_by_week(
    time: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
    species: Species,
    thickness: float | str | Thickness,
) -> tuple[RiskWeek, ...]:
    """Judge mould week by week by the published index.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature, humidity : array, shape (n,)
        Of the air at the wood, °C and %.
    mean, shell : array, shape (n,)
        Moisture content of the board and of its outer layer, %.
    species : Species
        All count as very sensitive: untreated, rough-sawn, rich in nutrients.
    thickness : float or str or Thickness
        Of the board.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the highest index of the week, 0 to 6. The level goes no higher
        than the index that the week's own mean air sustains: a week in which no mould
        grows is low, whatever has grown before.

    Notes
    -----
    The index is fitted on pine and spruce; for other woods it is a guide. The published
    classes give untreated wood rich in nutrients to the very sensitive, planed wood and
    spruce to the sensitive; spruce keeps its own term here instead, so that it is not
    counted twice.
    """
    hours = step_hours(time)
    face = surface_content(mean, shell, parse_thickness(thickness).actual_mm)
    surface = surface_humidity(temperature, humidity, face)
    repeat = max(1, round(hours))
    index = mould_index(
        np.repeat(temperature, repeat),
        np.repeat(surface, repeat),
        spruce=species.group == "spruce",
    )[repeat - 1 :: repeat]
    week = weeks(time)
    last = week.last(index)
    columns = (
        np.append(0.0, last[:-1]),
        week.greatest(index),
        last,
        week.mean(surface),
        week.mean(temperature),
    )
    return tuple(
        _mould_week(day, *measured)
        for day, *measured in zip(
            week.days, *(values.tolist() for values in columns), strict=True
        )
    )


def _mould_week(
    day: date,
    before: float,
    highest: float,
    last: float,
    humidity: float,
    temperature: float,
) -> RiskWeek:
    change = last - before
    measured = Measured(surface_rh_pct=humidity, index_at_end=last)
    level = level_of(min(highest, sustained_index(temperature, humidity)), MOULD_LIMITS)
    past = level == "low" and highest >= MOULD_LIMITS[0]
    if past or change < -HARDLY or (change <= 0.0 and humidity < GROWS_ABOVE):
        return RiskWeek(day, "mould", "low", Cause.NO_GROWTH, highest, measured)
    return RiskWeek(day, "mould", level, Cause.GROWTH, highest, measured)
