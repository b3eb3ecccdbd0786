"""Forecasts held against what came: coverage, miss and skill, by what was forecast."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.storage.settings import Setting


def crps(ensemble: ArrayLike, truth: float) -> float:
    """Continuous ranked probability score of an ensemble.

    Parameters
    ----------
    ensemble : array_like, shape (members,)
        Equally likely values.
    truth : float
        What came.

    Returns
    -------
    float
        In the unit of the values; 0 is perfect, and for a single value it is the
        absolute error.

    Notes
    -----
    mean|X - y| - ½ mean|X - X'|, the score of the ensemble's step distribution.

    References
    ----------
    Gneiting and Raftery (2007), Journal of the American Statistical Association 102,
    359-378, equation 21 (from memory).

    Examples
    --------
    >>> crps([1.0, 3.0], 2.0), crps([5.0], 3.0)
    (0.5, 2.0)
    """
    x = np.sort(np.asarray(ensemble, dtype=np.float64))
    n = x.size
    rank = 2.0 * np.arange(1, n + 1) - n - 1.0
    return float(np.mean(np.abs(x - truth)) - np.sum(rank * x) / n**2)


def skill(score: float, reference: float) -> float:
    """Return 1 - score / reference: 1 is perfect, 0 no better than the reference."""
    return 1.0 - score / reference if reference > 0.0 else float("nan")


LEADS = (30, 60, 120, 240)
"""Days ahead at which the moisture is scored."""


@dataclass(frozen=True)
class Score:
    """How forecasts of one thing did.

    Parameters
    ----------
    what : str
        "30 days ahead", …, "days to 20 %".
    unit : str
        "% MC" or "days".
    cases : int
        How many forecasts.
    coverage : float
        Share of the truths between P10 and P90.
    error, bias : float
        Mean absolute error and mean error of the middle.
    crps : float
        Of the forecasts.
    reference : float
        CRPS of plain climatology for moisture; mean error of a year per inch for days.
    """

    what: str
    unit: str
    cases: int
    coverage: float
    error: float
    bias: float
    crps: float
    reference: float

    @property
    def skill(self) -> float:
        """1 - CRPS / reference."""
        return skill(self.crps, self.reference)


@dataclass(frozen=True)
class Hindcast:
    """The answer of `hindcast`.

    Parameters
    ----------
    moisture : tuple of Score
        By days ahead.
    dates : tuple of Score
        Days to 20 % and to the target.
    whole : Score
        All moistures together.
    by_setting, by_start : dict of str to Score
        All moistures of a setting, or of a start date.
    years : tuple of int
        The weather years.
    target : float
        % of oven-dry mass.
    """

    moisture: tuple[Score, ...]
    dates: tuple[Score, ...]
    whole: Score
    by_setting: dict[str, Score]
    by_start: dict[str, Score]
    years: tuple[int, ...]
    target: float


@dataclass(frozen=True)
class Case:
    """One forecast of one number."""

    what: str
    setting: str
    start: str
    truth: float
    covered: bool
    middle: float
    crps: float
    reference: float


def scored(
    cases: Sequence[Case],
    settings: Sequence[Setting],
    starts: Sequence[str],
    years: tuple[int, ...],
    target: float,
) -> Hindcast:
    """Put the forecasts together by days ahead, date, setting and start.

    Parameters
    ----------
    cases : sequence of Case
        Every forecast.
    settings : sequence of Setting
        Where the stacks lay.
    starts : sequence of str
        Stacking dates, "month-day".
    years : tuple of int
        The weather years.
    target : float
        % of oven-dry mass.

    Returns
    -------
    Hindcast

    Raises
    ------
    WeatherError
        When no moisture at all could be scored.
    """
    leads = [f"{lead} days ahead" for lead in LEADS]
    dates = [f"days to {mc:g} %" for mc in dict.fromkeys((20.0, target))]
    wet = [c for c in cases if c.what in leads]
    if not wet:
        raise WeatherError(
            _("no stack of this weather can be scored: its gaps reach into every year")
        )

    def moisture_of(what: str, some: Sequence[Case]) -> Score:
        return _score(what, "% MC", some)

    return Hindcast(
        tuple(
            moisture_of(lead, mine)
            for lead in leads
            if (mine := [c for c in wet if c.what == lead])
        ),
        tuple(
            _score(date, "days", mine)
            for date in dates
            if (mine := [c for c in cases if c.what == date])
        ),
        moisture_of("all moistures", wet),
        {
            s.name: moisture_of(s.about.title, [c for c in wet if c.setting == s.name])
            for s in settings
        },
        {
            start: moisture_of(start, mine)
            for start in starts
            if (mine := [c for c in wet if c.start == start])
        },
        years,
        target,
    )


def _score(what: str, unit: str, cases: Sequence[Case]) -> Score:
    wrong = np.array([c.middle - c.truth for c in cases])
    return Score(
        what,
        unit,
        len(cases),
        float(np.mean([c.covered for c in cases])),
        float(np.mean(np.abs(wrong))),
        float(np.mean(wrong)),
        float(np.mean([c.crps for c in cases])),
        float(np.mean([c.reference for c in cases])),
    )
