"""Places described by their few levers, as forms show and addresses hold them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from emcforecast.language import _, number
from emcforecast.report.names import parameter_meaning, place_about, place_title
from emcforecast.storage.kinds import KINDS, SETTINGS
from emcforecast.storage.parameters import PARAMETERS, Value
from emcforecast.storage.settings import Setting, kind_named

SHOWN = (
    *("roof", "floor", "rain", "ventilation", "wind_ventilation", "fan", "heat_to"),
    *("cool_to", "dehumidify_to", "moisture_gain", "ground_moisture", "window_area"),
    *("room_temperature", "surface_transfer"),
)
"""What an owner can look up or guess, the most telling first; the rest is assumed."""
MOST = 6


@dataclass(frozen=True)
class Lever:
    """One thing about a place that its owner may say.

    Parameters
    ----------
    field : str
        Its name in a form: "shed.ventilation".
    meaning, unit : str
        In plain words, and of the number.
    assumed : str
        What is taken where nothing is said.
    likely : str
        The likely range, "2 to 8"; "" where the owner knows.
    words : tuple of str
        Words that may be chosen; where `numeric`, beside a number.
    numeric : bool
        Whether a number may be typed.
    given : str
        What was typed.
    """

    field: str
    meaning: str
    unit: str
    assumed: str
    likely: str
    words: tuple[str, ...]
    numeric: bool
    given: str


@dataclass(frozen=True)
class PlaceForm:
    """One place of a form: its kinds, and the levers of the chosen one."""

    name: str
    chosen: str
    about: str
    kinds: tuple[tuple[str, str, str], ...]
    levers: tuple[Lever, ...]


def fields_of_places() -> tuple[str, ...]:
    """Return every field by which a form describes places."""
    return tuple(_fields())


def _fields() -> Iterator[str]:
    for name in SETTINGS:
        yield name
        yield from (f"{name}.{lever}" for lever in SHOWN)


def setting_of(name: str, asked: Mapping[str, str]) -> Setting:
    """Return a place as a form describes it.

    Parameters
    ----------
    name : str
        "outdoor", "shed" or "indoor".
    asked : mapping of str to str
        The fields.

    Raises
    ------
    SettingError
        For an unknown kind, or a value that is not allowed.
    """
    kind = kind_named(asked.get(name) or SETTINGS[name])
    changes: dict[str, Value] = {
        lever: text.replace(",", ".")
        for lever in shown_of(kind.name)
        if (text := asked.get(f"{name}.{lever}", "").strip())
    }
    return Setting(name, kind.name, changes)


def is_changed(name: str, asked: Mapping[str, str]) -> bool:
    """Tell whether a form says anything of a place."""
    return any(
        asked.get(field)
        for field in fields_of_places()
        if field.partition(".")[0] == name
    )


def shown_of(kind: str) -> tuple[str, ...]:
    """Return the levers of a kind that are shown."""
    return tuple(lever for lever in SHOWN if lever in KINDS[kind].defaults)[:MOST]


def place_forms(asked: Mapping[str, str]) -> list[PlaceForm]:
    """Return the three places as a form shows them."""
    return [_place_form(name, asked) for name in SETTINGS]


def _place_form(name: str, asked: Mapping[str, str]) -> PlaceForm:
    chosen = asked.get(name) or SETTINGS[name]
    if chosen not in KINDS:
        chosen = SETTINGS[name]
    plain = Setting(name, chosen)
    return PlaceForm(
        name,
        chosen,
        place_about(chosen),
        tuple((k.name, place_title(k.name), k.setting) for k in KINDS.values()),
        tuple(_lever(plain, lever, asked) for lever in shown_of(chosen)),
    )


def _lever(plain: Setting, lever: str, asked: Mapping[str, str]) -> Lever:
    parameter, value = PARAMETERS[lever], plain.values()[lever]
    ends = plain.likely_range(lever)
    field = f"{plain.name}.{lever}"
    return Lever(
        field,
        parameter_meaning(lever),
        parameter.unit,
        value if isinstance(value, str) else number(value, "g"),
        ""
        if ends is None or ends[0] == ends[1]
        else _("{low:.3g} to {high:.3g}", low=ends[0], high=ends[1]),
        parameter.words,
        not parameter.is_word,
        asked.get(field, ""),
    )
