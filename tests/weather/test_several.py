"""Several files of one place: years, halves, fillers; the demonstration weather cut up.

What is put together is held against the uncut series, or against pandas' own mean.
"""

import json

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.errors import WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.formats.netcdf import write_weather
from emcforecast.weather.read import read_weather

START = np.datetime64("2020-01-01T00")
HOURS = np.arange(START, np.datetime64("2023-01-01T00"), dtype="datetime64[h]")
COUNT = np.arange(HOURS.size)
WARM = np.round(
    10
    - 10 * np.cos(2 * np.pi * COUNT / 8766)
    - 4 * np.cos(2 * np.pi * (COUNT - 3) / 24),
    2,
)
DAMP = np.round(70 + 15 * np.cos(2 * np.pi * COUNT / 24) + 5 * np.sin(COUNT / 70), 1)
RAIN = np.where(COUNT % 50 == 0, 2.0, 0.0)


def write(path, rows, *, head="time_utc,temp_c,rh_pct,rain_mm", columns=None):
    columns = (WARM, DAMP, RAIN) if columns is None else columns
    lines = [head]
    for row in rows:
        cells = ",".join(f"{column[row]:g}" for column in columns)
        lines.append(f"{HOURS[row]}:00Z,{cells}")
    path.write_text("\n".join(lines) + "\n")
    return path


def rows_of(year):
    return COUNT[HOURS.astype("datetime64[Y]") == np.datetime64(str(year), "Y")]


@pytest.fixture
def years(tmp_path):
    folder = tmp_path / "years"
    folder.mkdir()
    for year in (2020, 2021, 2022):
        write(folder / f"{year}.csv", rows_of(year))
    return folder


WAYS = {
    "a folder": lambda folder: str(folder),
    "a folder's path": lambda folder: folder,
    "a pattern": lambda folder: str(folder / "20*.csv"),
    "joined by +": lambda folder: "+".join(
        str(folder / f"{year}.csv") for year in (2021, 2020, 2022)
    ),
    "a list": lambda folder: sorted(folder.iterdir()),
}


@pytest.mark.parametrize("way", WAYS)
def test_years_in_files_of_their_own_are_one_record(way, years):
    found = read_weather(WAYS[way](years))
    assert (found["time"].to_numpy() == HOURS).all()
    np.testing.assert_allclose(found["air_temperature"], WARM)
    np.testing.assert_allclose(found["relative_humidity"], DAMP)
    np.testing.assert_allclose(found["precipitation"], RAIN)
    assert "3 files put together" in repair_sentences(found)
    assert "2021.csv" in found.attrs["source"]


def test_commands_take_them_too(years):
    outcome = CliRunner().invoke(cli, ["check", str(years), "--json"])
    assert outcome.exit_code == 0, outcome.output
    result = json.loads(outcome.stdout)["result"]
    assert (result["start"], result["end"]) == ("2020-01-01T00", "2022-12-31T23")
    assert result["short"] is None


def test_hours_in_two_files_are_averaged_and_their_rain_is_not_doubled(tmp_path):
    write(tmp_path / "a.csv", COUNT[:9000])
    warmer = (WARM + 3.0, DAMP, RAIN)
    write(tmp_path / "b.csv", COUNT[8900:17600], columns=warmer)
    found = read_weather(f"{tmp_path / 'a.csv'}+{tmp_path / 'b.csv'}")
    both = slice(8900, 9000)
    np.testing.assert_allclose(found["air_temperature"][both], WARM[both] + 1.5)
    np.testing.assert_allclose(found["precipitation"][both], RAIN[both])
    np.testing.assert_allclose(found["air_temperature"][:8900], WARM[:8900])
    told = " / ".join(repair_sentences(found))
    assert "100 readings with a time already seen" in told
    assert "disagree on temperature, by up to 3.0 K" in told


def test_temperature_and_humidity_apart(tmp_path):
    rows = COUNT[:9000]
    t = write(tmp_path / "t.csv", rows, head="time_utc,temp_c", columns=(WARM,))
    h = write(tmp_path / "h.csv", rows, head="time_utc,rh_pct", columns=(DAMP,))
    found = read_weather(f"{t}+{h}")
    np.testing.assert_allclose(found["air_temperature"], WARM[rows])
    np.testing.assert_allclose(found["relative_humidity"], DAMP[rows])


