"""What is fuzzed: each reader with its seeds, and how its answer is judged."""

from __future__ import annotations

import json
import random
import re
import shlex
import tempfile
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from click.testing import CliRunner
from fuzz_mutations import damaged

from emcforecast.cli.group import cli
from emcforecast.errors import InputError
from emcforecast.storage.settings import read_calibration
from emcforecast.weather.formats.content import unpack
from emcforecast.weather.formats.netcdf import write_weather
from emcforecast.weather.hints import Hints
from emcforecast.weather.read import demonstration, read_bytes
from emcforecast.weather.repairs import repairs_of
from emcforecast.yard.corrected import correct
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import read_log
from emcforecast.yard.model import Meter
from emcforecast.yard.reading import reading_from

ROOT = Path(__file__).parents[2]
CORPUS = Path(__file__).parent / "corpus"
SLOW_S = 10.0
LONGEST = 700
HERE = Hints(latitude=46.5, longitude=8.5, utc_offset=1.0)


class BadAnswerError(AssertionError):
    """An answer that is neither read nor refused in one line, or comes too late."""


@dataclass(frozen=True)
class Target:
    """A reader to be fuzzed.

    `seeds`: good inputs by name; `how`: the way their content is damaged; `ask`: reads
    bytes and returns what came of it in a few words, refusals as `InputError`.
    """

    name: str
    seeds: dict[str, bytes]
    how: str
    ask: Callable[[bytes], str]

    def damaged(self, rng: random.Random) -> bytes:
        """Return a damaged seed."""
        seed = self.seeds[rng.choice(sorted(self.seeds))]
        return damaged(rng, seed, self.how)

    def judge(self, data: bytes) -> str:
        """Return what came of an input; raise `BadAnswerError` for what may not be."""
        start = time.monotonic()
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                outcome = self.ask(data)
            except InputError as error:
                said = str(error)
                if "\n" in said or len(said) > LONGEST or not said.strip():
                    raise BadAnswerError(
                        f"{self.name}: not one line: {said!r}"
                    ) from error
                outcome = "refused: " + re.sub(r"\d+|'[^']*'|\([^)]*\)", "#", said)[:60]
        if time.monotonic() - start > SLOW_S:
            raise BadAnswerError(f"{self.name}: took over {SLOW_S:g} s")
        return outcome


def _weather(data: bytes) -> str:
    series = read_bytes(data, "fuzz", HERE)
    humid = series["relative_humidity"].to_numpy()
    known = humid[np.isfinite(humid)]
    if known.size and not (known.min() >= 0.0 and known.max() <= 100.0):
        raise BadAnswerError(f"humidity of {known.min()} to {known.max()} % let in")
    warm = series["air_temperature"].to_numpy()
    if np.isinf(warm).any() or np.abs(warm[np.isfinite(warm)]).max(initial=0.0) > 90.0:
        raise BadAnswerError("an impossible temperature let in")
    kinds = sorted({item.kind.name for item in repairs_of(series)})
    return "repaired" if kinds else "read"


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


def _words(data: bytes) -> str:
    """Run a command line; only cheap commands are among the seeds."""
    text = data.decode("utf-8", "replace").replace("\x00", "")
    try:
        words = shlex.split(text)
    except ValueError:
        words = text.split()
    if not words or words[0] not in COMMANDS:
        words = ["meter", *words]
    words = [w for w in words if w not in ("--csv", "--plot", "--yard", "--weather")]
    done = CliRunner().invoke(cli, words)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    lines = done.stderr.strip().splitlines()
    if done.exit_code not in (0, 2) or (done.exit_code == 2 and len(lines) != 1):
        raise BadAnswerError(f"{words}: exit {done.exit_code}, {done.stderr[-300:]!r}")
    if re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", done.output):
        raise BadAnswerError(f"{words}: control signs reach the screen")
    if done.exit_code == 2:
        raise InputError(lines[0][:LONGEST])
    if "--json" in words:
        strict_json(done.stdout)
    elif NO_NUMBER.search(done.stdout) and not NO_NUMBER.search(" ".join(words)):
        raise BadAnswerError(f"{words}: {done.stdout[-300:]!r}")
    return "read"


