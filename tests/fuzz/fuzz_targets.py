"""What is fuzzed: each reader with its seeds."""

from __future__ import annotations

import json
import tempfile
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from fuzz_grids import (
    grib_grids,
    grid_file,
    netcdf_grids,
    zarr_grids,
    zarr_store,
)
from fuzz_judge import Target
from fuzz_seeds import ROOT, hours_table, months_table, netcdf, samples, typical
from fuzz_values import FORMS, LINES, command_line, form, value, value_seeds

from emcforecast.errors import InputError
from emcforecast.storage.settings import read_calibration
from emcforecast.yard.corrected import correct
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import read_log
from emcforecast.yard.model import Meter
from emcforecast.yard.reading import reading_from

CORPUS = Path(__file__).parent / "corpus"


def _in_file(suffix: str, ask: Callable[[Path], str]) -> Callable[[bytes], str]:
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))

    def read(data: bytes) -> str:
        path = folder / f"input{suffix}"
        path.write_bytes(data)
        return ask(path)

    return read


@cache
def _stack() -> object:
    yard = ROOT / "data" / "yard" / "yard.toml"
    return read_yard(yard).stacks[0]


def _readings(path: Path) -> str:
    log = read_log(path)
    used = 0
    for row in log.rows:
        try:
            reading = reading_from(row.fields, "si", row.line)
        except InputError:
            continue
        used += correct(reading, _stack(), 1.0, Meter()).used
    return "repaired" if log.damaged or log.unread_columns else f"read {min(used, 3)}"


def _yard(path: Path) -> str:
    return f"read {min(len(read_yard(path).stacks), 3)}"


def _calibration(path: Path) -> str:
    return f"read {read_calibration(path).kind}"


CALIBRATION = {
    "format": "emcforecast calibration",
    "setting": "shed",
    "kind": "loft",
    "parameters": {"buffer_exchange": 3.0},
    "likely": {"buffer_exchange": [1.0, 6.0]},
}


def _lines(texts: tuple[str, ...]) -> dict[str, bytes]:
    return {f"line {n}": text.encode() for n, text in enumerate(texts)}


@cache
def targets() -> tuple[Target, ...]:
    """Return every target with its seeds, and with what was kept as learned.

    Shares are by how long an input takes: the slow ones get fewer.
    """
    yard = (ROOT / "data" / "yard" / "yard.toml").read_bytes()
    log = (ROOT / "data" / "yard" / "readings.csv").read_bytes()
    forms = ("iso", "german", "us", "parts", "epoch")
    tables = {f"{form}.csv": hours_table(form) for form in forms}
    tables["months.csv"] = months_table()
    years = {"year.epw": typical("epw"), "pvgis.csv": typical("pvgis")}
    loft = {"loft.json": json.dumps(CALIBRATION).encode()}
    lines = _lines(LINES)
    ask_log, ask_yard = _in_file(".csv", _readings), _in_file(".toml", _yard)
    ask_loft = _in_file(".json", _calibration)
    found = [
        Target("tables", tables, "text", share=8),
        Target("json replies", samples("json"), "json", share=14),
        Target("text replies", samples("text"), "text", share=1.5),
        Target("packed replies", samples("bytes"), "bytes", share=20),
        Target("netcdf", netcdf(), "bytes", share=6),
        Target("typical years", years, "text", share=0.15),
        Target("readings", {"log.csv": log}, "text", ask_log, share=7),
        Target("yard file", {"yard.toml": yard}, "text", ask_yard, share=8),
        Target("calibration", loft, "json", ask_loft, share=14),
        Target("command line", lines, "words", command_line, share=4),
        Target("values", value_seeds(), "value", value, share=20),
        Target("forms", _lines(FORMS), "form", form, share=2),
        Target("grids, netcdf", netcdf_grids(), "bytes", grid_file, share=1.5),
        Target("grids, zarr", zarr_grids(), "store", zarr_store, share=1.5),
        Target("grids, grib", grib_grids(), "bytes", grid_file, share=0.25),
    ]
    for target in found:
        target.learned.extend(kept(target.name).values())
    return tuple(target for target in found if target.seeds)


def kept_in(name: str) -> Path:
    """Return where the inputs kept for a target lie."""
    return CORPUS / f"{name.replace(',', '').replace(' ', '_')}.zip"


def kept(name: str) -> dict[str, bytes]:
    """Return the inputs kept for a target by name."""
    if not kept_in(name).exists():
        return {}
    with zipfile.ZipFile(kept_in(name)) as archive:
        return {n: archive.read(n) for n in archive.namelist()}
