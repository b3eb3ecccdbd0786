"""The calibration file: what a logger taught about a storage place, as JSON."""

import json
from pathlib import Path

from emcforecast.errors import SettingError
from emcforecast.storage.settings import Setting

FORMAT = "emcforecast calibration"


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
    hint = "write one with `emcforecast calibrate LOGGER WEATHER --setting … -o FILE`"
    try:
        document = json.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise SettingError(f"{path}: no such file; {hint}.") from None
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as problem:
        raise SettingError(
            f"{path}: cannot be read as a calibration ({problem}); {hint}."
        ) from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise SettingError(f"{path}: not a calibration file; {hint}.")
    try:
        return Setting(
            name or str(document["setting"]),
            str(document["kind"]),
            dict(document["parameters"]),
            {k: (float(v[0]), float(v[1])) for k, v in document["likely"].items()},
        )
    except (KeyError, TypeError, ValueError, IndexError, AttributeError) as problem:
        if isinstance(problem, SettingError):
            raise SettingError(f"{path}: {problem}") from None
        raise SettingError(
            f"{path}: the calibration lacks or garbles {problem}; {hint}."
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
