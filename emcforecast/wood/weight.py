"""How heavy a stack is, layer by layer: weight only, never a verdict."""

from dataclasses import dataclass

from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.units import kg_per_m2_to_pounds_per_ft2
from emcforecast.wood.species import Figure, Part, Species

WATER_DENSITY = 1000.0


@dataclass(frozen=True)
class Stickers:
    """The strips between the layers.

    Parameters
    ----------
    thickness_mm, width_mm : float
        Section of one sticker, mm.
    spacing_mm : float
        From middle to middle along the boards, mm.
    density : float
        Of the air-dry sticker, kg/m³.

    Notes
    -----
    3/4 to 1 in thick, 16 to 24 in apart (common practice, no source).
    """

    thickness_mm: float = 22.0
    width_mm: float = 38.0
    spacing_mm: float = 500.0
    density: float = 600.0

    @property
    def kg_per_m2(self) -> float:
        """Weight of one row of stickers on the stack's footprint, kg/m²."""
        return (
            self.thickness_mm / 1000.0 * self.width_mm / self.spacing_mm * self.density
        )


@dataclass(frozen=True)
class StackWeight:
    """What a stack weighs.

    Parameters
    ----------
    layers : int
        Layers of boards.
    layer_kg_per_m2 : float
        One layer of boards without stickers, kg/m² of footprint.
    stickers_kg_per_m2 : float
        One row of stickers, kg/m² of footprint.
    moisture : float
        Moisture content, % of ovendry mass.
    green : Figure or None
        Where that moisture comes from; None when it was given.
    footprint_m2 : float or None
        Ground the stack covers, m²; None when its size was not given.
    """

    layers: int
    layer_kg_per_m2: float
    stickers_kg_per_m2: float
    moisture: float
    green: Figure | None
    footprint_m2: float | None

    @property
    def kg_per_m2(self) -> float:
        """The whole stack with its stickers, kg/m² of footprint."""
        return self.layers * (self.layer_kg_per_m2 + self.stickers_kg_per_m2)

    @property
    def lb_per_ft2(self) -> float:
        """The whole stack with its stickers, lb/ft² of footprint."""
        return kg_per_m2_to_pounds_per_ft2(self.kg_per_m2)

    @property
    def total_kg(self) -> float | None:
        """The whole stack, kg, when its footprint is known."""
        return None if self.footprint_m2 is None else self.kg_per_m2 * self.footprint_m2


def board_density(species: Species, moisture: float) -> float:
    """Return the mass of a cubic metre of boards as sawn green, kg.

    Parameters
    ----------
    species : Species
        The wood.
    moisture : float
        Moisture content, % of ovendry mass.

    Returns
    -------
    float
        kg per m³ of the size as sawn: drying takes water out, and the shrinkage
        that follows changes the size but not the mass.

    Notes
    -----
    ρ = G_basic × 1000 × (1 + u), with G_basic on the green volume.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> board_density(find_species("white oak"), 70.0)
    1020.0
    """
    return species.basic_gravity * WATER_DENSITY * (1.0 + moisture / 100.0)


def stack_weight(
    species: Species,
    thickness_mm: float,
    layers: int,
    *,
    moisture: float | None = None,
    part: Part = "mixed",
    fill: float = 1.0,
    stickers: Stickers | None = None,
    width_mm: float | None = None,
    length_mm: float | None = None,
) -> StackWeight:
    """Weigh a stack on paper.

    Parameters
    ----------
    species : Species
        The wood.
    thickness_mm : float
        Thickness as sawn, mm.
    layers : int
        Layers of boards.
    moisture : float, optional
        Moisture content, % of ovendry mass; None means green.
    part : {"mixed", "heartwood", "sapwood"}
        Which green moisture to take when none is given.
    fill : float
        Share of a layer that is wood, 0.3 to 1; 1 (no gaps) is the heaviest.
    stickers : Stickers, optional
        The strips under every layer; the usual ones by default.
    width_mm, length_mm : float, optional
        Footprint of the stack, mm.

    Raises
    ------
    InputError
        When a number is out of range.

    Notes
    -----
    layers × (t G 1000 (1 + u) fill + stickers). Snow, people and what stands on
    the stack are not in it.

    Examples
    --------
    >>> from emcforecast.wood.species import find_species
    >>> oak = stack_weight(find_species("white oak"), 25.4, 1)
    >>> round(kg_per_m2_to_pounds_per_ft2(oak.layer_kg_per_m2), 1)
    5.3
    """
    _within("layers", layers, 1, 1000)
    _within("thickness", thickness_mm, 1, 600, " mm")
    _within("fill", fill, 0.3, 1)
    for name, size in (("width", width_mm), ("length", length_mm)):
        if size is not None:
            _within(name, size, 10, 50_000, " mm")
    green: Figure | None = None
    if moisture is None:
        green = species.green_moisture(part)
        moisture = green.value
    else:
        _within("moisture", moisture, 0, 300, " %")
    layer = board_density(species, moisture) * thickness_mm / 1000.0 * fill
    footprint = None
    if width_mm is not None and length_mm is not None:
        footprint = width_mm * length_mm / 1e6
    strips = Stickers() if stickers is None else stickers
    return StackWeight(layers, layer, strips.kg_per_m2, moisture, green, footprint)


def _within(name: str, value: float, low: float, high: float, unit: str = "") -> None:
    if not low <= value <= high:
        raise InputError(
            _(
                "{name} {value:g}{unit} is outside {low:g} to "
                "{high:g}{unit}. Check the number and its unit.",
                name=name,
                value=value,
                unit=unit,
                low=low,
                high=high,
            )
        )
