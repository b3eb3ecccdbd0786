"""Decay: how long a board has been wet and warm."""

import numpy as np

from emcforecast._types import FloatArray, TimeArray
from emcforecast.wood.risks.stain import warmth_for_fungi
from emcforecast.wood.risks.week import (
    Cause,
    Level,
    Measured,
    RiskWeek,
    level_of,
    step_hours,
    weeks,
)

DECAY_NEEDS_MC = 25.0
"""Decay wants free water: about 25 to 30 %; it stops at 20 % (% MC)."""

STOPS_AT_MC = 20.0
"""A dry outside keeps decay out, % MC."""

DECAY_LIMITS = (45.0, 120.0, 240.0)
"""Days of best conditions so far: decay takes months, not weeks. An assumption."""


def decay_by_week(
    time: TimeArray,
    temperature: FloatArray,
    mean: FloatArray,
    shell: FloatArray,
    core: FloatArray | None = None,
) -> tuple[RiskWeek, ...]:
    """Judge decay of a board week by week, by its wet and warm time so far.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
    temperature : array, shape (n,)
        Of the air at the wood, °C.
    mean, shell : array, shape (n,)
        Moisture content of the board and its outer layer, %.
    core : array, shape (n,), optional
        Moisture content in the middle, %; the mean when not given.

    Returns
    -------
    tuple of RiskWeek
        ``measure`` is the days of best growing conditions since the start.
    """
    inner = mean if core is None else core
    hours = step_hours(time)
    wet = (inner > DECAY_NEEDS_MC) & (shell > STOPS_AT_MC)
    grown = np.cumsum(np.where(wet, warmth_for_fungi(temperature), 0.0)) * hours / 24.0
    found = []
    for day, part in weeks(time):
        days, inside, outside = (
            float(grown[part][-1]),
            float(np.mean(inner[part])),
            float(np.mean(shell[part])),
        )
        level: Level = "low"
        if inside <= DECAY_NEEDS_MC:
            cause = Cause.TOO_DRY
        elif outside <= STOPS_AT_MC:
            cause = Cause.DRY_SHELL
        else:
            level, cause = level_of(days, DECAY_LIMITS), Cause.GROWTH
        measured = Measured(core_mc=inside, shell_mc=outside)
        found.append(RiskWeek(day, "decay", level, cause, days, measured))
    return tuple(found)
