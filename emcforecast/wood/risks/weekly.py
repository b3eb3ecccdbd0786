"""Every risk of a board, week by week, from the air at the wood and its moisture."""

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import InputError
from emcforecast.thickness import Thickness
from emcforecast.wood.risks.checking import checking_by_week
from emcforecast.wood.risks.decay import decay_by_week
from emcforecast.wood.risks.insects import insects_by_week
from emcforecast.wood.risks.mould import mould_by_week
from emcforecast.wood.risks.rewetting import rain_by_week, regain_by_week
from emcforecast.wood.risks.stain import stain_by_week
from emcforecast.wood.risks.week import RiskWeek
from emcforecast.wood.species import Species


def weekly_risks(
    time: TimeArray,
    temperature: FloatArray,
    humidity: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
    *,
    species: Species,
    thickness: float | str | Thickness,
    core: FloatArray | None = None,
    precipitation: FloatArray | None = None,
) -> tuple[RiskWeek, ...]:
    """Judge every risk of one board.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
        Even steps of at most a day, hourly for the best answer.
    temperature, humidity : array, shape (n,)
        Of the air at the wood, °C and %.
    mean, shell : array, shape (n,)
        Moisture content of the board and its outer layer, % of ovendry mass.
    core : array, shape (n,), optional
        Moisture content in the middle, %.
    precipitation : array, shape (n,), optional
        Rain that reaches the wood, mm per step; None under a roof.

    Returns
    -------
    tuple of RiskWeek
        By risk, each in order of time.

    Raises
    ------
    InputError
        When the arrays differ in length or a value is missing.
    """
    given = {
        "temperature": temperature,
        "humidity": humidity,
        "mean": mean,
        "shell": shell,
        "core": core,
        "precipitation": precipitation,
    }
    for name, values in given.items():
        if values is None:
            continue
        if np.shape(values) != time.shape:
            raise InputError(
                f"{name} has {np.size(values)} values for {time.size} times. Give one "
                f"for each."
            )
        if name != "precipitation" and not np.isfinite(values).all():
            raise InputError(
                f"{name} has missing values. Fill the gaps or cut the series first."
            )
    return (
        *checking_by_week(
            time,
            mean,
            species,
            thickness,
            temperature=temperature,
            humidity=humidity,
        ),
        *stain_by_week(time, temperature, humidity, mean, shell),
        *mould_by_week(time, temperature, humidity, mean, shell, species, thickness),
        *decay_by_week(time, temperature, mean, shell, core),
        *insects_by_week(time, temperature, mean, shell, species),
        *rain_by_week(time, precipitation, mean, shell, species),
        *regain_by_week(time, mean),
    )
