"""No output may land on a file the answer is made from."""

import shutil

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli

YARD = """
name = "Sample yard"
readings = "log.csv"
[weather]
file = "demo"
[[stack]]
name = "oak-1"
species = "white oak"
thickness = "27mm"
sawn = 2026-04-01
setting = "shed"
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "yard.toml").write_text(YARD)
    (tmp_path / "log.csv").write_text("kept\n")
    rows = "".join(f"{m},{10 + m % 6},{70 - m % 5}\n" for m in range(1, 13))
    (tmp_path / "air.csv").write_text("month,temp_c,rh_pct\n" + rows)
    return tmp_path


@pytest.mark.parametrize(
    "words",
    [
        ["floor", "air.csv", "--csv", "air.csv"],
        ["floor", "air.csv", "--csv", "./air.csv", "--json"],
        ["dry", "air.csv", "--stacked", "2026-04-01", "--csv", "air.csv"],
        ["yard", "yard.toml", "--csv", "yard.toml"],
        ["yard", "yard.toml", "--csv", "log.csv"],
        ["yard", "calendar", "yard.toml", "-o", "yard.toml"],
        ["yard", "calendar", "yard.toml", "-o", "log.csv"],
        ["calibrate", "air.csv", "demo", "-o", "air.csv"],
    ],
)
def test_what_is_read_is_not_written_over(place, words):
    before = {path.name: path.read_bytes() for path in place.iterdir()}
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 2
    assert "name another file" in done.output
    assert {path.name: path.read_bytes() for path in place.iterdir()} == before


def test_a_link_to_it_is_the_same_file(place):
    (place / "other.csv").symlink_to(place / "air.csv")
    done = CliRunner().invoke(cli, ["floor", "air.csv", "--csv", "other.csv"])
    assert done.exit_code == 2


def test_somebody_else_s_calendar_is_kept(place):
    theirs = "BEGIN:VCALENDAR\r\nPRODID:-//somebody//EN\r\nEND:VCALENDAR\r\n"
    (place / "own.ics").write_text(theirs)
    shutil.copy(place / "own.ics", place / "copy.ics")
    done = CliRunner().invoke(cli, ["yard", "calendar", "yard.toml", "-o", "own.ics"])
    assert done.exit_code == 2
    assert "name another file" in done.output
    assert (place / "own.ics").read_bytes() == (place / "copy.ics").read_bytes()
