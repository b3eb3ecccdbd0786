"""What nobody knows exactly about a stack, drawn evenly over its likely range."""

from dataclasses import dataclass, fields
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray, IntArray

GREEN_SPREAD = 0.12
"""Standard deviation of the green moisture over its mean: a quarter either way."""
SORPTION_SPREAD = 0.03
"""Standard deviation of EMC over its mean: hysteresis and species (assumed)."""
STATED_SPREAD = 1.0
"""Standard deviation of a moisture content that a person states, % MC."""
POWER_SPREAD = 0.2
"""Standard deviation of the power by which thick stock conducts better
(`emcforecast.physics.section.THICKNESS_POWER`)."""
WIDEST = 2.3
"""No lever lies farther from its middle than so many standard deviations."""
FULL_BELOW, NONE_ABOVE = 0.20, 0.30
"""Contents (kg/kg) between which the sorption lever fades out: no EMC lies there."""


@dataclass(frozen=True)
class Members:
    """Draws of the levers; one row a member, all equally likely.

    Parameters
    ----------
    factor : ndarray, shape (members,)
        Standard scores of the logarithm of the wood's drying factor.
    sorption : ndarray, shape (members,)
        Multiplies the moisture content at rest.
    start : ndarray, shape (members,)
        Standard scores of the moisture content at the start.
    air : ndarray of int, shape (members,)
        Which draw of the storage levers (and of the air through the stack).
    power : ndarray, shape (members,)
        Standard scores of the power by which thick stock conducts better.
    """

    factor: FloatArray
    sorption: FloatArray
    start: FloatArray
    air: IntArray
    power: FloatArray

    @property
    def count(self) -> int:
        """How many members."""
        return self.factor.size

    def take(self, index: IntArray) -> "Members":
        """Return the members of these numbers; a number may come again."""
        return Members(*(getattr(self, field.name)[index] for field in fields(self)))


def draw(count: int, airs: int, seed: int = 0) -> Members:
    """Draw members by Latin hypercube.

    Parameters
    ----------
    count : int
        How many; 1 gives the middle of everything.
    airs : int
        Draws of the storage levers there are to choose from, spread evenly.
    seed : int
        The same seed gives the same members.

    Returns
    -------
    Members
        Every lever normal, cut at `WIDEST`.

    Examples
    --------
    >>> members = draw(16, airs=8)
    >>> bool(abs(members.factor.mean()) < 1e-12), np.bincount(members.air).tolist()
    (True, [2, 2, 2, 2, 2, 2, 2, 2])
    """
    if count == 1:
        one = np.zeros(1)
        return Members(one, np.ones(1), one, np.zeros(1, np.int64), one)
    rng = np.random.default_rng(seed)
    scores = _scores(count)
    factor, sorption, start = (rng.permutation(scores) for _ in range(3))
    air = rng.permutation(np.arange(count) % airs)
    power = rng.permutation(scores)
    return Members(factor, 1.0 + SORPTION_SPREAD * sorption, start, air, power)


def cold_sorption_shares(count: int, seed: int = 0) -> FloatArray:
    """Share of the cold's extra moisture content in every draw of the air, 0..1.

    Parameters
    ----------
    count : int
        Draws; the first is the printed relation.
    seed : int
        The same seed gives the same shares, whatever the place: it is the wood's.

    Returns
    -------
    ndarray, shape (count,)
        See `emcforecast.physics.sorption.cold_humidity`; even between 0 and 1.

    Examples
    --------
    >>> shares = cold_sorption_shares(5)
    >>> float(shares[0]), sorted(shares[1:].tolist())
    (0.0, [0.125, 0.375, 0.625, 0.875])
    """
    rest = max(count - 1, 0)
    drawn = np.random.default_rng([seed, 5]).permutation(rest) + 0.5
    return np.concatenate([np.zeros(count - rest), drawn / max(rest, 1)])


@cache
def _scores(count: int) -> FloatArray:
    """Middles of equally likely slices of the normal distribution."""
    normal = NormalDist()
    found = np.array([normal.inv_cdf((k + 0.5) / count) for k in range(count)])
    result: FloatArray = np.clip(found, -WIDEST, WIDEST)
    return result


def as_wood(content: ArrayLike, sorption: ArrayLike) -> FloatArray:
    """Moisture content of this wood where the standard isotherm would have another.

    Parameters
    ----------
    content : array_like
        By the standard isotherm, kg/kg.
    sorption : array_like
        The wood's sorption over the standard's, broadcast.

    Returns
    -------
    ndarray
        In proportion up to 0.20 kg/kg, the same from 0.30 on, linear between.

    Examples
    --------
    >>> as_wood([0.1, 0.5], 1.05).round(6).tolist()
    [0.105, 0.5]
    """
    u, c = np.asarray(content, np.float64), np.asarray(sorption, np.float64)
    span = NONE_ABOVE - FULL_BELOW
    between = c * FULL_BELOW + (u - FULL_BELOW) * (NONE_ABOVE - c * FULL_BELOW) / span
    result: FloatArray = np.where(
        u <= FULL_BELOW, c * u, np.where(u < NONE_ABOVE, between, u)
    )
    return result


def as_standard(content: ArrayLike, sorption: ArrayLike) -> FloatArray:
    """Undo `as_wood`.

    Parameters
    ----------
    content : array_like
        Of this wood, kg/kg.
    sorption : array_like
        The wood's sorption over the standard's, broadcast.

    Returns
    -------
    ndarray
        By the standard isotherm.

    Examples
    --------
    >>> as_standard(as_wood(0.25, 1.05), 1.05).round(12).item()
    0.25
    """
    u, c = np.asarray(content, np.float64), np.asarray(sorption, np.float64)
    span = NONE_ABOVE - FULL_BELOW
    edge = c * FULL_BELOW
    between = FULL_BELOW + (u - edge) * span / (NONE_ABOVE - edge)
    result: FloatArray = np.where(
        u <= edge, u / c, np.where(u < NONE_ABOVE, between, u)
    )
    return result
