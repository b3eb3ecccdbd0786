"""What an address asks, read and checked, and how it is answered."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from emcforecast import __version__
from emcforecast.dates import day_given
from emcforecast.errors import InputError, harmless
from emcforecast.language import _, spoken_language
from emcforecast.storage.kinds import SETTINGS
from emcforecast.units import UnitSystem
from emcforecast.weather.hints import SAID_OF_A_FILE
from emcforecast.web import fields, levers
from emcforecast.web.jobs import Tell
from emcforecast.web.rendered import kept_of, place_report_of
from emcforecast.web.serving import LONGEST_FIELD
from emcforecast.web.sources import Source, Sources, number
from emcforecast.web.store import Kept

if TYPE_CHECKING:
    from emcforecast.answers.answered import Answered

_BOARD = ("species", "thickness")
_SIZES = ("width", "length", "sealed_ends", "from_mc")
_SHARED = ("weather", "units", *SAID_OF_A_FILE, *levers.fields_of_places())
FIELDS: dict[str, tuple[str, ...]] = {
    "floor": (*_SHARED, *_BOARD, "target"),
    "dry": (
        *(*_SHARED, *_BOARD, *_SIZES, "stacked", "setting", "target"),
        *(f"{move}_{part}" for move in fields.MOVES for part in ("date", "to")),
    ),
    "plan": (
        *(*_SHARED, *_BOARD, *_SIZES, "stacked", "need", "use", "region", "target"),
        *("old_piece", "have", "stacked_in"),
    ),
    "report": (*_SHARED, *_BOARD, "stacked", "need", "use", "region"),
}
"""The fields of each question's address; others are left out."""
DEFAULTS = {"weather": "demo", "species": "European larch", "thickness": "27 mm"}
KEY_FORM = 1
"""Raised whenever what is kept of an answer changes its form."""


@dataclass(frozen=True)
class Question:
    """A question whose words are understood; the weather is not read yet.

    Parameters
    ----------
    command : str
        "floor", "dry" or "plan".
    asked : mapping of str to str
        The fields that are not empty.
    key : str
        The same for the same question on the same weather.
    system : {"us", "si"}
        Units of the answer.
    answer : callable
        Answers it, telling how far it is; returns what is kept of the answer.
    """

    command: str
    asked: Mapping[str, str]
    key: str
    system: UnitSystem
    answer: Callable[[Tell], Kept]

    @property
    def address(self) -> str:
        """The question as a query string: it can be sent to a neighbour."""
        return urlencode(self.asked)


def fields_asked(command: str, given: Mapping[str, list[str]]) -> dict[str, str]:
    """Return the fields of a question, several values of one joined by commas.

    Parameters
    ----------
    command : str
        "floor", "dry" or "plan".
    given : mapping of str to list of str
        The query of an address.
    """
    asked = {
        name: harmless(",".join(given.get(name, ()))).strip()[:LONGEST_FIELD]
        for name in FIELDS[command]
    }
    return {name: text for name, text in asked.items() if text}


def question(
    command: str,
    given: Mapping[str, str],
    sources: Sources,
    units: UnitSystem,
    today: date,
) -> Question:
    """Read a question.

    Parameters
    ----------
    command : str
        "floor", "dry" or "plan".
    given : mapping of str to str
        As `fields_asked` returns them.
    sources : Sources
        The weather that may be read.
    units : {"us", "si"}
        Where the address says none.
    today : date
        For a stack whose date is left out.

    Raises
    ------
    InputError
        When a field is not understood: what was given, what is allowed.
    """
    asked = {**DEFAULTS, **given}
    system: UnitSystem = units
    if asked.get("units"):
        if asked["units"] not in ("us", "si"):
            raise InputError(
                _("units {units!r}: allowed are us and si", units=asked["units"])
            )
        system = "us" if asked["units"] == "us" else "si"
    asked["units"] = system
    if command != "floor":
        asked.setdefault("stacked", today.isoformat())
    source = sources.find(asked["weather"], asked)
    make = {"floor": _floor, "dry": _dry, "plan": _plan, "report": _report}[command]
    work = make(asked, source, sources, system)
    keep = place_report_of if command == "report" else kept_of

    def answer(tell: Tell) -> Kept:
        found = work(tell)
        tell(0.98, _("drawing"))
        return keep(found)

    return Question(command, asked, key_of(command, asked, source.mark), system, answer)


def key_of(command: str, asked: Mapping[str, str], mark: str) -> str:
    """Return a name of a question in the language spoken, 64 hexadecimal digits."""
    parts = [KEY_FORM, __version__, spoken_language(), command, sorted(asked.items())]
    text = json.dumps([*parts, mark])
    return hashlib.sha256(text.encode()).hexdigest()


