"""A storage setting as people write it, and back."""

from collections.abc import Mapping

from emcforecast.errors import SettingError, did_you_mean
from emcforecast.storage.calibration_file import read_calibration
from emcforecast.storage.kinds import SETTINGS
from emcforecast.storage.parameters import Value
from emcforecast.storage.settings import Setting, kind_named


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
                f"'{change}' in '{text}' is not a parameter; write parameter=value, "
                f"such as {next(iter(kind_named(kind).defaults))}=…"
            )
        parameters[key] = value
    if name not in SETTINGS:
        raise SettingError(
            f"setting '{name}' is not known; allowed: {', '.join(SETTINGS)}, as in "
            f"shed=loft.{did_you_mean(name, list(SETTINGS))}"
        )
    return Setting(name, kind_named(kind).name, parameters, likely)


def as_setting(setting: str | Setting, **parameters: Value) -> Setting:
    """Return a setting from its text or itself, with parameters changed.

    Examples
    --------
    >>> as_setting("loft", roof="metal").text()
    'shed=loft,roof=metal'
    """
    found = parse_setting(setting) if isinstance(setting, str) else setting
    return found.changed(**parameters) if parameters else found


def _setting_of(name: str) -> tuple[str, str]:
    if name.lower().endswith(".json"):
        return "shed", name
    kind = kind_named(name)
    return kind.setting, kind.name
