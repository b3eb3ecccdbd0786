"""One board: its wood and its thickness, with what the board model needs of them."""

from dataclasses import dataclass
from functools import cached_property

from emcforecast.errors import InputError
from emcforecast.physics.diffusion import transverse_coefficient
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.wood.factors import DryingFactor, drying_factor
from emcforecast.wood.species import Part, Species, find_species

WATER = 1000.0
"""kg/m³."""


@dataclass(frozen=True)
class Board:
    """A long wide board drying through both faces.

    Parameters
    ----------
    species : str or Species
        A wood's name, kept afterwards as people say it ("white oak"); or a species
        of the person's own.
    thickness : float or str
        mm, or text such as "4/4", "27mm" or "1 1/8 in".
    part : {"mixed", "heartwood", "sapwood"}
        Part of the tree, which decides the green moisture content.

    Raises
    ------
    SpeciesError
        When the name is unknown or means several unlike woods.
    InputError
        When the thickness cannot be read.

    Examples
    --------
    >>> board = Board("white oak", "8/4")
    >>> board.species, board.thickness_mm, board.basic_density
    ('white oak', 54.0, 600.0)
    """

    species: str | Species = "white oak"
    thickness: float | str | Thickness = "4/4"
    part: Part = "mixed"

    def __post_init__(self) -> None:
        """Read the name and the thickness, so that a bad one fails at once."""
        object.__setattr__(self, "_wood", find_species(self.species))
        object.__setattr__(self, "species", self.wood.spoken)
        object.__setattr__(self, "_size", parse_thickness(self.thickness))
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
        """Diffusion coefficient at 12 % MC and 20 °C, m²/s."""
        plain = transverse_coefficient(self.wood.basic_gravity)
        return float(self.factor.value * plain)

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
                f"a starting moisture content of {mc:g} % cannot be: "
                f"{self.wood.spoken} holds about {most:.0f} % of oven-dry mass at "
                "most. Give less, or nothing for green wood."
            )
        return mc / 100.0
