"""How much a board grows and shrinks across the grain with its moisture."""

from dataclasses import dataclass

from emcforecast.errors import InputError
from emcforecast.units import MM_PER_INCH
from emcforecast.wood.shrinkage import Grain, Side, shrinkage_of
from emcforecast.wood.species import Species

COEFFICIENT_FROM, COEFFICIENT_TO = 6.0, 14.0
"""Between these moisture contents (%) the published coefficient holds."""

_DRIEST, _WETTEST = 0.0, 300.0


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
    how : str
        Which published formula was used, in words.
    """

    size_mm: float
    from_mc: float
    to_mc: float
    change_mm: float
    how: str

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

    Returns
    -------
    Movement

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
    if low >= COEFFICIENT_FROM and high <= COEFFICIENT_TO:
        change = change_by_coefficient(size_mm, from_mc, to_mc, wood.coefficient)
        how = f"published change of {wood.coefficient:.5f} of its size per % MC"
    else:
        change = change_by_shrinkage(size_mm, from_mc, to_mc, wood.total, wood.starts)
        how = (
            f"published shrinkage of {wood.total:.3g} % from green to ovendry, evenly "
            f"below {wood.starts:g} % MC"
        )
    return Movement(size_mm, from_mc, to_mc, change, how)


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
            f"allowance {allowance_mm:g} mm is outside 0 to 100 mm: give what the "
            f"planer takes off."
        )
    wood = shrinkage_of(species, grain, side)
    _check(wanted_mm, wood.starts, final_mc)
    dry = wanted_mm + allowance_mm
    growth = change_by_shrinkage(dry, final_mc, wood.starts, wood.total, wood.starts)
    how = f"published shrinkage of {wood.total:.3g} % from green to ovendry"
    return Movement(dry + growth, wood.starts, final_mc, -growth, how)


def _check(size_mm: float, from_mc: float, to_mc: float) -> None:
    if not 0.0 < size_mm <= 10_000.0:
        raise InputError(
            f"size {size_mm:g} mm is outside 0 to 10,000 mm. Give the board's width "
            f"with its unit, such as 12 in or 300 mm."
        )
    for mc in (from_mc, to_mc):
        if not _DRIEST <= mc <= _WETTEST:
            raise InputError(
                f"moisture content {mc:g} % is outside {_DRIEST:g} to {_WETTEST:g} % "
                f"of ovendry mass. Give two numbers such as --from 14 --to 8."
            )
