"""The one JSON document a command prints, and the CSV beside it."""

import csv
import io
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, is_dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from emcforecast import __version__
from emcforecast.errors import harmless
from emcforecast.files import replace
from emcforecast.report.answer import Answer
from emcforecast.report.repairs import repair_sentences

if TYPE_CHECKING:
    import xarray as xr


def document(answer: Answer) -> dict[str, Any]:
    """Assemble the document that every command prints with ``--json``.

    Returns
    -------
    dict
        Keys command, version, inputs, weather, result, warnings, cautions; moisture
        contents in % of oven-dry mass, dates ISO; only values JSON knows, NaN as None.
    """
    weather = answer.weather
    return {
        "command": answer.command,
        "version": __version__,
        "inputs": plain(answer.inputs),
        "weather": None if weather is None else weather_summary(weather),
        "result": plain(answer.result),
        "warnings": list(answer.warnings),
        "cautions": list(answer.cautions),
    }


def weather_summary(weather: "xr.Dataset") -> dict[str, Any]:
    """Describe a weather series: source, span, years, repairs, attribution.

    Normals and typical years have no real dates: no span, no years.
    """
    from emcforecast.weather.series import ONE_YEAR_KINDS
    from emcforecast.weather.years import years_of

    attrs = weather.attrs
    dated = attrs.get("kind") not in ONE_YEAR_KINDS
    times = weather["time"].values[: None if dated else 0]
    place = {
        key: attrs[key]
        for key in ("latitude", "longitude", "elevation", "utc_offset")
        if key in attrs
    }
    summary = {
        "source": attrs.get("source", ""),
        "kind": attrs.get("kind", ""),
        "step": attrs.get("step", ""),
        "start": str(times[0])[:16] if len(times) else None,
        "end": str(times[-1])[:16] if len(times) else None,
        "years": [int(year) for year in years_of(weather)] if dated else [],
        "repairs": repair_sentences(weather),
        "attribution": attrs.get("attribution", ""),
        "licence": attrs.get("licence", ""),
        **place,
    }
    if "rebuilt_from" in attrs:
        summary["rebuilt_from"] = attrs["rebuilt_from"]
    return {key: plain(value) for key, value in summary.items()}


def plain(value: Any) -> Any:
    """Turn a result into values JSON knows; NaN becomes None."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str) or value is None or isinstance(value, bool):
        return value
    if isinstance(value, datetime | date | Path):
        return value.isoformat() if not isinstance(value, Path) else str(value)
    if isinstance(value, int | float):
        return value if math.isfinite(value) else None
    if hasattr(value, "dtype"):
        return _plain_array(value)
    if isinstance(value, Iterable):
        return [plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} has no place in a JSON document")


def _plain_array(value: Any) -> Any:
    if value.dtype.kind == "M":
        text = value.astype("datetime64[m]").astype(str)
        return None if text == "NaT" else text[:10] if text.endswith("T00:00") else text
    return plain(value.tolist())


def to_json(doc: Mapping[str, Any], *, ascii_only: bool = False) -> str:
    """Return the document as JSON text, two spaces a level.

    With ``ascii_only`` other letters are written as escapes, for a screen or file
    that knows no others.
    """
    text = json.dumps(doc, indent=2, ensure_ascii=ascii_only, allow_nan=False)
    return harmless(text)


def write_csv(path: str | Path, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write rows under the keys of the first one as UTF-8 CSV.

    Parameters
    ----------
    path : path-like
        Where to; an existing file is replaced, whole or not at all. Words that a
        spreadsheet would take for a formula begin with an apostrophe.
    rows : sequence of mapping
        One mapping a row, all with the keys of the first.

    Raises
    ------
    InputError
        When the file cannot be written.
    """
    replace(Path(path), csv_text(rows).encode())


def csv_text(rows: Sequence[Mapping[str, Any]]) -> str:
    """Return rows as CSV text, as `write_csv` writes them."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, fieldnames=list(rows[0]) if rows else [])
    writer.writeheader()
    writer.writerows({k: _cell(v) for k, v in row.items()} for row in rows)
    return text.getvalue()


FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for a formula when a cell begins with it."""


def _cell(value: Any) -> Any:
    value = plain(value)
    if value is None:
        return ""
    if isinstance(value, str):
        text = harmless(value)
        return f"'{text}" if value.startswith(FORMULA) else text
    return round(value, 4) if isinstance(value, float) else value
