"""How a wood shrinks in each direction: coefficients and total shrinkage."""

from dataclasses import dataclass
from typing import Literal

from emcforecast.errors import InputError
from emcforecast.wood.species import Species

Grain = Literal["flat", "quarter", "rift"]
GRAINS: tuple[Grain, ...] = ("flat", "quarter", "rift")
Side = Literal["width", "thickness"]

_SIZE_AT = 10.0
"""The published coefficient is a change of the size at this moisture content, %."""


@dataclass(frozen=True)
class Shrinkage:
    """What one direction of one wood does, and where the numbers come from.

    Parameters
    ----------
    coefficient : float
        Change of size per % MC between 6 and 14 % MC.
    total : float
        Shrinkage from green to ovendry, % of the green size.
    starts : float
        Moisture content below which it shrinks, %.
    source : str
        Which of the numbers are published and which follow from the other.
    """

    coefficient: float
    total: float
    starts: float
    source: str


def coefficient_from_shrinkage(total: float, starts: float = 30.0) -> float:
    """Return the change of size per % MC, from the shrinkage green to ovendry.

    Parameters
    ----------
    total : float
        Shrinkage from green to ovendry, % of the green size.
    starts : float
        Moisture content below which the wood shrinks, %.

    Returns
    -------
    float
        Change per % MC, relative to the size at 10 % MC.

    Notes
    -----
    C = 1 / (fs 100/S - fs + 10): a straight line from fs to zero, told on the size
    at 10 % MC.

    References
    ----------
    Wood Handbook, FPL-GTR-190, Table 13-5, footnote.

    Examples
    --------
    >>> round(coefficient_from_shrinkage(7.8), 5)  # white ash, tangential
    0.00274
    """
    return 1.0 / (starts * 100.0 / total - starts + _SIZE_AT)


def shrinkage_from_coefficient(coefficient: float, starts: float = 30.0) -> float:
    """Return the shrinkage green to ovendry, %, that a coefficient stands for.

    Examples
    --------
    >>> round(shrinkage_from_coefficient(coefficient_from_shrinkage(7.8)), 6)
    7.8
    """
    return 100.0 * starts / (1.0 / coefficient - _SIZE_AT + starts)


def shrinkage_of(species: Species, grain: Grain, side: Side = "width") -> Shrinkage:
    """Return how one side of a board of a species shrinks.

    Parameters
    ----------
    species : Species
        The wood.
    grain : {"flat", "quarter", "rift"}
        How the board was sawn.
    side : {"width", "thickness"}
        A flatsawn board's width and a quartersawn board's thickness are
        tangential; the others radial.

    Returns
    -------
    Shrinkage

    Raises
    ------
    InputError
        When the grain is unknown or the wood's shrinkage is not published.

    Notes
    -----
    Rift stands halfway, as for rings at 45°: an engineering assumption. Where only
    the shrinkage or only the coefficient is published the other follows from it.
    """
    if grain not in GRAINS:
        raise InputError(
            f"grain {grain!r} is not known: say flat, quarter or rift (flatsawn, "
            f"quartersawn or rings at about 45°)."
        )
    if grain == "rift":
        radial = _direction(species, "radial")
        tangential = _direction(species, "tangential")
        return Shrinkage(
            (radial.coefficient + tangential.coefficient) / 2.0,
            (radial.total + tangential.total) / 2.0,
            radial.starts,
            f"halfway between radial and tangential; {tangential.source}",
        )
    across = (grain == "flat") == (side == "width")
    return _direction(species, "tangential" if across else "radial")


def _direction(species: Species, direction: str) -> Shrinkage:
    coefficient: float | None = getattr(species, f"coefficient_{direction}")
    total: float | None = getattr(species, f"shrink_{direction}")
    starts = species.shrinkage_starts
    from_total = species.sources.get(f"shrink_{direction}", "")
    from_coefficient = species.sources.get(f"coefficient_{direction}", "")
    if total is not None and coefficient is not None:
        return Shrinkage(coefficient, total, starts, from_coefficient)
    if total is not None:
        derived = coefficient_from_shrinkage(total, starts)
        return Shrinkage(derived, total, starts, from_total)
    if coefficient is not None:
        derived = shrinkage_from_coefficient(coefficient, starts)
        return Shrinkage(coefficient, derived, starts, from_coefficient)
    raise InputError(
        f"no {direction} shrinkage is published for {species.spoken}. Choose a near "
        f"species, or give shrink_{direction} (%) in the yard file."
    )
