"""A reading as evidence: what it should be in every run, and how likely it is."""

from dataclasses import dataclass
from math import erf, hypot, sqrt
from typing import Literal

import numpy as np

from emcforecast import bounds
from emcforecast._types import FloatArray
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.physics.diffusion import SHELL_MM

Part = Literal["mean", "shell", "core"]

DRY_SD, MOIST_SD = 1.0, 2.0
"""Standard deviation of a corrected reading below 20 % and up to 30 %, % MC."""
MODEL_SD = 1.0
"""No one board speaks for its stack more nearly than this, % MC (assumed)."""
MOIST_FROM, WET_FROM = 20.0, 30.0
"""Above the second a meter only says "wet"."""
LEAST_LOG = -50.0


@dataclass(frozen=True)
class Reading:
    """A corrected reading.

    Parameters
    ----------
    day : datetime64[D]
        When.
    mc : float or None
        % of oven-dry mass, corrected; None is "wet, above 30", and a number above 30
        counts as that.
    part : {"mean", "shell", "core"} or float
        What it reads: the whole board, its outer 2 mm, its inner third, or a depth
        from the face as a share of the thickness (0 to 0.5).
    sd : float, optional
        Standard deviation, % MC; 1 below 20 % and 2 above when left out.
    """

    day: np.datetime64
    mc: float | None
    part: Part | float = "mean"
    sd: float | None = None

    def __post_init__(self) -> None:
        """Refuse what is not a reading."""
        if self.mc is not None and not bounds.within(self.mc, bounds.MOISTURE):
            raise InputError(
                _(
                    "a reading of {mc:g} % cannot be: {allowed} % of oven-dry mass",
                    mc=self.mc,
                    allowed=bounds.spoken(bounds.MOISTURE),
                )
            )
        if isinstance(self.part, float | int) and not 0.0 <= self.part <= 0.5:
            raise InputError(
                _(
                    "a depth of {part:g} thicknesses cannot be: from 0 (the "
                    "face) to 0.5 (the middle)",
                    part=self.part,
                )
            )

    @property
    def wet(self) -> bool:
        """Whether it only says "wet, above 30"."""
        return self.mc is None or (self.mc > WET_FROM and self.sd is None)

    @property
    def spread(self) -> float:
        """Standard deviation, % MC."""
        if self.sd is not None:
            return self.sd
        dry = self.mc is not None and self.mc < MOIST_FROM
        return DRY_SD if dry else MOIST_SD


def expected(runs: Trajectories, reading: Reading) -> FloatArray:
    """Return what a reading should be in every run.

    Parameters
    ----------
    runs : Trajectories
        At least as long as to the reading's day.
    reading : Reading
        When and what part.

    Returns
    -------
    ndarray, shape (runs,)
        % of oven-dry mass.

    Raises
    ------
    InputError
        When the reading was taken before the stack was made, or after the runs end.

    Notes
    -----
    At a depth, the content is taken off the parabola that has the shell's and the
    core's means: rough while a steep front moves in, at readings above 30 %.
    """
    day = int((reading.day - runs.begun).astype(np.int64))
    if not 0 <= day <= runs.days:
        raise InputError(
            _(
                "a reading of {day} is outside {first} to {last}, the days "
                "that are followed; check its date",
                day=reading.day,
                first=runs.begun,
                last=runs.dates[-1],
            )
        )
    if reading.part == "mean":
        return np.asarray(runs.mean[day])
    if reading.part == "shell":
        return np.asarray(runs.shell[day])
    if reading.part == "core":
        return np.asarray(runs.core[day])
    shell, core = runs.shell[day], runs.core[day]
    half = runs.ensemble.boards.thickness / 2.0
    outer = np.minimum(SHELL_MM / 1000.0 / half, 1.0 / 3.0)
    # Means of x² over the shell and over the inner third, x from centre to surface.
    x2_shell = 1.0 - outer + outer**2 / 3.0
    x2_core = 1.0 / 27.0
    bend = (core - shell) / (x2_shell - x2_core)
    x = 1.0 - 2.0 * float(reading.part)
    return np.asarray(core + bend * (x2_core - x * x))


def log_likelihood(there: FloatArray, reading: Reading) -> FloatArray:
    """Return the log of how likely a reading is, given what it should be.

    Parameters
    ----------
    there : ndarray
        From `expected`, % MC.
    reading : Reading
        What was read.

    Returns
    -------
    ndarray
        Normal, up to a constant, the spread of boards within a stack added; for
        "wet" the probability of lying above 30 %.

    Examples
    --------
    >>> reading = Reading(np.datetime64("2025-06-01"), 15.0)
    >>> log_likelihood(np.array([15.0, 16.0]), reading).round(3).tolist()
    [-0.0, -0.25]
    """
    if reading.wet or reading.mc is None:
        z = (there - WET_FROM) / (MOIST_SD * sqrt(2.0))
        above = 0.5 * (1.0 + np.array([erf(value) for value in z]))
        return np.maximum(np.log(np.maximum(above, 1e-30)), LEAST_LOG)
    spread = hypot(reading.spread, MODEL_SD)
    return -0.5 * np.square((reading.mc - there) / spread)
