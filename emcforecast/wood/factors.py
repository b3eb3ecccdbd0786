"""How fast each wood lets moisture through, fitted to published drying times."""

from dataclasses import dataclass
from functools import cache

from emcforecast import tables
from emcforecast.wood.species import Species


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
    """

    value: float
    spread: float
    how: str


@cache
def _table() -> dict[str, DryingFactor]:
    return {
        row["species"]: DryingFactor(
            float(row["factor"]), float(row["spread"]), row["how"]
        )
        for row in tables.rows("drying_factors")
    }


def drying_factor(species: Species) -> DryingFactor:
    """Return the drying factor of a species.

    Parameters
    ----------
    species : Species
        From `emcforecast.wood.species.find_species`.

    Returns
    -------
    DryingFactor
        The person's own value, the fitted one, or the default of its kind.

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
    return table.get(species.name) or table[f"any {species.kind}"]
