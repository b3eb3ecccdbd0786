"""Damaged blosc pieces of a zarr store are refused; the program goes on."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
import zarr
from grid_files import air
from numcodecs import Blosc, blosc
from zarr.codecs import BloscCodec

from emcforecast.errors import WeatherError
from emcforecast.grid.blosc_pieces import require_sound_piece
from emcforecast.grid.read import open_grid
from emcforecast.grid.run import run_blocks

READ = """
import random, sys
from pathlib import Path
from emcforecast.errors import WeatherError
from emcforecast.grid.read import open_grid
from emcforecast.weather.formats.content import whole
first, count = int(sys.argv[1]), int(sys.argv[2])
for store in map(Path, sys.argv[3:]):
    pieces = [p for p in store.rglob("*") if p.is_file() and p.name[0].isdigit()]
    told = 0
    assert open_grid(store).load()["air_temperature"].notnull().all()
    for seed in range(first, first + count):
        rng = random.Random(seed)
        path = rng.choice(pieces)
        good = path.read_bytes()
        bad = bytearray(good)
        for _ in range(rng.choice([1, 2, 4])):
            k = rng.randrange(min(32, len(bad)) if rng.random() < 0.7 else len(bad))
            bad[k] = rng.choice([0, 127, 128, 255, rng.randrange(256)])
        path.write_bytes(bad)
        try:
            with whole("a part of the grid"):
                open_grid(store).load()
        except WeatherError as error:
            assert "\\n" not in str(error)
            told += 1
        path.write_bytes(good)
    print(told, flush=True)
"""


def packed(cname: str, shuffle: int, values: int = 40_000) -> bytes:
    steps = np.random.default_rng(3).normal(0.0, 1.0, values).cumsum()
    return bytes(
        Blosc(cname=cname, shuffle=shuffle).encode((50 * steps).astype(np.int16))
    )


@pytest.mark.parametrize("cname", ["lz4", "lz4hc", "blosclz", "zlib", "zstd"])
@pytest.mark.parametrize("shuffle", [0, 1, 2])
@pytest.mark.parametrize("values", [1, 700, 40_000, 2_000_000])
def test_what_the_library_packs_is_sound(cname, shuffle, values):
    require_sound_piece(packed(cname, shuffle, values))


def test_noise_and_nothing_are_sound():
    noise = np.random.default_rng(1).bytes(5000)
    for held in (noise, b"", b"a"):
        require_sound_piece(bytes(Blosc().encode(np.frombuffer(held, np.uint8))))


@pytest.mark.parametrize(
    ("at", "value", "words"),
    [
        (0, b"\x09", "no blosc"),
        (3, b"\x00", "no blosc"),
        (4, b"\xff\xff\xff\x7f", "claims to unpack"),
        (8, b"\x00\x00\x00\x00", "blocks of 0"),
        (8, b"\x01\x00\x00\x00", "claims 80000 blocks"),
        (12, b"\xff\xff\xff\x00", "has"),
        (16, b"\x00\x00\x00\x80", "begins outside"),
        (16, b"\xff\xff\xff\x7f", "begins outside"),
    ],
)
def test_each_field_of_the_header(at, value, words):
    piece = bytearray(packed("lz4", 1))
    piece[at : at + len(value)] = value
    with pytest.raises(ValueError, match=words):
        require_sound_piece(piece)


def test_a_piece_cut_off():
    piece = packed("zstd", 1)
    for length in (0, 15, 16, 20, len(piece) - 1):
        with pytest.raises(ValueError, match="blosc piece"):
            require_sound_piece(piece[:length])


LAYOUTS = {
    "format 2": (2, {"compressors": Blosc("lz4", shuffle=1)}),
    "format 3": (3, {"compressors": BloscCodec(cname="lz4")}),
    "shards": (3, {"compressors": BloscCodec(cname="lz4"), "shards": (48, 4, 6)}),
}


def written(layout: str, folder: Path) -> Path:
    version, packing = LAYOUTS[layout]
    ds = air(np.arange(0.0, 48.0))
    sizes = tuple(ds["t2m"].shape)
    packing = {**packing, "chunks": (24, *sizes[1:])}
    if "shards" in packing:
        packing["shards"] = sizes
    path = folder / f"{layout}.zarr"
    ds.to_zarr(
        path, zarr_format=version, consolidated=False,
        encoding=dict.fromkeys(ds.data_vars, packing),
    )  # fmt: skip
    return path


@pytest.fixture(params=LAYOUTS)
def store(request, tmp_path) -> Path:
    return written(request.param, tmp_path)


def test_a_length_that_is_not_there_is_refused_in_one_line(store):
    ds = open_grid(store)
    for path in store.rglob("*"):
        if path.is_file() and path.name[0].isdigit():
            held = bytearray(path.read_bytes())
            held[12:16] = b"\xff\xff\xff\x00"
            path.write_bytes(held)
    with pytest.raises(WeatherError, match="a part of the grid is cut off") as refusal:
        run_blocks([(0, {})], lambda region: ds.isel(region), print, threads=1)
    assert "\n" not in str(refusal.value)


def test_damaged_pieces_never_end_the_program(tmp_path):
    stores = [str(written(layout, tmp_path)) for layout in LAYOUTS]
    done = subprocess.run(
        [sys.executable, "-c", READ, "0", "60", *stores],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    told = [int(count) for count in done.stdout.split()]
    assert len(told) == len(stores)
    assert min(told) > 15


def test_stores_opened_elsewhere_keep_their_own_codecs(store, tmp_path):
    open_grid(store)
    other = tmp_path / "other.zarr"
    held = xr.Dataset({"a": ("x", np.arange(2000.0))})
    held.to_zarr(other, zarr_format=2, encoding={"a": {"compressors": Blosc()}})
    assert type(zarr.open_group(other)["a"].compressors[0]) is Blosc
    assert blosc.decompress(bytes(Blosc().encode(np.arange(9.0))))
