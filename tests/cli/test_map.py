"""The command `map`, as a person calls it."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from click.testing import CliRunner, Result
from made_grids import grid_of

from emcforecast.cli.group import cli


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, ["map", *map(str, words)])


def table_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(path.read_text().splitlines()))


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A climatology and four years of months, as NetCDF."""
    folder = tmp_path_factory.mktemp("grids")
    found = {}
    for step, days in (("climatology", 730), ("month", 1461)):
        grid = grid_of(2, 3, days=days, step=step, masked=((0, 2),))
        if step == "climatology":
            grid["time"] = ("time", np.arange(1, 13))
            grid = grid.rename(time="month")
        else:
            # Readers look at names and units alone.
            grid.attrs = {"title": "made months"}
        found[step] = folder / f"{step}.nc"
        grid.to_netcdf(found[step], engine="h5netcdf")
    return found


def test_asked_for_nothing_it_is_emc_outdoors(files):
    done = run(files["climatology"])
    assert done.exit_code == 0, done.output
    assert "EMC outdoors, a usual year (2 × 3 cells, 5 with an answer)" in done.stdout
    assert done.stdout.count(" % ") >= 12
    assert "no range over years" in done.stdout


def test_boards_of_a_place_with_a_target_and_a_stack(files, tmp_path):
    out, picture = tmp_path / "map.nc", tmp_path / "map.png"
    done = run(
        files["month"], "--setting", "shed=loft", "--species", "European larch",
        "--thickness", "27", "--target", "14", "--stacked", "04-01",
        "-o", out, "--plot", picture, "--csv", tmp_path / "table.csv",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    said = " ".join(done.stdout.split())
    assert "European larch 27 mm: how dry it gets, 2007 to 2010" in said
    assert "14 % in the ventilated barn loft: reached in at least half of the" in said
    assert "A green stack in the ventilated barn loft takes" in said
    assert "From monthly means" in said
    assert "does not replace a meter" in said
    assert picture.read_bytes()[:4] == b"\x89PNG"
    with xr.open_dataset(out, engine="h5netcdf", decode_timedelta=False) as written:
        assert written["lowest_p50"].shape == (1, 12, 2, 3)
        assert written.attrs["species"] == "European larch"
    rows = table_of(tmp_path / "table.csv")
    assert rows[0]["kind"] == "loft"
    again = run(files["month"], "--setting", "shed=loft", "-o", out)
    assert again.exit_code == 2
    assert "is there already" in again.stderr


def test_json_has_what_the_words_have(files):
    done = run(files["climatology"], "--json")
    found = json.loads(done.stdout)
    assert found["command"] == "map"
    assert len(found["result"]["emc"]) == 12
    assert found["result"]["cells"] == {"rows": 2, "columns": 3, "answered": 5}


def test_many_yards_in_one_run(files, tmp_path):
    places = tmp_path / "yards.csv"
    places.write_text("Name,Latitude,Longitude\nNorth,47.1,13.2\nSouth,46.4,33.0\n")
    table = tmp_path / "answers.csv"
    done = run(
        files["month"], "--places", places, "--setting", "shed", "--csv", table,
        "--target", "16",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    rows = table_of(table)
    assert [row["name"] for row in rows] == ["North", "South"]
    assert all(5.0 < float(row["year_lowest_p50_pct"]) < 25.0 for row in rows)
    assert "North" in done.stdout
    whole = run(files["month"], "--setting", "shed", "--json")
    assert whole.exit_code == 0
    places.write_text("name,latitude,longitude\nFar,0,-150\n")
    far = run(files["month"], "--places", places)
    assert far.exit_code == 2
    assert "km away" in far.stderr


def test_two_periods_and_two_models(files, tmp_path):
    done = run(
        files["month"], "--years", "2007:2008", "--against", "2009:2010",
        "--setting", "shed", "--model", files["month"], "--json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    result = json.loads(done.stdout)["result"]
    assert result["places"][0]["change"] is not None
    assert "year_lowest_p50_change_mean" in result["variables"]
    assert "year_lowest_change_spread" in result["variables"]
    alone = run(files["month"], "--years", "2007:2008", "--against", files["month"])
    assert alone.exit_code == 0, alone.output
    assert "Change of the year's mean EMC" in alone.stdout


def test_changes_of_a_list_of_cells_are_those_of_its_grid(files, tmp_path):
    """Periods, a second model and a file to compare with, all as lists of cells."""
    grid = xr.open_dataset(files["month"], engine="h5netcdf")
    warmer = grid.assign(air_temperature=grid["air_temperature"] + 2.0)
    for name, ds in (("grid", grid), ("warmer", warmer)):
        ds.to_netcdf(tmp_path / f"{name}.nc", engine="h5netcdf")
        cells = ds.stack(cell=("latitude", "longitude")).reset_index("cell")
        cells.to_netcdf(tmp_path / f"{name}-list.nc", engine="h5netcdf")

    def maps(ending, *words):
        out = tmp_path / f"map{len(list(tmp_path.iterdir()))}.nc"
        done = run(tmp_path / f"grid{ending}.nc", *words, "-o", out)
        assert done.exit_code == 0, done.output
        with xr.open_dataset(out, engine="h5netcdf") as found:
            return found.load()

    for words in (
        ("--years", "2007:2008", "--against", "2009:2010", "--model", "warmer"),
        ("--against", "warmer"),
    ):
        one, other = (
            maps(
                ending,
                *(tmp_path / f"{w}{ending}.nc" if w == "warmer" else w for w in words),
            )
            for ending in ("", "-list")
        )
        changes = [name for name in one if "_change" in str(name)]
        assert changes
        for name in changes:
            got = other[name].stack(all=("list", "cell")).to_numpy()
            wanted = one[name].stack(all=("latitude", "longitude")).to_numpy()
            np.testing.assert_allclose(got, wanted, atol=1e-9)
            assert np.isfinite(got).any()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--resume",), "name it: -o"),
        (("--years", "2007"), "1991:2020"),
        (("--years", "1901:1902"), "2007 to 2010"),
        (("--threads", "0"), "at least 1"),
        (("--model", "x.nc"), "--against"),
        (("-o", "map.tif"), ".zarr or .nc"),
        (("--scheduler", "tcp://127.0.0.1:1"), "no dask scheduler"),
        (("--places", "nobody.csv"), "no such file"),
        (("--stacked", "soon"), "04-01"),
    ],
)
def test_refusals_are_one_line(files, words, said, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("emcforecast.grid.run.CONNECT_SECONDS", 0.5)
    done = run(files["month"], *words)
    assert done.exit_code == 2, done.output
    assert said in done.stderr
    assert done.stderr.count("\n") == 1


def test_without_the_extra_it_says_how_to_get_it(files, monkeypatch):
    monkeypatch.setattr("emcforecast.cli.map_work.find_spec", lambda name: None)
    done = run(files["month"])
    assert done.exit_code == 2
    assert "pip install 'emcforecast[grid]'" in done.stderr


def test_a_member_of_an_ensemble_is_chosen(files, tmp_path):
    one = xr.open_dataset(files["month"], engine="h5netcdf").load()
    warmer = one.assign(air_temperature=one["air_temperature"] + 2.0)
    warmer["air_temperature"].attrs = one["air_temperature"].attrs
    path = tmp_path / "members.nc"
    xr.concat([one, warmer], "number").to_netcdf(path, engine="h5netcdf")
    asked = run(path)
    assert asked.exit_code == 2
    assert (
        "holds 2 members along 'number'; choose one by --member 0 to 1" in asked.stderr
    )
    first, alone = (
        json.loads(run(*words, "--json").stdout)["result"]
        for words in ((path, "--member", "0"), (files["month"],))
    )
    assert first["emc"] == alone["emc"]
    other = json.loads(run(path, "--member", "1", "--json").stdout)["result"]
    assert other["emc"] != alone["emc"]
    assert run(path, "--member", "2").exit_code == 2
