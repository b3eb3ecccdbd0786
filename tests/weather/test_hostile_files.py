"""Files made to cost time or memory: one line, quickly, within a gigabyte."""

import bz2
import gzip
import io
import json
import lzma
import os
import random
import struct
import subprocess
import sys
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest

MOST_BYTES = 1_000_000_000
SECONDS = 20
"""Of the processor: when a file counts as hanging the program. All take under one,
however busy the machine; one that waits for ever fails by the limit of the whole."""

ASK = """
import json, resource, signal, sys, time
from emcforecast import read_weather
from emcforecast.errors import InputError
resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
def peak_kb():
    # Not ru_maxrss: that keeps what the process that started this one held.
    for line in open("/proc/self/status"):
        if line.startswith("VmHWM"):
            return int(line.split()[1])
told = {}
for path in sys.argv[2:]:
    signal.setitimer(signal.ITIMER_PROF, float(sys.argv[1]))
    try:
        read_weather(path)
        told[path] = "read"
    except InputError as error:
        told[path] = str(error)
    print(json.dumps([told, peak_kb()]))
    sys.stdout.flush()
"""


def prose(size: int) -> bytes:
    """Words without end, some of them those of headers."""
    words = "the air of a barn is damp in may when".split(" ")  # noqa: SIM905
    words += ["time", "and", "wind", "rain"]
    rng = random.Random(2)
    return " ".join(rng.choice(words) for _ in range(size // 4)).encode()


def bomb(pack: Callable[[bytes], bytes]) -> bytes:
    """A table and 3 GB of the same row, packed by a packer of one piece."""
    head = b"time_utc,temp_c,rh_pct\n"
    row = b"2021-01-01 00:00,1.0,80\n"
    return pack(head) + pack(row * 400_000) * 300


def zipped(content: bytes, method: int = zipfile.ZIP_DEFLATED) -> bytes:
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", method) as archive:
        archive.writestr("weather.csv", content)
    return box.getvalue()


def zip_bomb() -> bytes:
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(60):
            row = b"2021-01-01 00:00,1.0,80\n"
            archive.writestr(f"weather{number}.csv", row * 1_000_000)
    return box.getvalue()


def lying_zip() -> bytes:
    """A member of 2 GB of zeros that says it has a hundred bytes."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    packer.compress(b"")
    piece = packer.compress(b"\0" * 20_000_000) + packer.flush(zlib.Z_FULL_FLUSH)
    body = piece * 100 + packer.flush()
    name, crc, said = b"weather.csv", zlib.crc32(b"\0" * 100), 100
    local = struct.pack(
        "<4s5H3I2H", b"PK\3\4", 20, 0, 8, 0, 0, crc, len(body), said, len(name), 0
    )
    entry = struct.pack(
        "<4s6H3I5H2I", b"PK\1\2", 20, 20, 0, 8, 0, 0, crc, len(body), said, len(name),
        0, 0, 0, 0, 0, 0,
    )  # fmt: skip
    start = len(local) + len(name) + len(body)
    size = len(entry) + len(name)
    end = struct.pack("<4s4H2IH", b"PK\5\6", 0, 0, 1, 1, size, start, 0)
    return local + name + body + entry + name + end


def nested_zip() -> bytes:
    content = b"time_utc,temp_c,rh_pct\n"
    for _ in range(40):
        content = zipped(content, zipfile.ZIP_STORED)
    return content


def greedy_netcdf(path: Path) -> None:
    """Few bytes on disk: a time axis and a temperature that were never written."""
    with h5py.File(path, "w") as file:
        time = file.create_dataset("time", (1_000_000_000,), "f8", chunks=(1_000_000,))
        time.attrs["units"] = "hours since 1900-01-01"
        time.make_scale("time")
        for name, units in (("t2m", "K"), ("d2m", "K")):
            held = file.create_dataset(name, time.shape, "f8", chunks=(1_000_000,))
            held.attrs["units"] = units
            held.dims[0].attach_scale(time)


def greedy_chunk(path: Path) -> None:
    """Every read of an hour would take a chunk of two gigabytes."""
    with h5py.File(path, "w") as file:
        hours = 9000
        time = file.create_dataset("time", (hours,), "i4")
        time[:] = np.arange(hours)
        time.attrs["units"] = "hours since 2000-01-01"
        time.make_scale("time")
        shape = (hours, 30_000)
        for name, units in (("t2m", "K"), ("d2m", "K")):
            held = file.create_dataset(
                name, shape, "f8", chunks=shape, compression="gzip", fillvalue=280.0
            )
            held.attrs["units"] = units
            held.dims[0].attach_scale(time)


def greedy_grid(path: Path) -> None:
    """A grid of nine million by nine million points."""
    with h5py.File(path, "w") as file:
        axes = {"time": 9000, "latitude": 9_000_000, "longitude": 9_000_000}
        for name, size in axes.items():
            held = file.create_dataset(name, (size,), "f4", chunks=(min(size, 65536),))
            held.make_scale(name)
        file["time"].attrs["units"] = "hours since 2000-01-01"
        file["latitude"].attrs["units"] = "degrees_north"
        file["longitude"].attrs["units"] = "degrees_east"
        shape = tuple(axes.values())
        for name in ("t2m", "d2m"):
            held = file.create_dataset(name, shape, "f4", chunks=(1, 1024, 1024))
            held.attrs["units"] = "K"
            for at, axis in enumerate(axes):
                held.dims[at].attach_scale(file[axis])


def endless_heap(path: Path) -> None:
    """A global heap with an entry of no length, on which HDF5 goes round for ever."""
    greedy_grid(path)
    held = bytearray(path.read_bytes())
    at = held.index(b"GCOL\x01\0\0\0")
    held[at + 16 : at + 32] = bytes(16)
    path.write_bytes(held)


def classic_netcdf(dimension: int) -> bytes:
    """A classic header that promises far more than follows."""

    def name(text: bytes) -> bytes:
        return struct.pack(">i", len(text)) + text.ljust(-(-len(text) // 4) * 4, b"\0")

    units = name(b"units") + struct.pack(">i", 2)
    dims = struct.pack(">ii", 10, 1) + name(b"time") + struct.pack(">i", dimension)
    held = b""
    for label, unit in ((b"time", b"hours since 2000-01-01"), (b"t2m", b"K")):
        held += name(label) + struct.pack(">ii", 1, 0) + struct.pack(">ii", 12, 1)
        held += units + name(unit) + struct.pack(">iii", 6, 2**31 - 4, 400)
    head = b"CDF\x01" + struct.pack(">i", 0) + dims + struct.pack(">ii", 0, 0)
    return head + struct.pack(">ii", 11, 2) + held


HOURS = np.arange(np.datetime64("2021-01-01T00"), np.datetime64("2021-03-01T00"))


def table(cell: str) -> bytes:
    """A table with one cell of a temperature put in place of the other."""
    rows = [f"{str(at).replace('T', ' ')}:00,{cell},80" for at in HOURS]
    return "\n".join(["time_utc,temp_c,rh_pct", *rows]).encode()


def write_hostile(folder: Path) -> dict[str, Path]:
    wanted: dict[str, bytes] = {
        "prose.txt": prose(20_000),
        "prose_commas.txt": prose(60_000).replace(b"damp", b"damp,"),
        "one_long_name.csv": b"a" * 500_000 + b",temperature\n1,2\n",
        "brackets.csv": b"(" * 100_000 + b",temperature\n1,2\n",
        "number.csv": table("1" + " " * 20_000 + "x"),
        "digits.csv": table("9" * 30_000 + "x"),
        "stamps.csv": b"time,temp_c,rh\n" + (b"1" + b" " * 50_000 + b",1,2\n") * 40,
        "bomb.csv.gz": bomb(lambda part: gzip.compress(part, 9)),
        "bomb.csv.bz2": bomb(bz2.compress),
        "bomb.csv.xz": bomb(lzma.compress),
        "empty_members.gz": gzip.compress(b"") * 400_000,
        "doll.gz": dolls(),
        "bomb.zip": zip_bomb(),
        "lying.zip": lying_zip(),
        "nested.zip": nested_zip(),
        "classic.nc": classic_netcdf(900_000_000),
    }
    paths = {name: folder / name for name in wanted}
    for name, content in wanted.items():
        paths[name].write_bytes(content)
    for name, make in (
        ("greedy.nc", greedy_netcdf),
        ("chunk.nc", greedy_chunk),
        ("grid.nc", greedy_grid),
        ("heap.nc", endless_heap),
    ):
        paths[name] = folder / name
        make(paths[name])
        assert paths[name].stat().st_size < 1_000_000
    os.mkfifo(folder / "pipe")
    return {
        **paths,
        "a pipe": folder / "pipe",
        "an endless device": Path("/dev/zero"),
        "noise": Path("/dev/urandom"),
    }


def dolls() -> bytes:
    """Gzip in gzip, thirty deep."""
    content = b"time_utc,temp_c,rh_pct\n"
    for _ in range(30):
        content = gzip.compress(content)
    return content


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="no /proc here")
@pytest.mark.slow
def test_hostile_files_cost_one_line(tmp_path: Path) -> None:
    paths = write_hostile(tmp_path)
    done = subprocess.run(
        [sys.executable, "-c", ASK, str(SECONDS), *map(str, paths.values())],
        capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert done.stdout, done.stderr
    told, peak_kb = json.loads(done.stdout.splitlines()[-1])
    left = [name for name, path in paths.items() if str(path) not in told]
    assert not left, (left, done.returncode, done.stderr[-2000:])
    for name, path in paths.items():
        said = told[str(path)]
        assert said != "read", name
        assert "\n" not in said, name
        assert len(said) < 500, name
    assert peak_kb * 1024 < MOST_BYTES
