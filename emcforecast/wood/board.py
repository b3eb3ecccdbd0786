"""One board: its wood and its thickness, with what the board model needs of them."""

import math
from dataclasses import dataclass
from functools import cache, cached_property

from emcforecast import tables
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.physics.diffusion import transverse_coefficient
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.wood.species import Part, Species, find_species


@dataclass(frozen=True)
class DryingFactor:
    """A species' diffusion over that of plain wood of its specific gravity.

    Parameters
    ----------
    value : float
        Multiplies `emcforecast.physics.diffusion.transverse_coefficient`.
    spread : float
        The truth lies within a factor of this either way in about two of three
        woods.
    how : str
        Where it comes from, in words.
    published : bool
        Whether it rests on a published drying time of the wood, or on its owner's word.
    """

    value: float
    spread: float
    how: str
    published: bool = True


@cache
def _table() -> dict[tuple[str, str], tuple[DryingFactor, float]]:
    return {
        (row["species"], row["part"]): (
            DryingFactor(
                float(row["factor"]),
                float(row["spread"]),
                row["how"],
                row["published"] == "yes",
            ),
            float(row["gravity_slope"]),
        )
        for row in tables.rows("drying_factors")
    }


def paces_from_others() -> tuple[str, ...]:
    """Return where the factors without a published drying time come from, in words."""
    return tuple(dict.fromkeys(f.how for f, _ in _table().values() if not f.published))


def drying_factor(species: Species, part: Part = "mixed") -> DryingFactor:
    """Return the drying factor of a species.

    Parameters
    ----------
    species : Species
        From `emcforecast.wood.species.find_species`.
    part : {"mixed", "heartwood", "sapwood"}
        Part of the tree; a few woods have a factor for each.

    Returns
    -------
    DryingFactor
        The person's own value; else the one fitted to published drying times; else
        the mean of its fitted relations (oaks for an oak) and of the default; else the
        default from its specific gravity.

    Notes
    -----
    Fitted by ``data/drying/fit.py``; docs/boards.md shows published against predicted
    days. The default is exp(level + slope (G - 0.5)) over the fitted woods of a kind.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> oak = drying_factor(find_species("white oak"))
    >>> pine = drying_factor(find_species("loblolly pine"))
    >>> oak.value < pine.value
    True
    """
    if species.drying_factor is not None:
        return DryingFactor(species.drying_factor, 1.2, "given by the user")
    table = _table()
    known = table.get((species.name, part)) or table.get((species.name, "mixed"))
    if known is not None:
        return known[0]
    level, slope = table[(f"any {species.kind}", "mixed")]
    value = level.value * math.exp(slope * (species.basic_gravity - 0.5))
    return DryingFactor(round(value, 3), level.spread, level.how, published=False)


WATER = 1000.0
"""kg/m³."""
WIDTH_MM, LENGTH_MM = 175.0, 2400.0
"""A typical board (assumed)."""
MOST_SIDE_MM = 20000.0
THICKEST_PUBLISHED_MM = 54.5
"""8/4; what is published of thicker stock is scarce."""
TYPICAL_FACTOR = 0.5
DRY_POWER = 0.25
"""Below fibre saturation woods differ by this power of what they do when green:
factor 0.5 (f/0.5)^0.25."""