def test_a_reanalysis_fills_and_lengthens_observations(tmp_path):
    """Its constant bias of 2 K is taken off; vapour pressure is scaled by month."""
    gone = (COUNT > 5000) & (COUNT < 5400)
    kept = COUNT[(COUNT < 12000) & ~gone]
    write(tmp_path / "station.csv", kept)
    write(tmp_path / "model.csv", COUNT, columns=(WARM + 2.0, DAMP, RAIN))
    model = read_weather(tmp_path / "model.csv", kind="reanalysis", latitude=45.0)
    write_weather(model, tmp_path / "model.nc")
    found = read_weather(f"{tmp_path / 'station.csv'}+{tmp_path / 'model.nc'}")
    assert (found["time"].to_numpy() == HOURS).all()
    np.testing.assert_allclose(found["air_temperature"], WARM, atol=0.02)
    assert found.attrs["latitude"] == 45.0
    assert found.attrs["kind"] == "observed"
    told = " / ".join(repair_sentences(found))
    lacking = int(gone.sum()) + HOURS.size - 12000
    assert f"{lacking} hours of {HOURS.size} filled from" in told
    monthly = pd.Series(
        found["relative_humidity"].to_numpy() - DAMP, index=HOURS.astype("M8[ns]")
    )
    assert monthly.resample("MS").mean().abs().max() < 1.0


REFUSED = {
    "nothing matches": (lambda d: str(d / "none*.csv"), "no file is so named"),
    "one is not there": (
        lambda d: f"{d / 'a.csv'}+{d / 'gone.csv'}",
        r"gone\.csv: no such file, of those joined by \+",
    ),
    "none is there": (lambda d: "x.csv+y.csv", r"x\.csv\+y\.csv: no such file"),
    "an empty folder": (lambda d: str(d / "empty"), "the folder holds no file"),
    "a letter among them": (
        lambda d: f"{d / 'a.csv'}+{d / 'letter.txt'}",
        "letter.txt: no line names columns",
    ),
    "normals among them": (
        lambda d: f"{d / 'a.csv'}+{d / 'normals.csv'}",
        "only hours and days of real years",
    ),
    "an invented place": (lambda d: f"demo+{d / 'a.csv'}", "is invented"),
    "nothing after the sign": (lambda d: f"{d / 'a.csv'}+", "one of them is missing"),
    "a folder of folders": (lambda d: str(d / "nest"), "the folder holds no file"),
    "no file at all": (lambda d: [], "no file is named"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_in_one_line(case, tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "nest" / "deep").mkdir(parents=True)
    write(tmp_path / "a.csv", COUNT[:9000])
    (tmp_path / "letter.txt").write_text("Dear reader,\nno weather here.\n")
    (tmp_path / "normals.csv").write_text(
        "month,temperature_c,relative_humidity_pct\n"
        + "".join(f"{month},10,70\n" for month in range(1, 13))
    )
    make, said = REFUSED[case]
    with pytest.raises(WeatherError, match=said) as caught:
        read_weather(make(tmp_path))
    assert "\n" not in str(caught.value)


def test_places_far_apart_are_not_one(tmp_path):
    for name, north in (("north.nc", 50.0), ("south.nc", 45.0)):
        write(tmp_path / "x.csv", COUNT[:9000])
        series = read_weather(tmp_path / "x.csv", latitude=north, longitude=10.0)
        write_weather(series, tmp_path / name)
    # 5 degrees of latitude are 556 km.
    with pytest.raises(WeatherError, match=r"lie 556 km apart"):
        read_weather([tmp_path / "north.nc", tmp_path / "south.nc"])


def test_a_file_with_a_plus_in_its_name_is_that_file(tmp_path):
    write(tmp_path / "a+b.csv", COUNT[:9000])
    found = read_weather(str(tmp_path / "a+b.csv"))
    assert found.attrs["source"] == "CSV file a+b.csv"
