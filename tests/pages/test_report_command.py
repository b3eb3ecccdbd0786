"""`report` against the commands it stands for, from the shell's side."""

import json
from pathlib import Path
from typing import Any

import html5lib
import numpy as np
import pytest
import xarray as xr
from click.testing import CliRunner

from emcforecast.cli.group import cli

STACKED, NEED = "2026-04-01", "2027-06-01"


def answer(*words: str) -> Any:
    done = CliRunner().invoke(cli, [*words, "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


@pytest.mark.slow
def test_a_page_holds_what_floor_dry_and_plan_print(tmp_path: Path) -> None:
    page = tmp_path / "place.html"
    board = ("--species", "sweet chestnut", "--thickness", "30mm")
    dates = ("--stacked", STACKED, "--need", NEED)
    report = answer("report", "demo", "-o", str(page), *board, *dates)
    (found,) = report["result"]["boards"]
    plan = answer("plan", "demo", *board, *dates, "--use", "furniture")
    assert found["plan"] == plan["result"]
    floor = answer("floor", "demo", *board)
    lows = {k: v["lowest"] for k, v in floor["result"]["settings"].items()}
    assert {k: v["lowest"] for k, v in found["floor"]["settings"].items()} == lows
    place = plan["result"]["route"][0]
    where = f"{place['setting']}={place['kind']}"
    dry = answer("dry", "demo", *board, "--stacked", STACKED, "--setting", where)
    assert found["dry"] == dry["result"]
    assert set(floor["cautions"] + dry["cautions"] + plan["cautions"]) == set(
        report["cautions"]
    )
    body = html5lib.parse(page.read_text(encoding="utf-8"), namespaceHTMLElements=False)
    words = " ".join("".join(body.itertext()).replace("\xa0", " ").split())
    for line in dry["result"]["sentences"]:
        assert line.replace("`", "") in words
    assert plan["result"]["sentence"] in words


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["demo", "-o", "page.txt"], "ends in .html"),
        (["demo", "-o", "p.html", "--today", "2026-01-01"], "--today is for a yard"),
        (["demo", "-o", "p.html", "--use", "fornuture"], "is not known"),
        (["demo", "-o", "p.html", "--need", "2020-01-01"], "check the two dates"),
        (["nowhere.toml", "-o", "p.html"], "nowhere.toml"),
        (["demo", "-o", "none/p.html"], "there is no folder"),
        (
            ["demo", "-o", "p.html", *(f"--thickness={k}mm" for k in range(20, 34))],
            "at most 12",
        ),
    ],
)
def test_refusals_are_one_line_and_write_nothing(
    words: list[str], why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(cli, ["report", *words])
    assert done.exit_code == 2
    assert why in done.stderr.splitlines()[-1]
    assert list(tmp_path.iterdir()) == []


def test_a_map_is_a_page_with_what_the_command_printed(tmp_path: Path) -> None:
    months = np.arange("2001-01", "2002-01", dtype="datetime64[M]")
    place = {"time": months.astype("datetime64[ns]"), "latitude": [48.0, 47.0]}
    place["longitude"] = [14.0, 15.0, 16.0]
    dims = ("time", "latitude", "longitude")
    xr.Dataset(
        {
            name: (dims, np.full((12, 2, 3), value), {"units": units})
            for name, value, units in (("t2m", 10.0, "degC"), ("hurs", 70.0, "%"))
        },
        coords=place,
    ).to_netcdf(tmp_path / "air.nc", engine="netcdf4")
    path, page = tmp_path / "map.nc", tmp_path / "map.html"
    said = answer("map", str(tmp_path / "air.nc"), "-o", str(path))
    report = answer("report", str(path), "-o", str(page))
    assert report["result"]["emc"] == said["result"]["emc"]
    assert report["cautions"] == said["cautions"]
    done = CliRunner().invoke(
        cli, ["report", str(path), "-o", str(page), "--species", "oak"]
    )
    assert done.exit_code == 2
    assert "--species says nothing of a map; leave it out" in done.stderr
    body = html5lib.parse(page.read_text(encoding="utf-8"), namespaceHTMLElements=False)
    words = " ".join("".join(body.itertext()).replace("\xa0", " ").split())
    assert said["result"]["gives"] in words
    rows = [
        [" ".join(cell.itertext()).replace("\xa0", " ") for cell in row]
        for row in body.iter("tr")
    ]
    assert len(rows) == 13
    assert rows[1][1] == f"{said['result']['emc'][0]['middle']:.0f} %"
