"""How much a board grows and shrinks across the grain with its moisture."""

from dataclasses import dataclass
from typing import Literal

from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.units import MM_PER_INCH
from emcforecast.wood.species import Species

Grain = Literal["flat", "quarter", "rift"]
GRAINS: tuple[Grain, ...] = ("flat", "quarter", "rift")
Side = Literal["width", "thickness"]

_SIZE_AT = 10.0
"""The published coefficient is a change of the size at this moisture content, %."""

COEFFICIENT_FROM, COEFFICIENT_TO = 6.0, 14.0
"""Between these moisture contents (%) the published coefficient holds."""

_DRIEST, _WETTEST = 0.0, 300.0


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
    """

    coefficient: float
    total: float
    starts: float


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
            _(
                "grain {grain!r} is not known: say flat, quarter or rift "
                "(flatsawn, quartersawn or rings at about 45°).",
                grain=grain,
            )
        )
    if grain == "rift":
        radial = _direction(species, "radial")
        tangential = _direction(species, "tangential")
        return Shrinkage(
            (radial.coefficient + tangential.coefficient) / 2.0,
            (radial.total + tangential.total) / 2.0,
            radial.starts,
        )
    across = (grain == "flat") == (side == "width")
    return _direction(species, "tangential" if across else "radial")


def _direction(species: Species, direction: str) -> Shrinkage:
    coefficient: float | None = getattr(species, f"coefficient_{direction}")
    total: float | None = getattr(species, f"shrink_{direction}")
    starts = species.shrinkage_starts
    if total is not None and coefficient is not None:
        return Shrinkage(coefficient, total, starts)
    if total is not None:
        derived = coefficient_from_shrinkage(total, starts)
        return Shrinkage(derived, total, starts)
    if coefficient is not None:
        derived = shrinkage_from_coefficient(coefficient, starts)
        return Shrinkage(coefficient, derived, starts)
    raise InputError(
        _(
            "no {direction} shrinkage is published for {wood}. Choose a "
            "near species, or give shrink_{direction} (%) in the yard "
            "file.",
            direction=direction,
            wood=species.spoken,
        )
    )


@dataclass(frozen=True)
class Movement:
    """The change of one size of a board.

    Parameters
    ----------
    size_mm : float
        The size at the starting moisture, mm.
    from_mc, to_mc : float
        Moisture content before and after, % of ovendry mass.
    change_mm : float
        How much it grows (positive) or shrinks (negative), mm.
    by_coefficient : bool
        Whether the coefficient formula was used, or the one on total shrinkage.
    shrinkage : Shrinkage
        The published numbers.
    """

    size_mm: float
    from_mc: float
    to_mc: float
    change_mm: float
    by_coefficient: bool
    shrinkage: Shrinkage

    @property
    def change_in(self) -> float:
        """The change in inches."""
        return self.change_mm / MM_PER_INCH

    @property
    def final_mm(self) -> float:
        """The size afterwards, mm."""
        return self.size_mm + self.change_mm


def change_by_coefficient(
    size: float, from_mc: float, to_mc: float, coefficient: float
) -> float:
    """Return the change of a size, in its own unit, by the coefficient formula.

    Notes
    -----
    ΔD = D C (M2 - M1), for moisture contents between 6 and 14 %.

    References
    ----------
    Wood Handbook, FPL-GTR-190, equation (13-2).

    Examples
    --------
    >>> round(change_by_coefficient(232.0, 8.0, 11.0, 0.00245), 1)
    1.7
    """
    return size * coefficient * (to_mc - from_mc)


def change_by_shrinkage(
    size: float, from_mc: float, to_mc: float, total: float, starts: float = 30.0
) -> float:
    """Return the change of a size, in its own unit, from the total shrinkage.

    Notes
    -----
    ΔD = D (M2 - M1) / (fs 100/S - fs + M1). Above fs wood neither shrinks nor
    swells, so moisture contents are taken as at most fs.

    References
    ----------
    Wood Handbook, FPL-GTR-190, ch. 13, dimensional change outside 6 to 14 % MC.

    Examples
    --------
    >>> round(change_by_shrinkage(100.0, 80.0, 0.0, 10.5), 6)  # all of S
    -10.5
    """
    start, end = min(from_mc, starts), min(to_mc, starts)
    return size * (end - start) / (starts * 100.0 / total - starts + start)


def movement(
    species: Species,
    size_mm: float,
    from_mc: float,
    to_mc: float,
    *,
    grain: Grain = "flat",
    side: Side = "width",
) -> Movement:
    """Predict how much a board changes across the grain.

    Parameters
    ----------
    species : Species
        The wood.
    size_mm : float
        Width or thickness at the starting moisture, mm.
    from_mc, to_mc : float
        Moisture content before and after, % of ovendry mass.
    grain : {"flat", "quarter", "rift"}
        How the board was sawn.
    side : {"width", "thickness"}
        Which size is meant.

    Raises
    ------
    InputError
        When a number is out of range or the shrinkage is not published.

    Notes
    -----
    Between 6 and 14 % MC the published coefficient is used, otherwise the formula
    on total shrinkage. Single boards vary by a quarter or more either way. Along
    the grain straight wood moves 0.1 to 0.2 % from green to ovendry, which is left
    out.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> board = movement(find_species("white oak"), 304.8, 14, 8)
    >>> round(board.change_in, 2)
    -0.26
    """
    _check(size_mm, from_mc, to_mc)
    wood = shrinkage_of(species, grain, side)
    low, high = min(from_mc, to_mc), max(from_mc, to_mc)
    by_coefficient = low >= COEFFICIENT_FROM and high <= COEFFICIENT_TO
    if by_coefficient:
        change = change_by_coefficient(size_mm, from_mc, to_mc, wood.coefficient)
    else:
        change = change_by_shrinkage(size_mm, from_mc, to_mc, wood.total, wood.starts)
    return Movement(size_mm, from_mc, to_mc, change, by_coefficient, wood)


def sawn_size(
    species: Species,
    wanted_mm: float,
    final_mc: float,
    *,
    grain: Grain = "flat",
    side: Side = "width",
    allowance_mm: float = 0.0,
) -> Movement:
    """Return the size to saw green so that a board ends at the wanted size.

    Parameters
    ----------
    species : Species
        The wood.
    wanted_mm : float
        Finished width or thickness at the final moisture, mm.
    final_mc : float
        Moisture content in use, % of ovendry mass.
    grain : {"flat", "quarter", "rift"}
        How the board is sawn.
    side : {"width", "thickness"}
        Which size is meant.
    allowance_mm : float
        Taken off by planing or edging when dry, mm.

    Returns
    -------
    Movement
        From green (size to saw, ``size_mm``) to the final moisture; its
        ``final_mm`` is the wanted size plus the allowance.

    Raises
    ------
    InputError
        When a number is out of range or the shrinkage is not published.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> round(sawn_size(find_species("white oak"), 100.0, 0.0).size_mm, 1)
    111.7
    """
    if not 0.0 <= allowance_mm <= 100.0:
        raise InputError(
            _(
                "allowance {allowance_mm:g} mm is outside 0 to 100 mm: give "
                "what the planer takes off.",
                allowance_mm=allowance_mm,
            )
        )
    wood = shrinkage_of(species, grain, side)
    _check(wanted_mm, wood.starts, final_mc)
    dry = wanted_mm + allowance_mm
    growth = change_by_shrinkage(dry, final_mc, wood.starts, wood.total, wood.starts)
    return Movement(dry + growth, wood.starts, final_mc, -growth, False, wood)


def _check(size_mm: float, from_mc: float, to_mc: float) -> None:
    if not 0.0 < size_mm <= 10_000.0:
        raise InputError(
            _(
                "size {size_mm:g} mm is outside 0 to 10,000 mm. Give the "
                "board's width with its unit, such as 12 in or 300 mm.",
                size_mm=size_mm,
            )
        )
    for mc in (from_mc, to_mc):
        if not _DRIEST <= mc <= _WETTEST:
            raise InputError(
                _(
                    "moisture content {mc:g} % is outside {driest:g} to "
                    "{wettest:g} % of ovendry mass. Give two numbers such as "
                    "--from 14 --to 8.",
                    mc=mc,
                    driest=_DRIEST,
                    wettest=_WETTEST,
                )
            )
