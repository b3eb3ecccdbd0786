"""The woods: green moisture, specific gravity and shrinkage, with their sources."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Literal

from emcforecast import tables
from emcforecast.errors import SpeciesError
from emcforecast.language import _
from emcforecast.wood.species_names import key, look_up, names_of, spoken

Part = Literal["mixed", "heartwood", "sapwood"]
PARTS: tuple[Part, ...] = ("mixed", "heartwood", "sapwood")

WALL_GRAVITY = 1.54
"""Specific gravity of the cell wall in the most moisture wood can hold (Wood
Handbook ch. 4; from memory)."""

NUMBERS = (
    "green_heartwood",
    "green_sapwood",
    "shrink_radial",
    "shrink_tangential",
    "shrink_volumetric",
    "gravity_12",
    "coefficient_radial",
    "coefficient_tangential",
)


@dataclass(frozen=True)
class Figure:
    """A number with where it comes from.

    Parameters
    ----------
    source : str
        Of the published number; "" where a mean stands in.
    basis : {"published", "halves", "one part", "mean"}
        This part's own; half of heartwood and of sapwood; the only part published;
        or the mean of its group.
    part : {"mixed", "heartwood", "sapwood"}
        Part of the tree that the number belongs to.
    group : str
        The woods that stand in.
    count : int
        How many of them.
    """

    value: float
    source: str
    basis: Literal["published", "halves", "one part", "mean"] = "published"
    part: Part = "mixed"
    group: str = ""
    count: int = 0


@dataclass(frozen=True)
class Species:
    """One wood.

    Parameters
    ----------
    name : str
        The table's name, group first: "oak, white".
    scientific : str
        The botanical name.
    kind : {"hardwood", "softwood"}
    region : str
        Where it grows: "North America", "Europe", or "added" for a person's own.
    basic_gravity : float
        Ovendry mass on green volume, relative to water.
    green_heartwood, green_sapwood : float or None
        Green moisture content, % of ovendry mass; None when not published.
    shrink_radial, shrink_tangential, shrink_volumetric : float or None
        Shrinkage from green to ovendry, % of the green size.
    gravity_12 : float or None
        Specific gravity on the volume at 12 % MC.
    coefficient_radial, coefficient_tangential : float or None
        Published change of size, per % MC.
    shrinkage_starts : float
        The moisture content below which it shrinks, %.
    drying_factor : float or None
        A person's own diffusion factor; None for the species of the table.
    sources : mapping
        Field name to the source of that number.
    """

    name: str
    scientific: str
    kind: str
    region: str
    basic_gravity: float
    green_heartwood: float | None = None
    green_sapwood: float | None = None
    shrink_radial: float | None = None
    shrink_tangential: float | None = None
    shrink_volumetric: float | None = None
    gravity_12: float | None = None
    coefficient_radial: float | None = None
    coefficient_tangential: float | None = None
    shrinkage_starts: float = 30.0
    drying_factor: float | None = None
    sources: Mapping[str, str] = field(default_factory=dict, compare=False, repr=False)

    @property
    def spoken(self) -> str:
        """The name as people say it: "white oak"."""
        return spoken(self.name)

    @property
    def group(self) -> str:
        """The wood's group: "oak" of "oak, white", the whole name when alone."""
        return self.name.partition(",")[0]

    @property
    def most_moisture(self) -> float:
        """The moisture content with every void full of water, %."""
        return 100.0 * (1.0 / self.basic_gravity - 1.0 / WALL_GRAVITY)

    def green_moisture(self, part: Part = "mixed") -> Figure:
        """Return the moisture content when sawn, % of ovendry mass.

        Parameters
        ----------
        part : {"mixed", "heartwood", "sapwood"}
            Which part of the tree; "mixed" is half of each where both are known.

        Returns
        -------
        Figure
            The value and the source, which says when it is only a stand-in.

        Notes
        -----
        Where nothing is published for the species, the mean of its group in the
        table stands in (oaks for an oak), else of the hardwoods or softwoods,
        never above what its voids can hold. Green moisture varies by about a
        quarter either way between trees of one species.

        Examples
        --------
        >>> find_species("white oak").green_moisture("heartwood").value
        64.0
        """
        if part not in PARTS:
            raise SpeciesError(
                _(
                    "part {part!r} of the tree is not known: say heartwood, "
                    "sapwood or mixed.",
                    part=part,
                )
            )
        known = _green(self, part) or _green(self, "mixed")
        if known is not None:
            return known
        mean = _stand_in(self.group, self.kind, part)
        return replace(mean, value=round(min(mean.value, self.most_moisture)))


def _green(species: Species, part: Part) -> Figure | None:
    """Return the published green moisture of a part, or None."""
    values: dict[Part, float | None] = {
        "heartwood": species.green_heartwood,
        "sapwood": species.green_sapwood,
    }
    known = {where: value for where, value in values.items() if value is not None}
    if part != "mixed":
        if part not in known:
            return None
        return Figure(known[part], species.sources.get(f"green_{part}", ""))
    if not known:
        return None
    where = next(iter(known))
    source = species.sources.get(f"green_{where}", "")
    if len(known) == 2:
        return Figure(sum(known.values()) / 2.0, source, "halves")
    return Figure(known[where], source, "one part", where)


