"""What places, woods and uses are called in the language spoken."""

from collections.abc import Iterator
from typing import Literal, get_args

from emcforecast.forecast.targets import Target, uses
from emcforecast.language import _, p_
from emcforecast.storage.kinds import KINDS, SETTINGS
from emcforecast.storage.parameters import PARAMETERS
from emcforecast.weather.series import KINDS as WEATHER_KINDS
from emcforecast.wood.board import paces_from_others
from emcforecast.wood.species import Found, all_species

Form = Literal[
    "place",
    "the place",
    "in the place",
    "into the place",
]
"""How a sentence needs a place; languages bend the word and add the preposition."""
KINDS_OF_READING = ("pin", "pinless", "oven", "weight")
FORMS = get_args(Form)
OWN = "{name}"
"""A place under its owner's name: other languages add a preposition and quotes."""


def place_title(kind: str, form: Form = "place") -> str:
    """Name a kind of place.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    form : str
        As the sentence needs it. English says "in the {place}" and has one form; German
        says "{place}" there and has "im offenen Schuppen" under "in the place".

    Examples
    --------
    >>> place_title("shed", "in the place")
    'open-sided shed'
    """
    return p_(form, KINDS[kind].title)


def own_place(name: str, form: Form = "place") -> str:
    """Name a place as its owner does, as the sentence needs it."""
    return p_(form, OWN, name=name)


def wood_name(spoken: str) -> str:
    """Name a wood: "white oak"; one of a person's own keeps its name."""
    return p_("wood", spoken) if spoken in _woods() else spoken


def name_note(found: Found) -> str:
    """Say how a general name of a wood was read; "" where it means one wood only."""
    return f"{found.note}." if found.note else ""


def place_about(kind: str) -> str:
    """Say what a kind of place stands for, in one sentence."""
    return p_("about a place", KINDS[kind].about)


def parameter_meaning(name: str) -> str:
    """Say what a parameter of a place means, in plain words."""
    return p_("about a parameter", PARAMETERS[name].meaning)


def archive_words(text: str) -> str:
    """Say what an archive holds, allows or asks, as its record has it."""
    return p_("about an archive", text)


def reading_kind(kind: str) -> str:
    """Name how a reading was taken: "pin", "oven test"."""
    return p_("kind of reading", kind)


def use_name(target: Target) -> str:
    """Name what a target is for: "furniture", or "12 %"."""
    if target.label in uses():
        return p_("use", target.label)
    if target.low is None or "%" not in target.label:
        return _plain(target)
    mc = (target.low + target.high) / 2.0
    return _("as the old piece, {mc:g} %", mc=mc)


def _plain(target: Target) -> str:
    if "%" in target.label:
        return _("{mc:g} %", mc=target.high)
    return target.label


def target_words(target: Target) -> str:
    """Name a target with its moisture: "furniture (7 to 9 %)".

    Examples
    --------
    >>> from emcforecast.forecast.targets import target_for_use
    >>> target_words(target_for_use("furniture"))
    'furniture (7 to 9 %)'
    """
    name, low, high = use_name(target), target.low, target.high
    if low is not None:
        return _("{use} ({low:g} to {high:g} %)", use=name, low=low, high=high)
    if "%" in target.label:
        return name
    return _("{use} ({high:g} % or less)", use=name, high=high)


def target_numbers(target: Target) -> str:
    """Name a target's moisture alone: "7 to 9 %"."""
    low, high = target.low, target.high
    if low is None:
        return _("{mc:g} %", mc=high)
    return _("{low:g} to {high:g} %", low=low, high=high)


def named() -> Iterator[tuple[str, str]]:
    """Yield the context and English of every name that a table holds."""
    from emcforecast.weather.archives.registry import ARCHIVES

    woods, archives = all_species(), ARCHIVES.values()
    for context, words in (
        *((form, [OWN, *(kind.title for kind in KINDS.values())]) for form in FORMS),
        ("about a place", [kind.about for kind in KINDS.values()]),
        ("about a parameter", [one.meaning for one in PARAMETERS.values()]),
        ("setting", list(SETTINGS)),
        ("use", list(uses())),
        ("wood", list(_woods())),
        ("kind of wood", [wood.kind for wood in woods]),
        ("region", ["added", *(wood.region for wood in woods)]),
        ("group of woods", [*(one.group for one in woods), *(w.kind for w in woods)]),
        ("pace", list(paces_from_others())),
        ("kind of reading", list(KINDS_OF_READING)),
        ("kind of weather", list(WEATHER_KINDS)),
        ("about an archive", [one.coverage for one in archives]),
        ("about an archive", [one.limits for one in archives]),
        ("about an archive", [one.licence for one in archives]),
    ):
        for word in dict.fromkeys(words):
            yield context, word


def _woods() -> frozenset[str]:
    return frozenset(wood.spoken for wood in all_species())
