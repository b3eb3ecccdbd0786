"""How a whole board moves: as it is sawn, as it might be, and the width to saw."""

from dataclasses import dataclass

from emcforecast.errors import InputError
from emcforecast.wood.movement import GRAINS, Grain, Movement, Side, movement, sawn_size
from emcforecast.wood.species import Species


@dataclass(frozen=True)
class Way:
    """The change of one side of a board sawn one way.

    Parameters
    ----------
    grain : {"flat", "quarter", "rift"}
    side : {"width", "thickness"}
    size_mm : float
        The side's size before, mm.
    change_mm : float or None
        How much it grows or shrinks, mm; None where no shrinkage is published.
    """

    grain: Grain
    side: Side
    size_mm: float
    change_mm: float | None


@dataclass(frozen=True)
class BoardMoves:
    """How much a board moves between two moistures, and the width to saw it green.

    Parameters
    ----------
    species : Species
    grain : {"flat", "quarter", "rift"}
        How it is sawn.
    width_mm : float
        Its width before, mm.
    from_mc, to_mc : float
        Moisture content before and after, % of oven-dry mass.
    allowance_mm : float
        What planing and edging take off, mm.
    change : Movement
        Of its width.
    saw_green_mm : float
        Width to saw so that it ends at `width_mm` at the drier of both moistures, mm.
    ways : tuple of Way
        Every way to saw it, for the width and, where it was given, the thickness.
    """

    species: Species
    grain: Grain
    width_mm: float
    from_mc: float
    to_mc: float
    allowance_mm: float
    change: Movement
    saw_green_mm: float
    ways: tuple[Way, ...]

    @property
    def driest_mc(self) -> float:
        """The drier of both moistures, % of oven-dry mass."""
        return min(self.from_mc, self.to_mc)


def board_moves(
    species: Species,
    width_mm: float,
    from_mc: float,
    to_mc: float,
    *,
    grain: Grain = "flat",
    thickness_mm: float | None = None,
    allowance_mm: float = 0.0,
) -> BoardMoves:
    """Work out how a board moves; parameters as in `BoardMoves`.

    Raises
    ------
    InputError
        When a number is out of range or the shrinkage is not published.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> found = board_moves(find_species("white oak"), 304.8, 14, 8)
    >>> round(found.change.change_in, 2), len(found.ways)
    (-0.26, 3)
    """
    change = movement(species, width_mm, from_mc, to_mc, grain=grain)
    sizes: list[tuple[Side, float]] = [("width", width_mm)]
    if thickness_mm is not None:
        sizes.append(("thickness", thickness_mm))
    ways = tuple(
        Way(way, side, size, _change(species, size, (from_mc, to_mc), way, side))
        for way in GRAINS
        for side, size in sizes
    )
    saw = sawn_size(
        species,
        width_mm,
        min(from_mc, to_mc),
        grain=grain,
        allowance_mm=allowance_mm,
    )
    return BoardMoves(
        species, grain, width_mm, from_mc, to_mc, allowance_mm, change, saw.size_mm,
        ways,
    )  # fmt: skip


def _change(
    species: Species,
    size_mm: float,
    between: tuple[float, float],
    grain: Grain,
    side: Side,
) -> float | None:
    try:
        return movement(species, size_mm, *between, grain=grain, side=side).change_mm
    except InputError:  # No shrinkage is published across this grain.
        return None
