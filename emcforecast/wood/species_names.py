"""What people call a wood, and which row of the species table they mean."""

import difflib
import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from emcforecast import tables
from emcforecast.errors import SpeciesError
from emcforecast.language import N_, _

_HOW_SAWN = ("quartersawn", "flatsawn", "plainsawn", "riftsawn", "rough")
_IDLE_WORDS = frozenset(
    {"lumber", "wood", "timber", "board", "boards", "plank", "planks", *_HOW_SAWN}
)
_FOREIGN = ("German", "French")
_ONE_WORD = {
    "redcedar": "red cedar",
    "whitecedar": "white cedar",
    "baldcypress": "bald cypress",
    "yellowpoplar": "yellow poplar",
    "honeylocust": "honey locust",
    "sweetgum": "sweet gum",
    "blackgum": "black gum",
    "douglasfir": "douglas fir",
    "doug": "douglas",
    "scotch": "scots",
    "grey": "gray",
}


SLIP, SLIP_AT_THE_START = 0.66, 0.85
"""Likeness of two words, 0 to 1, from which one may be a slip for the other."""
ALL_ALIKE = 0.6
"""Likeness of the whole names, besides."""
_SPOKEN = {"poplar": "European poplar"}


@dataclass(frozen=True)
class NameEntry:
    """One name people use and the table rows it may mean."""

    name: str
    species: tuple[str, ...]
    note: str
    where: str = ""


def key(name: str) -> frozenset[str]:
    """Return a name as a set of plain words: order, case and hyphens do not count.

    Examples
    --------
    >>> key("Yellow-Poplar") == key("poplar, yellow")
    True
    >>> sorted(key("Hêtre"))
    ['hetre']
    """
    plain = unicodedata.normalize("NFKD", name.lower().replace("ß", "ss"))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    words = re.sub(r"[^a-z0-9]+", " ", plain.replace("'", "")).split()
    split = " ".join(_ONE_WORD.get(word, word) for word in words).split()
    telling = [word for word in split if word not in _IDLE_WORDS]
    return frozenset(telling or split)


def table_names() -> tuple[str, ...]:
    """Return the species names of the table, in its order."""
    return tuple(row["species"] for row in tables.rows("species"))


LONGEST_NAME = 80
"""Letters up to which a name is compared with those that are known."""


@cache
def _entries() -> dict[frozenset[str], NameEntry]:
    """Return every known name by key; the table's own names come first."""
    entries: dict[frozenset[str], NameEntry] = {}
    rows = tables.rows("species")
    aliases = [
        NameEntry(
            row["name"], tuple(row["species"].split("|")), row["note"], row["where"]
        )
        for row in tables.rows("species_names")
    ]
    generic = {key(alias.name): alias for alias in aliases if alias.note}
    named = [NameEntry(row["species"], (row["species"],), "") for row in rows]
    latin = [NameEntry(row["scientific"], (row["species"],), "") for row in rows]
    for entry in [*named, *aliases, *latin]:
        entries.setdefault(key(entry.name), generic.get(key(entry.name), entry))
    return entries


def look_up(name: str) -> NameEntry:
    """Return the entry for a name: one species, or several to choose from.

    Parameters
    ----------
    name : str
        A common, trade or scientific name, in any word order.

    Returns
    -------
    NameEntry
        Its species (table names, the likeliest first) and a note to print.

    Raises
    ------
    SpeciesError
        When no name is near enough, with the nearest one.

    Examples
    --------
    >>> look_up("White Oak").species
    ('oak, white',)
    """
    words = key(name)
    entry = _entries().get(words)
    if entry is None:
        entry = _entries().get(frozenset(_singular(word) for word in words))
    if entry is None:
        raise SpeciesError(_unknown(name))
    return entry


def is_packaged(name: str) -> bool:
    """Whether a packaged wood, or several, go by a name."""
    return key(name) in _entries()


def names_of(species: str) -> tuple[str, ...]:
    """Return the other names of a species of the table, in its order.

    Examples
    --------
    >>> "tulipwood" in names_of("yellow-poplar")
    True
    """
    return _other_names().get(species, ())


@cache
def _other_names() -> dict[str, tuple[str, ...]]:
    names: dict[str, tuple[str, ...]] = {}
    for row in tables.rows("species_names"):
        if row["kind"] == "name":
            names[row["species"]] = (*names.get(row["species"], ()), row["name"])
    return names


def spoken(species: str) -> str:
    """Return a table name as people say it: "oak, white" is "white oak".

    Examples
    --------
    >>> spoken("oak, northern red")
    'northern red oak'
    >>> spoken("cedar, western redcedar")
    'western redcedar'
    >>> spoken("Douglas-fir, coast")
    'coast Douglas-fir'
    """
    group, comma, which = species.partition(", ")
    if not comma:
        if species in _SPOKEN:
            return _SPOKEN[species]
        return re.sub(r" \(.*cedar\)| \(pecan hickory\)", "", species)
    return which if which.endswith(group) else f"{which} {group}"


def _singular(word: str) -> str:
    if word.endswith("ies"):
        return f"{word[:-3]}y"
    return word[:-1] if word.endswith("s") and len(word) > 3 else word


def _unknown(name: str) -> str:
    """Return the refusal for an unknown name, with the nearest known one."""
    known = _offered()
    words = key(name) if len(name) <= LONGEST_NAME else frozenset()
    meant = [other for other in known if _likely_meant(words, _key_offered(other))]
    near = next(
        iter(difflib.get_close_matches(name.lower(), meant, n=1, cutoff=ALL_ALIKE)),
        None,
    )
    if near is None:
        group = next((word for word in key(name) if word in _groups()), None)
        unlike = N_(
            "species '{name}' is not known. `emcforecast species` lists all; a wood of "
            'your own goes in a yard file: [species."{name}"] basic_gravity = 0.6'
        )
        of_group = N_(
            "species '{name}' is not known. `emcforecast species {group}` lists each "
            '{group}; a wood of your own goes in a yard file: [species."{name}"] '
            "basic_gravity = 0.6"
        )
        return _(of_group if group else unlike, name=name, group=group)
    entry = known[near]
    shown = entry.name if len(entry.species) == 1 else entry.species[0]
    group = entry.species[0].partition(",")[0]
    return _(
        "species '{name}' is not known. Did you mean '{shown}'? `emcforecast species "
        "{group}` lists them.",
        name=name,
        shown=shown,
        group=group,
    )


@cache
def _offered() -> dict[str, NameEntry]:
    """Return the names that may be meant by one that is not known."""
    known: dict[str, NameEntry] = {}
    for entry in _entries().values():
        if entry.where not in _FOREIGN:
            known.setdefault(entry.name.lower(), entry)
            known.setdefault(spoken(entry.name).lower(), entry)
    return known


_key_offered = cache(key)


def _likely_meant(given: frozenset[str], known: frozenset[str]) -> bool:
    """Say whether every word given is a likely slip for one of a known name."""
    return bool(given) and all(
        any(_alike(word, other) for other in known) for word in given
    )


def _alike(word: str, other: str) -> bool:
    same_start = word[0] == other[0]
    ratio = difflib.SequenceMatcher(None, word, other).ratio()
    return ratio >= (SLIP if same_start else SLIP_AT_THE_START)


@cache
def _groups() -> frozenset[str]:
    return frozenset(name.partition(",")[0].lower() for name in table_names())