@dataclass(frozen=True)
class Board:
    """A board drying through its faces, edges and ends.

    Parameters
    ----------
    species : str or Species
        A wood's name, kept afterwards as people say it ("white oak"); or a species
        of the person's own.
    thickness : float or str
        mm, or text such as "4/4", "27mm" or "1 1/8 in".
    part : {"mixed", "heartwood", "sapwood"}
        Part of the tree, which decides the green moisture content.
    width_mm, length_mm : float, optional
        The other sizes; a typical board of 175 mm and 2.4 m when left out, or as wide
        as it is thick where that is more.
    sealed_ends : bool
        Whether the end grain is coated, so that the board dries through faces and
        edges alone.

    Raises
    ------
    SpeciesError
        When the name is unknown or means several unlike woods.
    InputError
        When the thickness cannot be read, or is more than the width or the length.

    Examples
    --------
    >>> board = Board("white oak", "8/4")
    >>> board.species, board.thickness_mm, board.basic_density
    ('white oak', 54.0, 600.0)
    """

    species: str | Species = "European larch"
    thickness: float | str | Thickness = "27 mm"
    part: Part = "mixed"
    width_mm: float | None = None
    length_mm: float | None = None
    sealed_ends: bool = False

    def __post_init__(self) -> None:
        """Read the name and the thickness, so that a bad one fails at once."""
        object.__setattr__(self, "_wood", find_species(self.species))
        object.__setattr__(self, "species", self.wood.spoken)
        object.__setattr__(self, "_size", parse_thickness(self.thickness))
        for name, side in (("width", self.width_mm), ("length", self.length_mm)):
            if side is not None and not self.thickness_mm <= side <= MOST_SIDE_MM:
                raise InputError(
                    _(
                        "a {name} of {side:g} mm cannot be: from the thickness, "
                        "{thickness_mm:g} mm, to {most_mm:g} mm. Give the least of "
                        "the section as the thickness.",
                        name=name,
                        side=side,
                        thickness_mm=self.thickness_mm,
                        most_mm=MOST_SIDE_MM,
                    )
                )
        if self.part != "mixed":
            self.wood.green_moisture(self.part)

    @property
    def wood(self) -> Species:
        """The species with all its numbers."""
        wood: Species = self.__dict__["_wood"]
        return wood

    @property
    def size(self) -> Thickness:
        """The thickness, actual and nominal."""
        size: Thickness = self.__dict__["_size"]
        return size

    @property
    def thickness_mm(self) -> float:
        """Actual thickness, mm."""
        return float(self.size.actual_mm)

    @property
    def sizes_mm(self) -> tuple[float, float, float]:
        """Actual thickness, width and length, mm; a typical board's where not given."""
        width = max(WIDTH_MM, self.thickness_mm)
        length = max(LENGTH_MM, self.thickness_mm)
        return (
            self.thickness_mm,
            width if self.width_mm is None else float(self.width_mm),
            length if self.length_mm is None else float(self.length_mm),
        )

    @property
    def extrapolated(self) -> bool:
        """Whether it is thicker than the stock whose drying is published."""
        return self.thickness_mm > THICKEST_PUBLISHED_MM

    @property
    def basic_density(self) -> float:
        """Oven-dry mass over green volume, kg/m³."""
        return WATER * self.wood.basic_gravity

    @property
    def green_mc(self) -> float:
        """Moisture content off the saw, % of oven-dry mass."""
        return float(self.wood.green_moisture(self.part).value)

    @cached_property
    def factor(self) -> DryingFactor:
        """The drying factor with its spread and where it comes from."""
        return drying_factor(self.wood, self.part)

    @property
    def diffusivity(self) -> float:
        """Diffusion coefficient at 12 % MC and 20 °C across the grain, m²/s."""
        plain = float(transverse_coefficient(self.wood.basic_gravity))
        return float(plain * TYPICAL_FACTOR * self._over_typical**DRY_POWER)

    @property
    def green_ratio(self) -> float:
        """Diffusion coefficient of green wood over that at fibre saturation."""
        return float(self._over_typical ** (1.0 - DRY_POWER))

    @property
    def _over_typical(self) -> float:
        return self.factor.value / TYPICAL_FACTOR

    def start_content(self, start_mc: float | None = None) -> float:
        """Return a start in % MC as kg/kg, green when none is given.

        Parameters
        ----------
        start_mc : float or None
            Moisture content, % of oven-dry mass.

        Returns
        -------
        float
            kg/kg.

        Raises
        ------
        InputError
            When it is below 0 or more than the wood can hold.
        """
        if start_mc is None:
            return self.green_mc / 100.0
        mc, most = float(start_mc), self.wood.most_moisture
        if not 0.0 <= mc <= most + 10.0:  # woods differ a little within a species
            raise InputError(
                _(
                    "a starting moisture content of {mc:g} % cannot be: {wood} "
                    "holds about {most:.0f} % of oven-dry mass at most. Give "
                    "less, or nothing for green wood.",
                    mc=mc,
                    wood=self.wood.spoken,
                    most=most,
                )
            )
        return mc / 100.0
