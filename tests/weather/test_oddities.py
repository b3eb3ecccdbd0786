"""Files that need a second look: told in words, never quietly taken or passed over."""

import datetime as dt
import io
import subprocess
import sys
import tarfile
import zipfile

import numpy as np
import pytest

from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.report.repairs import repair_sentence, repair_sentences
from emcforecast.weather.check import inspect
from emcforecast.weather.formats.netcdf import write_weather
from emcforecast.weather.read import read_weather


def table(count, begin=dt.datetime(2023, 5, 1), head="time,temp_c,rh", air=None):
    lines = [head]
    for index in range(count):
        when = begin + dt.timedelta(hours=index)
        warm, damp = (10 + index % 24 / 4, 60 + index % 20) if air is None else air
        lines.append(f"{when:%Y-%m-%d %H:%M},{warm:g},{damp:g}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("air", "told"),
    [
        ((20.5, None), "temperature stands at 20.5 °C for 720 hours"),
        ((None, 55), "relative humidity stands at 55 % for 720 hours"),
        ((None, 100), "relative humidity stands at 100 % for 720 hours"),
        ((None, None), ""),
    ],
)
def test_a_sensor_that_stands_still_is_told(air, told, tmp_path):
    lines = ["time_utc,temp_c,rh"]
    for index in range(720):
        when = dt.datetime(2023, 5, 1) + dt.timedelta(hours=index)
        warm = 10 + index % 24 / 4 if air[0] is None else air[0]
        damp = 60 + index % 20 if air[1] is None else air[1]
        lines.append(f"{when:%Y-%m-%d %H:%M},{warm:g},{damp:g}")
    (tmp_path / "a.csv").write_text("\n".join(lines))
    notes = " / ".join([*map(repair_sentence, inspect(tmp_path / "a.csv").repairs)])
    assert (told in notes) if told else ("stands at" not in notes)


def test_ten_days_of_fog_are_no_stuck_sensor(tmp_path):
    damp = np.where(np.arange(720) < 240, 100, 60 + np.arange(720) % 20)
    lines = ["time_utc,temp_c,rh"] + [
        f"{dt.datetime(2023, 5, 1) + dt.timedelta(hours=i):%Y-%m-%d %H:%M},"
        f"{10 + i % 24 / 4:g},{damp[i]}"
        for i in range(720)
    ]
    (tmp_path / "fog.csv").write_text("\n".join(lines))
    assert not any(
        "stands at" in note
        for note in [*map(repair_sentence, inspect(tmp_path / "fog.csv").repairs)]
    )


def test_hours_beyond_any_forecast_are_told(tmp_path):
    year = dt.date.today().year + 3
    (tmp_path / "f.csv").write_text(table(720, dt.datetime(year, 1, 1)))
    notes = [*map(repair_sentence, inspect(tmp_path / "f.csv", utc_offset=0).repairs)]
    assert any("720 hours of 720 are after today" in note for note in notes)
    (tmp_path / "p.csv").write_text(table(720))
    notes = [*map(repair_sentence, inspect(tmp_path / "p.csv", utc_offset=0).repairs)]
    assert not any("after today" in note for note in notes)


@pytest.mark.parametrize(
    ("name", "hours"),
    [
        ("Date/Time (EST)", 5),
        ("Zeit MEZ", -1),
        ("time_CET", -1),
        ("local time, PST", 8),
    ],
)
def test_a_zone_of_standard_time_in_the_name_is_heard(name, hours, tmp_path):
    text = table(200).replace("time,", f'"{name}",', 1)
    (tmp_path / "z.csv").write_text(text)
    found = read_weather(tmp_path / "z.csv", gaps="keep")
    begin = np.datetime64("2023-05-01T00") + np.timedelta64(hours, "h")
    assert found["time"].to_numpy()[0] == begin
    assert found.attrs["utc_offset"] == -hours


def test_a_word_that_looks_like_a_zone_is_none(tmp_path):
    text = table(200).replace("time,", "time est,", 1)
    (tmp_path / "z.csv").write_text(text)
    found = read_weather(tmp_path / "z.csv", gaps="keep", longitude=15.0)
    assert found.attrs["utc_offset"] == 1.0


