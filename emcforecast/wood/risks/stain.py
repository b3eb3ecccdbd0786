"""Stain in wet sapwood and mould on the surface, week by week in words."""

from datetime import date

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.physics.diffusion import SHELL_MM
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.units import format_temperature
from emcforecast.wood.risks.mould import mould_index
from emcforecast.wood.risks.week import RiskWeek, level_of, step_hours, weeks
from emcforecast.wood.species import Species

STAIN_NEEDS_MC = 22.0
"""Below about 20 to 25 % no stain fungus grows, % MC."""

COLDEST, BEST, HOTTEST = 4.0, 24.0, 38.0
"""Temperatures between which stain and decay live, and do best, °C."""

DRY_AIR, HUMID_AIR = 45.0, 80.0
"""Relative humidity where stain gets no hold, and where the air no longer slows it,
%: an assumption."""

STAIN_LIMITS = (1.0, 2.5, 5.0)
"""Days of best conditions in a week: warm, humid weather shows stain in 5 or 6
(Wood Handbook, FPL-GTR-190, ch. 14)."""

MOULD_LIMITS = (1.0, 3.0, 5.0)
"""Index: 1 begins under the microscope, 3 is seen by eye, 5 covers over half."""

GROWS_ABOVE, HARDLY = 80.0, 0.05
"""% RH below which no mould grows at any warmth (Hukka and Viitanen 1999), and a change
of the index in a week that is none (an assumption)."""


def warmth_for_fungi(temperature: FloatArray) -> FloatArray:
    """Return how fast fungi live, 0 to 1, from 4 to 24 °C; none above 38 °C.

    Parameters
    ----------
    temperature : array
        °C.

    Notes
    -----
    A straight line between the published limits: an engineering assumption.

    Examples
    --------
    >>> import numpy as np
    >>> warmth_for_fungi(np.array([0.0, 14.0, 24.0, 40.0])).tolist()
    [0.0, 0.5, 1.0, 0.0]
    """
    rising = np.clip((temperature - COLDEST) / (BEST - COLDEST), 0.0, 1.0)
    return np.where(temperature > HOTTEST, 0.0, rising)


def stain_by_week(
    time: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
) -> tuple[RiskWeek, ...]:
    """Judge sapwood stain week by week.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature, humidity : array, shape (n,)
        Of the air at the wood, °C and %.
    mean, shell : array, shape (n,)
        Moisture content of the board and of its outer layer, %.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the days of best growing conditions in the week, 0 to 7.

    Notes
    -----
    Hours count by their warmth and humidity while both the board and its outer layer
    are above 22 %: stain enters through a wet surface.
    """
    hours = step_hours(time)
    wet = (mean > STAIN_NEEDS_MC) & (shell > STAIN_NEEDS_MC)
    humid = np.clip((humidity - DRY_AIR) / (HUMID_AIR - DRY_AIR), 0.0, 1.0)
    growing = np.where(wet, warmth_for_fungi(temperature) * humid, 0.0) * hours / 24.0
    return tuple(
        _stain_week(
            day,
            float(np.sum(growing[part])),
            float(np.mean(mean[part])),
            float(np.mean(shell[part])),
            float(np.mean(temperature[part])),
            float(np.mean(humidity[part])),
        )
        for day, part in weeks(time)
    )


def _stain_week(
    day: date,
    days: float,
    mean: float,
    shell: float,
    temperature: float,
    humidity: float,
) -> RiskWeek:
    level = level_of(days, STAIN_LIMITS)
    air = f"{_both(temperature)} and {humidity:.0f} % RH"
    if mean <= STAIN_NEEDS_MC:
        why = f"at {mean:.0f} % the wood is too dry for stain"
    elif shell <= STAIN_NEEDS_MC:
        why = f"the outside is down to {shell:.0f} %, too dry for stain to enter"
    elif level == "low":
        why = f"wet, but the air is too cold or dry for stain: {air}"
    else:
        why = (
            f"outside at {shell:.0f} %, air at {air}: as much growth in a week as in "
            f"{days:.1f} days of the weather stain likes best, and it shows from about "
            f"{STAIN_LIMITS[2]:.0f}; sapwood only"
        )
    return RiskWeek(day, "stain", level, why, _STAIN_ADVICE[level], days)


def _both(temperature: float) -> str:
    """Return a temperature in both units, for words read everywhere."""
    return (
        f"{format_temperature(temperature)} ({format_temperature(temperature, 'us')})"
    )


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
        Pines count as very sensitive, other woods as sensitive.
    thickness : float or str or Thickness
        Of the board.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the highest index of the week, 0 to 6. A week in which no mould
        grows is low, whatever has grown before.

    Notes
    -----
    The index is fitted on pine and spruce; for other woods it is a guide.
    """
    hours = step_hours(time)
    face = surface_content(mean, shell, parse_thickness(thickness).actual_mm)
    surface = surface_humidity(temperature, humidity, face)
    repeat = max(1, round(hours))
    index = mould_index(
        np.repeat(temperature, repeat),
        np.repeat(surface, repeat),
        sensitivity="very sensitive" if species.group == "pine" else "sensitive",
        spruce=species.group == "spruce",
    )[repeat - 1 :: repeat]
    return tuple(
        _mould_week(
            day,
            float(index[part.start - 1]) if part.start else 0.0,
            float(np.max(index[part])),
            float(index[part][-1]),
            float(np.mean(surface[part])),
        )
        for day, part in weeks(time)
    )


def _mould_week(
    day: date, before: float, highest: float, last: float, humidity: float
) -> RiskWeek:
    change = last - before
    if change < -HARDLY or (change <= 0.0 and humidity < GROWS_ABOVE):
        why = f"none grows: the air at the surface is at {humidity:.0f} % RH on average"
        if highest >= MOULD_LIMITS[0]:
            why += "; what grew before may still show"
        return RiskWeek(day, "mould", "low", why, "", highest)
    level = level_of(highest, MOULD_LIMITS)
    stage = (
        "none yet"
        if highest < 1.0
        else "beginning, under the microscope"
        if highest < 3.0
        else "seen by eye from 3"
    )
    trend = "and falling" if last < highest - HARDLY else "and holding or rising"
    tail = f" {trend}" if highest >= 1.0 else ""
    why = (
        f"mould index up to {highest:.1f} of 6 ({stage}){tail}; the air at the surface "
        f"is at {humidity:.0f} % RH on average"
    )
    return RiskWeek(day, "mould", level, why, _MOULD_ADVICE[level], highest)


_STAIN_ADVICE = {
    "unknown": "",
    "low": "",
    "moderate": "sticker the day it is sawn and keep the sides open",
    "high": "sticker at once, open the stack to the wind, tarp the top only",
    "severe": "saw and sticker the same day, spread the stack, or saw when it is cold",
}
_MOULD_ADVICE = {
    "unknown": "",
    "low": "",
    "moderate": "open the sides and lift tarps off the ground",
    "high": "move air through the stack; wear a fitted respirator when brushing it off",
    "severe": "restack with thicker stickers in moving air; wear a fitted respirator",
}