NO_NUMBER = re.compile(r"\b(nan|inf)", re.IGNORECASE)
"""In the words of a person it is an echo; in an answer to others it is a fault."""


def strict_json(text: str) -> None:
    """Raise `BadAnswerError` for what is no JSON, and for NaN and Infinity in it."""

    def refuse(constant: str) -> None:
        raise BadAnswerError(f"{constant} in JSON: {text[-300:]!r}")

    try:
        json.loads(text, parse_constant=refuse)
    except ValueError as error:
        raise BadAnswerError(f"no JSON ({error}): {text[-300:]!r}") from error


COMMANDS = ("meter", "movement", "weight", "species", "settings")
LINES = (
    "meter 12.5 --wood-temp 30F --species 'red oak' --depth '1/4 in' --thickness 8/4",
    "meter 18 --kind pinless --set-gravity 0.5 --wood-temp -1C --calibrated 21C",
    "meter --shell 12 --core 18 --target 7:9 --thickness 54mm",
    "meter --oven 136g 100g",
    "meter --sample 3.2kg 62 2.4kg",
    "meter 12 --second 14 --json",
    "movement --species beech --width 300mm --thickness '1 1/8 in' --from 14 --to 8",
    "movement --width 12in --grain quarter --planing 1/8in --units us",
    "weight --species ash --thickness 27 --layers 8 --mc 60 --width 4ft --length 2.5m",
    "weight --fill 0.9 --part sapwood --json",
    "species oak --json",
    "species 'European beech'",
    "settings shed=loft,roof=metal",
    "settings indoor,heat_to=19 --json",
)


def _hours_table(form: str) -> bytes:
    """Two weeks of hours in one of the ways people write them."""
    hours = np.datetime64("2021-03-01T00") + np.arange(336)
    rows = []
    for k, at in enumerate(hours):
        t = 8 + 6 * np.sin(2 * np.pi * (k - 9) / 24)
        h = 70 - 20 * np.sin(2 * np.pi * (k - 9) / 24)
        day, clock = str(at).split("T")
        y, m, d = day.split("-")
        row = {
            "iso": f"{day} {clock}:00,{t:.1f},{h:.0f},{k % 7 == 0:d}",
            "german": f"{d}.{m}.{y} {clock}:00;{int(t)},{int(t * 10) % 10};{h:.0f}",
            "us": f"{m}/{d}/{y}\t{int(clock) % 12 or 12}:00 "
            f"{'AM' if int(clock) < 12 else 'PM'}\t{t * 1.8 + 32:.1f} F\t{h:.0f}%",
            "parts": f"{y} {int(m)} {int(d)} {int(clock)} {t:.1f} {t - 4:.1f}",
            "epoch": f"{at.astype('datetime64[s]').astype(int)},{t:.2f},{h / 100:.3f}",
        }[form]
        rows.append(row)
    head = {
        "iso": "# Latitude: 46.5\ntime_utc,temp_c,rh_pct,rain_mm",
        "german": "Zeitstempel;Temperatur [°C];rel. Feuchte (%)",
        "us": "Date\tTime\tOutdoor Temp\tOutdoor Humidity",
        "parts": "year month day hour temp_c dewpoint_c",
        "epoch": "epoch,t2m (°C),rh (fraction)",
    }[form]
    return "\n".join([head, *rows]).encode()


def _months_table() -> bytes:
    rows = [f"{m},{10 - 12 * np.cos(m * 0.52):.1f},{75 + m % 3}" for m in range(1, 13)]
    return "\n".join(["month,temperature_c,relative_humidity_pct", *rows]).encode()


def _netcdf() -> dict[str, bytes]:
    series = demonstration().isel(time=slice(0, 480))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "own.nc"
        write_weather(series, path)
        own = path.read_bytes()
        foreign = series.rename(air_temperature="t2m", relative_humidity="rh")
        foreign = foreign[["t2m", "rh"]].drop_attrs()
        foreign["t2m"].attrs = {"units": "degC", "standard_name": "air_temperature"}
        foreign["rh"].attrs = {"units": "%", "standard_name": "relative_humidity"}
        foreign.to_netcdf(path, engine="scipy", format="NETCDF3_CLASSIC")
        return {"own.nc": own, "classic.nc": path.read_bytes()}


