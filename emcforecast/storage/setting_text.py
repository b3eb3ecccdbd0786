"""A storage setting as people write it, and back."""

from collections.abc import Iterable, Mapping

from emcforecast.errors import SettingError
from emcforecast.language import _, did_you_mean
from emcforecast.storage.kinds import SETTINGS
from emcforecast.storage.parameters import Value
from emcforecast.storage.settings import (
    Setting,
    kind_named,
    read_calibration,
    unknown_setting,
)

SettingLike = str | Setting | Mapping[str, str | Setting | Mapping[str, Value]]
"""What `as_setting` takes for one setting."""
SettingsLike = SettingLike | Iterable[SettingLike]
"""What `as_settings` takes for several."""


def parse_setting(text: str) -> Setting:
    """Read a setting as people write it.

    Parameters
    ----------
    text : str
        ``NAME[=KIND][,parameter=value…]``: "shed", "shed=loft",
        "shed=loft,roof=metal", "indoor=house,heat_to=19"; a kind alone ("loft") stands
        for its usual setting, and a calibration file ("shed=loft.json") for what it
        holds.

    Returns
    -------
    Setting
        Checked.

    Raises
    ------
    SettingError
        With what was given, what is allowed and what to do.

    Examples
    --------
    >>> parse_setting("indoor,heat_to=19").text()
    'indoor=house,heat_to=19'
    """
    head, *changes = (part.strip() for part in text.split(","))
    name, equals, kind = (part.strip() for part in head.partition("="))
    if not equals:
        if name in SETTINGS:
            kind = SETTINGS[name]
        else:
            name, kind = _setting_of(name)
    parameters: dict[str, Value] = {}
    likely: Mapping[str, tuple[float, float]] = {}
    if kind.lower().endswith(".json"):
        calibrated = read_calibration(kind, name if equals else None)
        name = calibrated.name
        kind, parameters = calibrated.kind, dict(calibrated.parameters)
        likely = calibrated.likely
    for change in changes:
        key, equals, value = (part.strip() for part in change.partition("="))
        if not equals or not key or not value:
            raise SettingError(
                _(
                    "'{change}' in '{text}' is not a parameter; write "
                    "parameter=value, such as {example}=…",
                    change=change,
                    text=text,
                    example=next(iter(kind_named(kind).defaults)),
                )
            )
        parameters[key] = value
    if name not in SETTINGS:
        raise SettingError(
            _(
                "setting '{name}' is not known; allowed: {allowed}, as in "
                "shed=loft.{near}",
                name=name,
                allowed=", ".join(SETTINGS),
                near=did_you_mean(name, list(SETTINGS)),
            )
        )
    return Setting(name, kind_named(kind).name, parameters, likely)


def as_setting(setting: SettingLike, **parameters: Value) -> Setting:
    """Return a setting from its text, a mapping or itself, with parameters changed.

    Raises
    ------
    SettingError
        For what cannot be one setting.

    Examples
    --------
    >>> as_setting("loft", roof="metal").text()
    'shed=loft,roof=metal'
    >>> as_setting({"shed": {"kind": "loft", "roof": "metal"}}).text()
    'shed=loft,roof=metal'
    """
    if isinstance(setting, Setting):
        found = setting
    elif isinstance(setting, str):
        found = parse_setting(setting)
    else:
        several = as_settings(setting)
        if len(several) != 1:
            raise SettingError(
                _(
                    "one setting is needed, not {count}: a Setting, or its text "
                    "such as 'shed=loft,roof=metal'",
                    count=len(several),
                )
            )
        found = several[0]
    return found.changed(**parameters) if parameters else found


def as_settings(settings: SettingsLike) -> tuple[Setting, ...]:
    """Return settings from one or several of them, in any way they are written.

    Parameters
    ----------
    settings : Setting, str, mapping or iterable of those
        A `Setting`; its text ("shed=loft,roof=metal"); or a mapping of a setting's
        name to the kind with its changes ("loft,roof=metal"), to a `Setting`, or to a
        mapping of parameters with the kind under "kind".

    Raises
    ------
    SettingError
        For what cannot be a setting.

    Examples
    --------
    >>> [setting.text() for setting in as_settings(["loft", "indoor,heat_to=19"])]
    ['shed=loft', 'indoor=house,heat_to=19']
    >>> as_settings({"shed": "loft,roof=metal"})[0].text()
    'shed=loft,roof=metal'
    """
    if isinstance(settings, Setting | str):
        return (as_setting(settings),)
    if isinstance(settings, Mapping):
        return tuple(_setting_called(name, what) for name, what in settings.items())
    if not isinstance(settings, Iterable):
        raise SettingError(
            _(
                "{settings!r} is no setting; give a Setting, its text such "
                "as 'shed=loft,roof=metal', or several of them",
                settings=settings,
            )
        )
    return tuple(found for one in settings for found in as_settings(one))


def _setting_called(name: str, what: str | Setting | Mapping[str, Value]) -> Setting:
    """Return the setting of a name from its kind, its parameters, or itself."""
    if name not in SETTINGS:
        raise unknown_setting(name)
    if isinstance(what, Mapping):
        parameters = {key: value for key, value in what.items() if key != "kind"}
        return Setting(name, str(what.get("kind", SETTINGS[name])), parameters)
    if isinstance(what, str):
        head = what.partition(",")[0]
        is_whole = "=" in head or head.strip() in SETTINGS
        found = parse_setting(what if is_whole else f"{name}={what}")
    else:
        found = as_setting(what)
    if found.name != name:
        raise SettingError(
            _(
                "setting '{name}' is given as '{found}', which is of "
                "'{name2}'; write it under '{name2}'",
                name=name,
                found=found.text(),
                name2=found.name,
            )
        )
    return found


def _setting_of(name: str) -> tuple[str, str]:
    if name.lower().endswith(".json"):
        return "shed", name
    kind = kind_named(name)
    return kind.setting, kind.name
