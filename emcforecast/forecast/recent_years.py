"""Whether the last years of a record say something else than all of it."""

from collections.abc import Sequence
from dataclasses import dataclass

DIFFERS = 0.3
"""% MC by which recent years must differ from all to be told apart."""
LEAST = 4
"""Fewer recent years say nothing."""


@dataclass(frozen=True)
class RecentYears:
    """What the last years alone say of a plan.

    Parameters
    ----------
    years : tuple of int
        Which.
    chance : float
        Of being ready by the need date.
    change : float
        Moisture of dry wood in the last place on the need date over that of all
        years, middle years, % MC.
    """

    years: tuple[int, ...]
    chance: float
    change: float


def recent_of(years: Sequence[int]) -> tuple[int, ...]:
    """Return the last ten of many years, the last half of some, none of few.

    Examples
    --------
    >>> recent_of(range(2000, 2012)), recent_of(range(2000, 2007))
    ((2006, 2007, 2008, 2009, 2010, 2011), ())
    """
    count = 10 if len(years) >= 15 else len(years) // 2
    return tuple(sorted(years)[-count:]) if count >= LEAST else ()
