"""The settings a yard may name: its own, the three everyone has, and their kinds."""

from collections.abc import Mapping
from pathlib import Path

from emcforecast.errors import InputError, YardError
from emcforecast.language import _, did_you_mean
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
        _(
            "{where}: setting '{name}' is not known.{near} Known: "
            "{known}; or describe it under [setting.{key}].",
            where=where,
            name=name,
            near=did_you_mean(name, list(known)),
            known=", ".join(known),
            key=key,
        )
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
    given = {k: v for k, v in table.items() if k not in ("kind", "calibration")}
    changes: dict[str, float | str] = {}
    for key, value in given.items():
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise YardError(
                _(
                    "{where}: {key} = {value!r} must be a number or a word.",
                    where=where,
                    key=key,
                    value=value,
                )
            )
        changes[key] = float(value) if isinstance(value, int) else value
    stated = fields.choice(table, "kind", tuple(KINDS), where)
    file = fields.text(table, "calibration", where)
    try:
        if file is not None:
            return _calibrated(name, stated, folder / file, changes)
        kind = stated or SETTINGS.get(name) or (name if name in KINDS else None)
        if kind is not None:
            return Setting(_group(name, kind), kind, changes)
    except InputError as error:
        raise YardError(f"{where}: {error}") from error
    raise YardError(
        _(
            "{where}: say what it is: kind = one of {known}.",
            where=where,
            known=", ".join(KINDS),
        )
    )


def _group(name: str, kind: str) -> str:
    """Return outdoor, shed or indoor: by the name, else by the kind."""
    return name if name in SETTINGS else KINDS[kind].setting


def _calibrated(
    name: str, stated: str | None, path: Path, changes: dict[str, float | str]
) -> Setting:
    """Return a setting as a logger taught it, with what the file adds."""
    from emcforecast.storage.settings import read_calibration

    found = read_calibration(path)
    if stated not in (None, found.kind):
        raise YardError(
            _(
                "{file} was made for kind '{kind}', not '{stated}'. Write "
                'kind = "{kind}" or calibrate again.',
                file=path.name,
                kind=found.kind,
                stated=stated,
            )
        )
    return Setting(
        _group(name, found.kind),
        found.kind,
        {**found.parameters, **changes},
        found.likely,
    )
