"""Packed values unpacked in one pass, against xarray's own decoding of the same file.

xarray decodes some packings to float32: hence the bound of a ten-millionth of the
largest value.
"""

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from emcforecast.bounds import WEATHER
from emcforecast.grid.chunks import as_stored
from emcforecast.grid.humidity import Raw, in_units
from emcforecast.grid.packing import PACKED, is_packed, opened, unpacked
from emcforecast.weather.formats.cf_units import Conversion

DIMS = ("time", "latitude", "longitude")
SCALED = {"scale_factor": 0.01, "add_offset": 20.0}


def packed(
    kind: str, attrs: dict[str, object], dims: tuple[str, ...] = DIMS
) -> xr.Dataset:
    """Return whole numbers of a kind, its least among them, as a file holds them."""
    least, most = np.iinfo(kind).min, np.iinfo(kind).max
    rng = np.random.default_rng(3)
    values = rng.integers(least, most, (5, 3, 4), endpoint=True).astype(kind)
    values[0, 0, 0], values[1, 1, 1] = least, least + 1
    return xr.Dataset({"t": (dims, values, {"units": "degC", **attrs})})


@pytest.mark.filterwarnings("ignore:variable 't' has multiple fill values")
@pytest.mark.parametrize("kind", ["int8", "int16", "int32"])
@pytest.mark.parametrize(
    "attrs",
    [
        SCALED,
        {"scale_factor": -0.5},
        {"add_offset": 273.15},
        {**SCALED, "_FillValue": "least"},
        {**SCALED, "missing_value": "least"},
        {**SCALED, "_FillValue": "least", "missing_value": "next"},
    ],
    ids=str,
)
def test_as_xarray_decodes_it(
    tmp_path: Path, kind: str, attrs: dict[str, object]
) -> None:
    least = np.iinfo(kind).min
    marks = {
        "least": np.dtype(kind).type(least),
        "next": np.dtype(kind).type(least + 1),
    }
    said = {name: marks.get(value, value) for name, value in attrs.items()}  # type: ignore[call-overload]
    path = tmp_path / "packed.nc"
    packed(kind, said).to_netcdf(path, engine="netcdf4")
    held = opened(path, engine="netcdf4")["t"]
    assert held.attrs[PACKED] == 1
    assert held.dtype == kind
    found = unpacked(held)
    with xr.open_dataset(path, engine="netcdf4") as whole:
        expected = whole["t"].astype(float)
        np.testing.assert_array_equal(np.isnan(found), np.isnan(expected))
        most = float(np.nanmax(np.abs(expected)))
        np.testing.assert_allclose(found, expected, rtol=0, atol=1e-7 * most)
    assert found.attrs == {"units": "degC"}
    lazy = unpacked(held.chunk({"time": 2}))
    assert lazy.chunks is not None
    np.testing.assert_array_equal(lazy, found)


def test_what_is_packed_otherwise_is_left_to_xarray(tmp_path: Path) -> None:
    whole = packed("int16", SCALED)
    assert is_packed(whole["t"])
    assert not is_packed(packed("int16", {})["t"])
    assert not is_packed(packed("int16", SCALED, ("expver", *DIMS[1:]))["t"])
    assert not is_packed(whole["t"].isel(time=0))
    assert not is_packed(whole["t"].astype("float32"))
    path = tmp_path / "unsigned.nc"
    packed("int16", {**SCALED, "_Unsigned": "true"}).to_netcdf(path, engine="netcdf4")
    held = opened(path, engine="netcdf4")["t"]
    assert PACKED not in held.attrs
    with xr.open_dataset(path, engine="netcdf4") as expected:
        np.testing.assert_array_equal(held, expected["t"])


def test_packed_places_and_times_are_undone_by_xarray(tmp_path: Path) -> None:
    path = tmp_path / "places.nc"
    whole = packed("int16", SCALED)
    whole["latitude"] = ("latitude", np.array([4700, 4650, 4600], "i2"))
    whole["latitude"].attrs = {"scale_factor": 0.01, "units": "degrees_north"}
    whole.to_netcdf(path, engine="netcdf4")
    held = opened(path, engine="netcdf4")
    np.testing.assert_allclose(held["latitude"], [47.0, 46.5, 46.0], rtol=1e-6)


@pytest.mark.parametrize("kind", ["float32", "float64"])
def test_what_cannot_be_is_left_out_as_numpy_would(kind: str) -> None:
    """Against numpy's own comparison; bounds of a temperature are in `bounds`."""
    values = np.array([[-1e9, -20.0, np.nan], [np.inf, 0.0, 35.5]], kind)
    low, high = WEATHER["air_temperature"]
    found = in_units(
        Raw(xr.DataArray(values, dims=("y", "x")), Conversion("c")), "air_temperature"
    )
    with np.errstate(invalid="ignore"):
        expected = np.where((values >= low) & (values <= high), values, np.nan)
    np.testing.assert_array_equal(found, expected)
    assert found.dtype == np.float64


@pytest.mark.parametrize("pieces", [(744, 32, 32), (1, 64, 64), (8760, 2, 2)])
def test_a_chunk_holds_whole_pieces_of_the_file(pieces: tuple[int, int, int]) -> None:
    held = xr.DataArray(np.zeros((1, 1, 1)), dims=DIMS)
    stored = {"preferred_chunks": dict(zip(DIMS, pieces, strict=True))}
    found = as_stored(held, stored, ("time",))
    assert found["time"] % pieces[0] == 0
    assert (found["latitude"], found["longitude"]) == pieces[1:]
    assert as_stored(held, {}, ("time",)) == {}
