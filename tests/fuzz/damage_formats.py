"""Every format damaged in each way its kind can be: ``python …/damage_formats.py``.

Writes docs/damage.json, from which docs/generate.py prints the table. Silent: the mean
equilibrium moisture over the times, and cells, that both have moves by over 0.2 % MC
and nothing is said that is not said of the undamaged file. Holes: nothing moves, but
impossible values of a grid are missing, as over the sea.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import numpy as np
import xarray as xr
from damage import counts as counts_of_years
from fuzz_grids import grib_grids, netcdf_grids, part_of, zarr_grids
from fuzz_judge import MOVED, BadAnswerError, refused
from fuzz_mutations import json_nodes, with_node, without_node
from fuzz_targets import targets

from emcforecast import equilibrium_moisture_content
from emcforecast.errors import InputError
from emcforecast.weather.repairs import repairs_of

TIMES = 12
RECORD = Path(__file__).parents[2] / "docs" / "damage.json"
Damage = Callable[[random.Random, bytes], bytes]


def _cut(rng: random.Random, data: bytes) -> bytes:
    return data[: rng.randrange(len(data) // 10, len(data) * 9 // 10)]


def _flipped(rng: random.Random, data: bytes) -> bytes:
    out = bytearray(data)
    for _ in range(8):
        out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
    return bytes(out)


def _emptied(rng: random.Random, data: bytes) -> bytes:
    """Zeros in place of a sixteenth of the bytes, as after a failed disk."""
    size = max(len(data) // 16, 1)
    at = rng.randrange(len(data) - size + 1)
    return data[:at] + bytes(size) + data[at + size :]


def _lost(rng: random.Random, data: bytes) -> bytes:
    size = max(len(data) // 16, 1)
    at = rng.randrange(len(data) - size + 1)
    return data[:at] + data[at + size :]


def _lines(change: Callable[[random.Random, list[str]], list[str]]) -> Damage:
    def damage(rng: random.Random, data: bytes) -> bytes:
        lines = data.decode("utf-8", "replace").split("\n")
        return "\n".join(change(rng, lines)).encode()

    return damage


def _body(lines: list[str]) -> int:
    """Return about where the rows begin: the later half is sure to be of rows."""
    return len(lines) // 2


def _line_lost(rng: random.Random, lines: list[str]) -> list[str]:
    at = rng.randrange(_body(lines), len(lines) - 1)
    return lines[:at] + lines[at + 1 :]


def _line_twice(rng: random.Random, lines: list[str]) -> list[str]:
    at = rng.randrange(_body(lines), len(lines) - 1)
    return lines[:at] + lines[at : at + 1] * 2 + lines[at + 1 :]


def _out_of_order(rng: random.Random, lines: list[str]) -> list[str]:
    half = lines[_body(lines) : -1]
    rng.shuffle(half)
    return [*lines[: _body(lines)], *half, *lines[-1:]]


def _cells(put: str, many: float) -> Callable[[random.Random, list[str]], list[str]]:
    def change(rng: random.Random, lines: list[str]) -> list[str]:
        sign = max(",;\t|", key=lines[_body(lines)].count)
        if sign not in lines[_body(lines)]:
            sign = " "
        count = len(lines[_body(lines)].split(sign))
        column = rng.randrange(count)
        out = list(lines)
        for at in range(_body(lines), len(lines)):
            cells = lines[at].split(sign)
            if rng.random() < many and len(cells) == count:
                cells[column] = put
                out[at] = sign.join(cells)
        return out

    return change


def _cell_more(rng: random.Random, lines: list[str]) -> list[str]:
    sign = max(",;\t|", key=lines[_body(lines)].count)
    at = rng.randrange(_body(lines), len(lines) - 1)
    return [*lines[:at], f"7{sign}{lines[at]}", *lines[at + 1 :]]


def _wide(rng: random.Random, data: bytes) -> bytes:
    return data.decode("utf-8", "replace").encode("utf-16")


def _node(put: Callable[[random.Random], object] | None) -> Damage:
    def damage(rng: random.Random, data: bytes) -> bytes:
        document = json.loads(data)
        path = rng.choice(json_nodes(document)[1:])
        if put is None:
            return json.dumps(without_node(document, path)).encode()
        return json.dumps(with_node(document, path, put(rng))).encode()

    return damage


def _sentinels(rng: random.Random, data: bytes) -> bytes:
    """-9999 in place of a tenth of the numbers of all lists."""

    def put(node: object) -> object:
        if isinstance(node, dict):
            return {k: put(v) for k, v in node.items()}
        if isinstance(node, list):
            return [put(v) for v in node]
        number = isinstance(node, float | int) and not isinstance(node, bool)
        return -9999 if number and rng.random() < 0.1 else node

    return json.dumps(put(json.loads(data))).encode()


BYTES: dict[str, Damage] = {
    "cut off": _cut,
    "8 bits flipped": _flipped,
    "a sixteenth zeroed": _emptied,
    "a sixteenth lost": _lost,
}
TEXT: dict[str, Damage] = {
    "cut off": _cut,
    "8 bits flipped": _flipped,
    "a row lost": _lines(_line_lost),
    "a row twice": _lines(_line_twice),
    "rows out of order": _lines(_out_of_order),
    "a cell more in a row": _lines(_cell_more),
    "words in a third of a column": _lines(_cells("ERR", 0.3)),
    "-9999 in a third of a column": _lines(_cells("-9999", 0.3)),
    "a column's later half empty": _lines(_cells("", 1.0)),
    "UTF-16": _wide,
}
JSON: dict[str, Damage] = {
    "cut off": _cut,
    "8 bits flipped": _flipped,
    "a node lost": _node(None),
    "a node of another kind": _node(
        lambda rng: rng.choice(("x", None, [], {}, 1e308, True))
    ),
    "-9999 in a tenth of the numbers": _sentinels,
}
KINDS = {"text": TEXT, "json": JSON, "bytes": BYTES}


def files() -> dict[str, Counter[str]]:
    """Return outcomes by "format | damage" for every weather format at one place."""
    found: dict[str, Counter[str]] = {}
    for target in targets():
        if target.ask is not None:
            continue
        own = {n: d for n, d in target.seeds.items() if "." in n}
        for name, data in own.items():
            if target.judge(data).startswith("refused"):
                continue  # a piece of a longer reply, refused as such
            times = 3 if len(data) > 200_000 else TIMES
            for damage, change in KINDS[target.how].items():
                seen: Counter[str] = Counter()
                for seed in range(times):
                    hurt = change(random.Random(f"{name} {damage} {seed}"), data)
                    seen[_outcome(target.judge, hurt, name)] += 1
                found[f"{name} | {damage}"] = seen
    return found


def _outcome(judge: Callable[[bytes, str], str], data: bytes, name: str) -> str:
    try:
        return judge(data, name).partition(":")[0]
    except BadAnswerError:
        return "crashed"


def grids() -> dict[str, Counter[str]]:
    """Return outcomes by "format | damage" for every kind of grid file."""
    found: dict[str, Counter[str]] = {}
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
    seeds = {**netcdf_grids(), **zarr_grids(), **grib_grids()}
    for name, data in seeds.items():
        good = _moisture(_laid(folder, name, data))
        for damage, change in BYTES.items():
            seen: Counter[str] = Counter()
            for seed in range(TIMES):
                hurt = _in_store if name.endswith(".zip") else _as_it_is
                rng = random.Random(f"{name} {damage} {seed}")
                path = _laid(folder, name, hurt(change, rng, data))
                try:
                    now = _moisture(path)
                except InputError as error:
                    seen[refused(name, error).partition(":")[0]] += 1
                    continue
                was, is_now = xr.align(good[0], now[0])
                moved = abs(float((is_now - was).mean())) if was.size else np.inf
                lost = int(is_now.isnull().sum()) - int(was.isnull().sum())
                said = bool(now[1] - good[1])
                silent = not said and not moved <= MOVED
                sort = "repaired" if said else "silent" if silent else "read"
                seen["holes" if sort == "read" and lost > 0 else sort] += 1
            found[f"{name} | {damage}"] = seen
    return found


def _as_it_is(change: Damage, rng: random.Random, data: bytes) -> bytes:
    return change(rng, data)


def _in_store(change: Damage, rng: random.Random, data: bytes) -> bytes:
    """Damage one file of a zarr store."""
    import io

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        held = {n: archive.read(n) for n in archive.namelist()}
    name = rng.choice(sorted(n for n in held if len(held[n]) > 16))
    held[name] = change(rng, held[name])
    from fuzz_grids import zipped

    return zipped(held)


def _laid(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def _moisture(path: Path) -> tuple[xr.DataArray, set[str]]:
    part = part_of(path)
    content = equilibrium_moisture_content(
        part["air_temperature"], part["relative_humidity"]
    )
    if content.size == 0 or bool(content.isnull().all()):
        raise InputError("nothing in it")
    return content, {item.kind.name for item in repairs_of(part)}


def main() -> None:
    """Write the record."""
    record = {
        "years": {k: dict(v) for k, v in counts_of_years().items()},
        "files": {k: dict(v) for k, v in files().items()},
        "grids": {k: dict(v) for k, v in grids().items()},
    }
    RECORD.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n")
    for part in ("files", "grids"):
        for key, seen in record[part].items():
            if seen.get("silent") or seen.get("crashed"):
                print(key, seen)


if __name__ == "__main__":
    main()
