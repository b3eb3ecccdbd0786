"""A storage setting: its kind, and what its owner has changed about it."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from emcforecast.errors import SettingError
from emcforecast.files import contents, parse_json
from emcforecast.language import N_, _, did_you_mean, p_
from emcforecast.storage.kinds import COURSES, FLOORS, KINDS, ROOFS, SETTINGS, Kind
from emcforecast.storage.parameters import PARAMETERS, Parameter, Value


@dataclass(frozen=True)
class Setting:
    """Where wood lies: one of the three settings, its kind and what was changed.

    Parameters
    ----------
    name : str
        "outdoor", "shed" or "indoor".
    kind : str
        One of `emcforecast.storage.kinds.KINDS`.
    parameters : mapping of str to float or str
        What differs from the kind's defaults, in the units of
        `emcforecast.storage.parameters.PARAMETERS`.
    likely : mapping of str to (float, float)
        Likely ranges that replace those of `Parameter.likely`, as a calibration
        finds them.

    Raises
    ------
    SettingError
        For an unknown setting, kind, parameter or word, or a value out of range.

    Examples
    --------
    >>> Setting("shed", "loft", {"roof": "metal"}).values()["roof_u"]
    3.5
    """

    name: str
    kind: str
    parameters: Mapping[str, Value] = field(default_factory=dict)
    likely: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Check everything and freeze the mappings."""
        if self.name not in SETTINGS:
            raise unknown_setting(self.name)
        kind = kind_named(self.kind)
        checked = {k: _checked(kind, k, v) for k, v in self.parameters.items()}
        object.__setattr__(self, "parameters", MappingProxyType(checked))
        object.__setattr__(self, "likely", MappingProxyType(dict(self.likely)))
        _check_together(self)

    def __reduce__(self) -> tuple[object, ...]:
        """Pickle through the constructor: frozen mappings do not pickle."""
        return Setting, (self.name, self.kind, dict(self.parameters), dict(self.likely))

    @property
    def about(self) -> Kind:
        """The kind's record: title, meaning, defaults."""
        return KINDS[self.kind]

    def values(self) -> dict[str, Value]:
        """Every parameter of this setting, defaults and changes together."""
        out = dict(self.about.defaults)
        for name, table in (("roof", ROOFS), ("floor", FLOORS), ("course", COURSES)):
            if name in self.parameters:
                changes = table[str(self.parameters[name])]
                out |= {key: changes[key] for key in changes if key in out}
        out |= dict(self.parameters)
        return {name: out[name] for name in PARAMETERS if name in out}

    def likely_range(self, name: str) -> tuple[float, float] | None:
        """Range the parameter likely lies in, or None where it has no number."""
        value = self.values()[name]
        if not isinstance(value, float):
            return None
        return self.likely.get(name) or PARAMETERS[name].likely(value)

    def changed(self, **parameters: Value) -> "Setting":
        """Return the same setting with further parameters changed."""
        return Setting(
            self.name, self.kind, {**self.parameters, **parameters}, self.likely
        )

    def text(self) -> str:
        """Return what to write after ``--setting`` to get this.

        Examples
        --------
        >>> Setting("shed", "loft", {"roof": "metal", "ventilation": 8.0}).text()
        'shed=loft,roof=metal,ventilation=8'
        """
        changes = "".join(
            f",{k}={v:g}" if isinstance(v, float) else f",{k}={v}"
            for k, v in self.parameters.items()
        )
        return f"{self.name}={self.kind}{changes}"


BELOW_GROUND = ("cellar", "crawlspace", "crawl-space")
BELOW_GROUND_INSTEAD = N_(
    "Rooms below ground are 'basement': below an unheated house write "
    "basement,room_u=0,heat_gain=0, over bare earth ground_moisture=5; for a "
    "dehumidified one take dry-room."
)


def kind_named(name: str) -> Kind:
    """Kind of storage by its name, or by the name of the setting it stands for.

    Raises
    ------
    SettingError
        When there is none; the message names the nearest.

    Examples
    --------
    >>> kind_named("outdoor").title
    'uncovered stack'
    """
    kind = KINDS.get(SETTINGS.get(name, name))
    if kind is None and name.strip().lower() in BELOW_GROUND:
        raise SettingError(
            _(
                "storage '{name}' is not known. {instead} "
                "`emcforecast settings` tells what each is.",
                name=name,
                instead=_(BELOW_GROUND_INSTEAD),
            )
        )
    if kind is None:
        known = [*KINDS, *SETTINGS]
        raise SettingError(
            _(
                "storage '{name}' is not known.{near} Known: {known}. "
                "`emcforecast settings` tells what each is.",
                name=name,
                near=did_you_mean(name, known),
                known=", ".join(KINDS),
            )
        )
    return kind


def default_setting(name: str) -> Setting:
    """One of the three settings as it is until its owner says more.

    Parameters
    ----------
    name : str
        "outdoor", "shed" or "indoor".

    Examples
    --------
    >>> default_setting("outdoor").kind
    'stack'
    """
    if name not in SETTINGS:
        raise unknown_setting(name)
    return Setting(name, SETTINGS[name])


def unknown_setting(name: str) -> SettingError:
    """Return the refusal of a name that is none of the three settings."""
    return SettingError(
        _(
            "setting '{name}' is not known; allowed: {allowed}.{near}",
            name=name,
            allowed=", ".join(SETTINGS),
            near=did_you_mean(name, list(SETTINGS)),
        )
    )


