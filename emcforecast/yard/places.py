"""The settings a yard may name: its own, the three everyone has, and their kinds."""

from collections.abc import Mapping
from pathlib import Path

from emcforecast.errors import InputError, YardError, did_you_mean
from emcforecast.storage.kinds import KINDS, SETTINGS
from emcforecast.storage.settings import Setting
from emcforecast.yard import fields
from emcforecast.yard.fields import Table


def known_settings(described: Mapping[str, Setting]) -> dict[str, Setting]:
    """Return every setting a stack may name.

    Parameters
    ----------
    described : mapping of str to Setting
        What the yard file describes, which goes before the defaults.

    Returns
    -------
    dict of str to Setting

    Examples
    --------
    >>> known_settings({})["indoor"].kind, known_settings({})["loft"].name
    ('house', 'shed')
    """
    known = dict(described)
    for name, kind in SETTINGS.items():
        known.setdefault(name, Setting(name, kind))
    for kind, about in KINDS.items():
        known.setdefault(kind, Setting(about.setting, kind))
    return known


def check_setting(name: str, known: Mapping[str, Setting], where: str) -> str:
    """Return a setting's name when the yard knows it.

    Parameters
    ----------
    name : str
        What was written.
    known : mapping of str to Setting
        Every setting the yard may name.
    where : str
        Where it was written, for the message.

    Raises
    ------
    YardError
        When it is not known, with the nearest.
    """
    if name in known:
        return name
    plain = name.replace("-", "").replace("_", "")
    key = name if plain.isascii() and plain.isalnum() else f'"{name}"'
    raise YardError(
        f"{where}: setting '{name}' is not known.{did_you_mean(name, list(known))} "
        f"Known: {', '.join(known)}; or describe it under [setting.{key}]."
    )


def setting_from(name: str, table: Table, folder: Path, where: str) -> Setting:
    """Check one [setting.NAME] table.

    Parameters
    ----------
    name : str
        What the yard calls the place.
    table : mapping
        ``kind``, ``calibration`` and the kind's parameters.
    folder : Path
        Where the calibration file is looked for.
    where : str
        For messages.

    Returns
    -------
    Setting

    Raises
    ------
    YardError
        When the kind, a parameter or the calibration file cannot be used.
    """
    kind = fields.choice(table, "kind", tuple(KINDS), where)
    kind = kind or (SETTINGS.get(name) or (name if name in KINDS else None))
    if kind is None:
        raise YardError(f"{where}: say what it is: kind = one of {', '.join(KINDS)}.")
    # A loft called "indoor" is still a loft: the kind decides how it is reckoned.
    group = name if name in SETTINGS else KINDS[kind].setting
    given = {k: v for k, v in table.items() if k not in ("kind", "calibration")}
    changes: dict[str, float | str] = {}
    for key, value in given.items():
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise YardError(f"{where}: {key} = {value!r} must be a number or a word.")
        changes[key] = float(value) if isinstance(value, int) else value
    file = fields.text(table, "calibration", where)
    try:
        if file is None:
            return Setting(group, kind, changes)
        calibrated = _calibrated(folder / file, group)
        if calibrated.kind != kind:
            raise YardError(
                f"{where}: {file} was made for kind '{calibrated.kind}', not '{kind}'. "
                f'Write kind = "{calibrated.kind}" or calibrate again.'
            )
        return Setting(
            group, kind, {**calibrated.parameters, **changes}, calibrated.likely
        )
    except YardError:
        raise
    except InputError as error:
        raise YardError(f"{where}: {error}") from error


def _calibrated(path: Path, group: str) -> Setting:
    from emcforecast.storage.calibration_file import read_calibration

    return read_calibration(str(path), group)