def _typical(form: str) -> bytes:
    """A made typical year, EPW or TMY3 or PVGIS, whole enough to be read."""
    hours = np.arange(np.datetime64("2021-01-01T00"), np.datetime64("2022-01-01T00"))
    rows = []
    for k, at in enumerate(hours):
        t = 10 - 11 * np.cos(2 * np.pi * k / 8760) - 4 * np.cos(2 * np.pi * k / 24)
        day, clock = str(at).split("T")
        y, m, d = day.split("-")
        if form == "epw":
            cells = [y, m, d, str(int(clock) + 1), "60", "?9", f"{t:.1f}", "99.9", "70"]
            cells += ["99000", "0", "0", "300", *["0"] * 8, "1.0", "5", "5", "9999"]
            cells += [
                "99999",
                "9",
                "999999999",
                "10",
                "0.1",
                "0",
                "88",
                "0.2",
                "9",
                "9",
            ]
            rows.append(",".join(cells))
        else:
            rows.append(f"{y}{m}{d}:{clock}00,{t:.1f},70,0.0,1.0")
    if form == "epw":
        head = ["LOCATION,Somewhere,-,-,made,0,45.0,8.0,1.0,100.0", "DESIGN CONDITIONS"]
        head += ["TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
        head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"]
        head += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    else:
        head = ["Latitude (decimal degrees): 45.0", "Longitude (decimal degrees): 8.0"]
        head += ["", "month,year", "1,2010", "", "time(UTC),T2m,RH,G(h),WS10m"]
    return "\n".join([*head, *rows, ""]).encode()


def _samples(kind: str) -> dict[str, bytes]:
    found = {}
    for path in sorted((ROOT / "data" / "samples").iterdir()):
        content = path.read_bytes()
        bare = unpack(content)
        if path.name.startswith("hourly_normals"):
            bare = content = bare[:6000]
        is_json = bare.lstrip()[:1] in (b"{", b"[")
        is_text = not is_json and path.suffix != ".zip" and path.name != "README.md"
        if (kind == "json" and is_json) or (kind == "text" and is_text):
            found[path.name] = bare
        elif kind == "bytes" and path.suffix in (".zip", ".gz"):
            found[path.name] = content
    return found


CALIBRATION = {
    "format": "emcforecast calibration",
    "setting": "shed",
    "kind": "loft",
    "parameters": {"buffer_exchange": 3.0},
    "likely": {"buffer_exchange": [1.0, 6.0]},
}


@cache
def targets() -> tuple[Target, ...]:
    """Return every target with its seeds and what the corpus adds to them."""
    yard = (ROOT / "data" / "yard" / "yard.toml").read_bytes()
    log = (ROOT / "data" / "yard" / "readings.csv").read_bytes()
    forms = ("iso", "german", "us", "parts", "epoch")
    tables = {f"{form}.csv": _hours_table(form) for form in forms}
    found = (
        Target("tables", {**tables, "months.csv": _months_table()}, "text", _weather),
        Target("json replies", _samples("json"), "json", _weather),
        Target("text replies", _samples("text"), "text", _weather),
        Target("packed replies", _samples("bytes"), "bytes", _weather),
        Target("netcdf", _netcdf(), "bytes", _weather),
        Target(
            "typical years",
            {"year.epw": _typical("epw"), "pvgis.csv": _typical("pvgis")},
            "text",
            _weather,
        ),
        Target("readings", {"log.csv": log}, "text", _in_file(".csv", _readings)),
        Target("yard file", {"yard.toml": yard}, "text", _in_file(".toml", _yard)),
        Target(
            "calibration",
            {"loft.json": json.dumps(CALIBRATION).encode()},
            "json",
            _in_file(".json", _calibration),
        ),
        Target(
            "command line",
            {f"line {n}": line.encode() for n, line in enumerate(LINES)},
            "words",
            _words,
        ),
    )
    for target in found:
        kept = CORPUS / target.name.replace(" ", "_")
        if kept.is_dir():
            for path in sorted(kept.iterdir()):
                target.seeds[path.name] = path.read_bytes()
    return found
