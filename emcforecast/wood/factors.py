"""How fast each wood lets moisture through, fitted to published drying times."""

import math
from dataclasses import dataclass
from functools import cache

from emcforecast import tables
from emcforecast.wood.species import Part, Species


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