def test_what_lies_beside_the_weather_in_a_zip_is_told(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as box:
        box.writestr("2023.csv", table(200))
        box.writestr("readme.txt", "A letter of two words.")
    found = read_weather(tmp_path / "a.zip", gaps="keep")
    assert "readme.txt in the zip beside 2023.csv: no weather" in repair_sentences(
        found
    )


def test_bundles_say_what_to_do(tmp_path):
    with zipfile.ZipFile(tmp_path / "years.zip", "w") as box:
        for year in (2022, 2023):
            box.writestr(f"{year}.csv", table(200, dt.datetime(year, 1, 1)))
    with pytest.raises(WeatherError, match="unpack years of one place into a folder"):
        read_weather(tmp_path / "years.zip")
    content = table(200).encode()
    inside = tarfile.TarInfo("a.csv")
    inside.size = len(content)
    with tarfile.open(tmp_path / "a.tar.gz", "w:gz") as bundle:
        bundle.addfile(inside, io.BytesIO(content))
    with pytest.raises(WeatherError, match="unpack it and give the folder"):
        read_weather(tmp_path / "a.tar.gz")


def test_a_numbered_channel_is_read_and_of_two_neither_is_guessed(tmp_path):
    one = table(200, head="time_utc,T1 (°C),RH1 (%)")
    (tmp_path / "one.csv").write_text(one)
    found = read_weather(tmp_path / "one.csv", gaps="keep")
    assert float(found["air_temperature"][0]) == 10.0
    lines = one.split("\n")[:-1]
    two = ["time_utc,T1 (°C),RH1 (%),T2 (°C),RH2 (%)"]
    two += [f"{line},21,40" for line in lines[1:]]
    (tmp_path / "two.csv").write_text("\n".join(two))
    with pytest.raises(WeatherError, match=r"several columns .*'T1 \(°C\)', 'T2"):
        read_weather(tmp_path / "two.csv")
    chosen = {"air_temperature": "T2 (°C)", "relative_humidity": "RH2 (%)"}
    found = read_weather(tmp_path / "two.csv", gaps="keep", columns=chosen)
    assert float(found["air_temperature"][0]) == 21.0


def test_a_zip_that_lost_its_first_bytes_is_refused(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as box:
        box.writestr("2023.csv", table(200))
        box.writestr("more.txt", "words " * 200)
    whole = (tmp_path / "a.zip").read_bytes()
    for lost in (6, 48, 89):
        (tmp_path / "b.zip").write_bytes(whole[:30] + whole[30 + lost :])
        with pytest.raises(WeatherError, match=r"damaged|not a weather format"):
            read_weather(tmp_path / "b.zip")


CHECKS = """
import sys
from emcforecast.cli.main import run
for path in sys.argv[1:]:
    sys.argv = ["emcforecast", "check", path]
    try:
        run()
    except SystemExit as end:
        print(end.code, flush=True)
"""


def test_a_netcdf_that_is_cut_off_is_refused_without_a_word_from_its_library(tmp_path):
    (tmp_path / "a.csv").write_text(table(2000, head="time_utc,temp_c,rh"))
    write_weather(read_weather(tmp_path / "a.csv", gaps="keep"), tmp_path / "a.nc")
    whole = (tmp_path / "a.nc").read_bytes()
    cut = [tmp_path / f"{share}.nc" for share in (0.1, 0.5, 0.9)]
    for path in cut:
        path.write_bytes(whole[: int(float(path.stem) * len(whole))])
    done = subprocess.run(
        [sys.executable, "-c", CHECKS, *map(str, cut)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == ["2", "2", "2"]
    said = done.stderr.strip().splitlines()
    assert len(said) == len(cut), done.stderr
    assert all("cut off or damaged" in line for line in said)


def test_power_rows_without_a_month_or_with_letters(tmp_path):
    months = "JAN,FEB,MAR,APR,MAY,JUN,JUL,AUG,SEP,OCT,NOV,DEC"
    rows = [f"PARAMETER,{months}", "T2M,1,2,3,4,x/,6,7,8,9,10,11,12"]
    rows.append("RH2M," + ",".join(["70"] * 12))
    (tmp_path / "a.csv").write_text("\n".join(rows))
    with pytest.raises(ArchiveError, match="no air temperature in month 5"):
        read_weather(tmp_path / "a.csv")
    text = "\n".join(rows).replace("MAR", "MRA")
    (tmp_path / "b.csv").write_text(text)
    with pytest.raises(ArchiveError, match="no column MAR"):
        read_weather(tmp_path / "b.csv")


PREAMBLES = {
    "names over values": (
        "Source,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone\n"
        "a service,-,40.01,-105.26,-7,1600,-7\n",
        -7.0,
    ),
    "a line each": ("Latitude: 40.01\nLongitude: -105.26\nElevation: 1600 m\n", -7.0),
    "a hemisphere in a letter": (
        "Latitude: 40.01 N\nLongitude: 105.26° W\nElevation: 1600 m\n",
        -7.0,
    ),
    "a clock that is not the sun's": (
        "Latitude;Longitude;Elevation;Time Zone\n40.01;-105.26;1600;-6\n",
        -6.0,
    ),
}


@pytest.mark.parametrize("shape", PREAMBLES)
def test_a_place_above_the_table_sets_the_clock_too(shape, tmp_path):
    lines, offset = PREAMBLES[shape]
    (tmp_path / "a.csv").write_text(lines + table(200))
    found = read_weather(tmp_path / "a.csv", gaps="keep")
    place = [found.attrs[name] for name in ("latitude", "longitude", "elevation")]
    assert place == [40.01, -105.26, 1600.0]
    assert found.attrs["utc_offset"] == offset
    begin = np.datetime64("2023-05-01T00") - np.timedelta64(int(offset), "h")
    assert found["time"].to_numpy()[0] == begin
    said = read_weather(tmp_path / "a.csv", gaps="keep", utc_offset=-5, latitude=41.0)
    assert (said.attrs["utc_offset"], said.attrs["latitude"]) == (-5.0, 41.0)


def test_a_place_in_columns_sets_the_clock_too(tmp_path):
    rows = table(200).strip().split("\n")
    text = [f"{rows[0]},lat,lon"] + [f"{row},40.01,-105.26" for row in rows[1:]]
    (tmp_path / "a.csv").write_text("\n".join(text))
    found = read_weather(tmp_path / "a.csv", gaps="keep")
    assert found.attrs["utc_offset"] == -7.0