def _floor(
    asked: Mapping[str, str], source: Source, sources: Sources, system: UnitSystem
) -> "Callable[[Tell], Answered[Any]]":
    from emcforecast.answers.floor import floor_answer
    from emcforecast.forecast.targets import target_of_number

    wood, thickness = fields.board_of(asked)
    places = fields.places_changed(asked)
    targets = [
        number("target", text)
        for text in asked.get("target", "").split(",")
        if text.strip()
    ]
    wanted = [target_of_number(value) for value in dict.fromkeys(targets)]
    inputs = {
        "weather": source.name,
        "species": asked["species"],
        "thickness": thickness,
        "settings": [place.text() for place in places],
        "targets": targets,
    }
    return lambda tell: floor_answer(
        sources.read(source, reading(tell)),
        wood,
        thickness,
        places,
        wanted,
        system=system,
        inputs=inputs,
        progress=tell,
    )


def _dry(
    asked: Mapping[str, str], source: Source, sources: Sources, system: UnitSystem
) -> "Callable[[Tell], Answered[Any]]":
    from emcforecast.answers.dry import dry_answer

    wood, thicknesses = fields.boards_of(asked)
    place = fields.place_of(asked.get("setting") or "outdoor", asked)
    stacked = day_given("stacked", asked["stacked"])
    target = number("target", asked.get("target", "15"))
    moves = fields.moves_of(asked)
    sizes = fields.sizes_of(asked, system)
    inputs = {
        "weather": source.name,
        "species": asked["species"],
        "thickness": thicknesses,
        "width": asked.get("width"),
        "length": asked.get("length"),
        "sealed_ends": sizes["sealed_ends"],
        "stacked": str(stacked),
        "from_mc": sizes["from_mc"],
        "setting": place.text(),
        "target": target,
        "moves": [f"{day}={there.text()}" for day, there in moves],
        "resaw": [],
        "plane": [],
        "readings": [],
    }
    return lambda tell: dry_answer(
        sources.read(source, reading(tell)),
        wood,
        thicknesses,
        stacked,
        place,
        target,
        moves=moves,
        system=system,
        inputs=inputs,
        progress=tell,
        **sizes,
    )


def _plan(
    asked: Mapping[str, str], source: Source, sources: Sources, system: UnitSystem
) -> "Callable[[Tell], Answered[Any]]":
    from emcforecast.answers.plan import plan_answer

    wood, thickness = fields.board_of(asked)
    if not asked.get("need"):
        raise InputError(_("say when the wood is needed, such as 2028-03-01"))
    stacked, need = (
        day_given("stacked", asked["stacked"]),
        day_given("needed", asked["need"]),
    )
    target = fields.target_of(asked)
    names = [n.strip() for n in asked.get("have", ",".join(SETTINGS)).split(",")]
    have = [fields.place_of(name, asked) for name in SETTINGS if name in names]
    if not have or not set(names) <= set(SETTINGS):
        raise InputError(
            _("choose at least one place you have: outdoor, shed or indoor")
        )
    here = asked.get("stacked_in")
    stacked_in = next((place for place in have if place.name == here), None)
    if here and stacked_in is None:
        raise InputError(
            _(
                "stacked in {here!r}: choose one of the places you have, or the best",
                here=here,
            )
        )
    sizes = fields.sizes_of(asked, system)
    inputs = {
        "weather": source.name,
        "species": asked["species"],
        "thickness": thickness,
        "width": asked.get("width"),
        "length": asked.get("length"),
        "sealed_ends": sizes["sealed_ends"],
        "stacked": stacked,
        "need": need,
        "target": target.words,
        "have": [place.text() for place in have],
        "from_mc": sizes["from_mc"],
        "stacked_in": stacked_in and stacked_in.text(),
        "today": None,
    }
    return lambda tell: plan_answer(
        sources.read(source, reading(tell)),
        wood,
        thickness,
        stacked=stacked,
        need=need,
        target=target,
        have=have,
        stacked_in=stacked_in,
        region=asked.get("region") or None,
        system=system,
        inputs=inputs,
        progress=tell,
        **sizes,
    )


def _report(
    asked: Mapping[str, str], source: Source, sources: Sources, system: UnitSystem
) -> Callable[[Tell], Any]:
    from emcforecast.answers.place import Asked, place_answers
    from emcforecast.forecast.targets import target_for_use

    wood, thickness = fields.board_of(asked)
    stacked = day_given("stacked", asked["stacked"])
    need = asked.get("need")
    region = asked.get("region") or None
    question = Asked(
        [(wood, thickness)],
        fields.places_changed(asked),
        stacked,
        target_for_use(asked.get("use", "furniture"), region),
        None if need is None else day_given("needed", need),
        system=system,
        region=region,
    )
    return lambda tell: place_answers(
        sources.read(source, reading(tell)),
        question,
        inputs={"weather": source.name},
        progress=tell,
    )


def reading(tell: Tell) -> "Callable[[int, int, str], None]":
    """Return what tells how far the weather is read, a tenth of the whole."""
    return lambda done, of, label: tell(
        0.1 * done / max(of, 1), label or _("reading the weather")
    )