def _checked(kind: Kind, name: str, value: Value) -> Value:
    parameter = PARAMETERS.get(name)
    if parameter is None or name not in kind.defaults:
        raise SettingError(
            _(
                "'{kind}' has no parameter '{name}'.{near} `emcforecast "
                "settings {kind}` lists what it has.",
                kind=kind.name,
                name=name,
                near=did_you_mean(name, list(kind.defaults)),
            )
        )
    if isinstance(value, str):
        word = value.strip().lower()
        if word in parameter.words:
            return word
    if not parameter.is_word:
        return _number(parameter, value)
    raise SettingError(
        _(
            "{name}={value}: allowed are {allowed}.{near}",
            name=name,
            value=value,
            allowed=_(" or ").join(parameter.words),
            near=did_you_mean(str(value).strip().lower(), parameter.words),
        )
    )


def _number(parameter: Parameter, value: Value) -> float:
    allowed = _allowed(parameter)
    try:
        number = float(value)
    except ValueError:
        raise SettingError(
            _(
                "{parameter}={value}: not a number; allowed: {allowed} ({meaning}).",
                parameter=parameter.name,
                value=value,
                allowed=allowed,
                meaning=p_("about a parameter", parameter.meaning),
            )
        ) from None
    if not parameter.low <= number <= parameter.high or (
        parameter.whole and number != math.floor(number)
    ):
        raise SettingError(
            _(
                "{parameter}={value:g}: allowed: {allowed} ({meaning}).",
                parameter=parameter.name,
                value=number,
                allowed=allowed,
                meaning=p_("about a parameter", parameter.meaning),
            )
        )
    return number


def _allowed(parameter: Parameter) -> str:
    """Say the values a parameter may have: "0 to 5 K, or none"."""
    low, high = f"{parameter.low:g}", f"{parameter.high:g} {parameter.unit}".rstrip()
    said = (
        _("whole numbers {low} to {high}", low=low, high=high)
        if parameter.whole
        else _("{low} to {high}", low=low, high=high)
    )
    if not parameter.words:
        return said
    words = _(" or ").join(parameter.words)
    return _("{numbers}, or {words}", numbers=said, words=words)


def _check_together(setting: Setting) -> None:
    values = setting.values()
    cool = values.get("cool_to")
    for name in ("heat_to", "heat_to_summer"):
        heat = values.get(name)
        if isinstance(heat, float) and isinstance(cool, float) and heat > cool:
            raise SettingError(
                _(
                    "{name}={heat:g} is above cool_to={cool:g}: heating and "
                    "cooling would fight; raise cool_to or lower {name}.",
                    name=name,
                    heat=heat,
                    cool=cool,
                )
            )
    low, high = values.get("humidify_to"), values.get("dehumidify_to")
    if isinstance(low, float) and isinstance(high, float) and low > high:
        raise SettingError(
            _(
                "humidify_to={low:g} is above dehumidify_to={high:g}: they "
                "would fight; raise dehumidify_to or lower humidify_to.",
                low=low,
                high=high,
            )
        )


FORMAT = "emcforecast calibration"
_GARBLED = (LookupError, TypeError, ArithmeticError, AttributeError)
LARGEST_CALIBRATION = 1_000_000


def read_calibration(path: str | Path, name: str | None = None) -> "Setting":
    """Read the setting a calibration file describes.

    Parameters
    ----------
    path : str or Path
        A file written by ``emcforecast calibrate … -o``.
    name : str, optional
        "outdoor", "shed" or "indoor"; the file's own by default.

    Returns
    -------
    Setting
        With the calibrated parameters and their likely ranges.

    Raises
    ------
    SettingError
        When the file is missing, is not such a file, or holds values out of range.
    """
    file = Path(path)
    hint = _(
        "write one with `emcforecast calibrate LOGGER WEATHER --setting … -o FILE`"
    )
    try:
        document = parse_json(contents(file, SettingError, LARGEST_CALIBRATION))
    except FileNotFoundError:
        raise SettingError(
            _("{path}: no such file; {hint}.", path=path, hint=hint)
        ) from None
    except (OSError, ValueError) as problem:
        if isinstance(problem, SettingError):
            raise
        raise SettingError(
            _(
                "{path}: cannot be read as a calibration ({problem}); {hint}.",
                path=path,
                problem=problem,
                hint=hint,
            )
        ) from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise SettingError(
            _("{path}: not a calibration file; {hint}.", path=path, hint=hint)
        )
    try:
        return Setting(
            name or str(document["setting"]),
            str(document["kind"]),
            dict(document["parameters"]),
            {k: (float(v[0]), float(v[1])) for k, v in document["likely"].items()},
        )
    except (
        LookupError,
        TypeError,
        ValueError,
        ArithmeticError,
        AttributeError,
    ) as problem:
        if isinstance(problem, SettingError):
            raise SettingError(f"{path}: {problem}") from None
        raise SettingError(
            _(
                "{path}: the calibration lacks or garbles {problem}; {hint}.",
                path=path,
                problem=problem,
                hint=hint,
            )
        ) from None


def write_calibration(path: str | Path, setting: "Setting", **about: object) -> None:
    """Write a calibrated setting, with what else is worth keeping, as JSON.

    Parameters
    ----------
    path : str or Path
        Where to.
    setting : Setting
        With parameters and likely ranges.
    **about
        Further plain entries: errors, dates, notes.
    """
    document = {
        "format": FORMAT,
        "setting": setting.name,
        "kind": setting.kind,
        "parameters": dict(setting.parameters),
        "likely": {k: list(v) for k, v in setting.likely.items()},
        **about,
    }
    text = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
    Path(path).write_text(text + "\n", encoding="utf-8")