@cache
def _stand_in(group: str, kind: str, part: Part) -> Figure:
    """Return the mean green moisture of a group, else of a kind."""
    for wanted, which in ((group, "group"), (kind, "kind")):
        found = [
            figure.value
            for other in all_species()
            if getattr(other, which) == wanted
            if (figure := _green(other, part)) is not None
        ]
        if found:
            mean = sum(found) / len(found)
            return Figure(mean, "", "mean", part, wanted, len(found))
    raise SpeciesError(
        _("kind {kind!r} is not known: say hardwood or softwood.", kind=kind)
    )


@cache
def all_species() -> tuple[Species, ...]:
    """Return every species of the packaged table, in its order.

    Examples
    --------
    >>> len(all_species()) > 85
    True
    """
    sources = {
        row["code"]: f"{row['source']} (confidence {row['confidence']})"
        for row in tables.rows("species_sources")
    }
    return tuple(_from_row(row, sources) for row in tables.rows("species"))


def _from_row(row: Mapping[str, str], sources: Mapping[str, str]) -> Species:
    numbers = {name: float(row[name]) if row[name] else None for name in NUMBERS}
    ends = {
        name: f"{sources[row[f'{name}_source']]}{_range(row, name)}"
        for name in (*NUMBERS, "basic_gravity")
        if row[name]
    }
    return Species(
        name=row["species"],
        scientific=row["scientific"],
        kind=row["kind"],
        region=row["region"],
        basic_gravity=float(row["basic_gravity"]),
        shrinkage_starts=float(row["shrinkage_starts"]),
        sources=ends,
        **numbers,
    )


def _range(row: Mapping[str, str], name: str) -> str:
    spread = row.get(f"{name}_range", "")
    return f"; range {spread}" if spread else ""


@dataclass(frozen=True)
class Found:
    """A species with what should be said about how its name was read."""

    species: Species
    note: str


def resolve_species(
    name: str | Species, added: Mapping[str, Species] | None = None
) -> Found:
    """Find a species and what to tell the person about the reading of its name.

    Parameters
    ----------
    name : str or Species
        A common, trade or scientific name in any word order, case or hyphens.
    added : mapping of str to Species, optional
        The person's own species, looked at first.

    Returns
    -------
    Found
        The species and a note, empty when the name means one species only.

    Raises
    ------
    SpeciesError
        When the name is unknown, with the nearest known one, or when it covers
        woods too unlike to choose for the person, with the choices.

    Examples
    --------
    >>> resolve_species("red oak").note
    "'red oak' is read as northern red oak"
    """
    if isinstance(name, Species):
        return Found(name, "")
    for own, species in (added or {}).items():
        if key(own) == key(name):
            return Found(species, "")
    entry = look_up(name)
    if len(entry.species) > 1:
        choices = [f"'{spoken(which)}'" for which in entry.species]
        why = f" ({entry.note})" if entry.note else ""
        raise SpeciesError(
            _(
                "species '{name}' could be {choices} or {last}{why}. Write "
                "one of them; `emcforecast species {name}` lists them.",
                name=name,
                choices=", ".join(choices[:-1]),
                last=choices[-1],
                why=why,
            )
        )
    return Found(_by_name()[entry.species[0]], entry.note)


def find_species(
    name: str | Species, added: Mapping[str, Species] | None = None
) -> Species:
    """Find a species by any of its names.

    Parameters
    ----------
    name : str or Species
        A common, trade or scientific name in any word order, case or hyphens.
    added : mapping of str to Species, optional
        The person's own species, looked at first.

    Raises
    ------
    SpeciesError
        When the name is unknown or means woods too unlike to choose between.

    See Also
    --------
    resolve_species : also says how a general name was read.

    Examples
    --------
    >>> find_species("Quercus alba").name
    'oak, white'
    >>> find_species("tulipwood").name
    'yellow-poplar'
    """
    return resolve_species(name, added).species


@cache
def _by_name() -> dict[str, Species]:
    return {species.name: species for species in all_species()}


def search_species(word: str) -> tuple[Species, ...]:
    """Return the species with a word in any of their names, the table's order.

    Parameters
    ----------
    word : str
        How a word of a name begins, or where none does, any part of one; several
        words must all be found.

    Returns
    -------
    tuple of Species
        Empty when none has it.

    Examples
    --------
    >>> [species.name for species in search_species("tupelo")]
    ['tupelo, black']
    """
    wanted = key(word)
    whole: list[Species] = []
    within: list[Species] = []
    for species in all_species():
        names = (species.name, species.scientific, *names_of(species.name))
        words = {part for name in names for part in key(name)}
        if all(any(one.startswith(part) for one in words) for part in wanted):
            whole.append(species)
        elif all(any(part in one for one in words) for part in wanted):
            within.append(species)
    return tuple(whole or within)
