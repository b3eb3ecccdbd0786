"""What `check` says of files, and the parts of the table reader."""

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from emcforecast.report.check import check_result
from emcforecast.weather.check import inspect
from emcforecast.weather.formats import csv as csv_file
from emcforecast.weather.formats.headers import read_header
from emcforecast.weather.formats.table import parse_number, parse_numbers
from emcforecast.weather.read import read_weather
from emcforecast.weather.repairs import RepairKind
from emcforecast.weather.times.clocks import stated_offset
from emcforecast.weather.times.stamps import parse_clock, parse_stamps, zone_hours

ARCHIVES = Path(__file__).parents[3] / "shared" / "archives"


def table(count, step=60, head="time_utc,temp_c,rh_pct", start="2021-01-01T00:00"):
    when = np.datetime64(start, "m") + np.arange(count) * np.timedelta64(step, "m")
    return f"{head}\n" + "".join(
        f"{t}Z,{10 + (i % 24) / 10:.1f},{60 + i % 24}\n"
        for i, t in enumerate(when.astype(str))
    )


def test_check_tells_what_a_file_holds(tmp_path):
    path = tmp_path / "year.csv"
    lines = table(8760).split("\n")
    lines[500] = lines[500].rsplit(",", 1)[0] + ",-7"
    del lines[600:604]
    path.write_text("\n".join(lines))
    found = inspect(path, latitude=46.0, longitude=7.0)
    assert found.ok
    assert found.refused is None
    assert found.short is None
    assert (found.step, found.rows) == ("hour", 8756)
    assert (found.start, found.end) == ("2021-01-01T00", "2021-12-31T23")
    assert found.place["latitude"] == 46.0
    assert "air_temperature: temp_c (C)" in found.columns
    shares = [item["coverage"] for item in found.coverage_by_month]
    assert shares[0] == pytest.approx(739 / 744, abs=1e-4)
    assert shares[1:] == [1.0] * 11
    (humid,) = (r for r in found.repairs if r.kind is RepairKind.IMPOSSIBLE_VALUES)
    assert (humid.count, humid.quantity) == (1, "relative_humidity")
    assert found.variables["relative_humidity"]["min"] == 60.0
    assert json.loads(json.dumps(check_result(found)))["ok"] is True


def test_check_never_fails_on_a_file(tmp_path):
    path = tmp_path / "bad.csv"
    path.write_bytes(bytes(range(256)))
    found = inspect(path)
    assert not found.ok
    assert "not a weather format" in str(found.refused)
    lines = table(8760).split("\n")
    del lines[3000:3200]
    path.write_text("\n".join(lines))
    found = inspect(path)
    assert not found.ok
    assert "2021-05 lacks" in str(found.refused)
    assert found.rows == 8560
    path.write_text(table(24 * 31))
    found = inspect(path)
    assert found.ok
    assert "covers 1 of the 12 calendar months" in str(found.short)


def test_fast_and_slow_ways_give_the_same(tmp_path, monkeypatch):
    path = tmp_path / "a.csv"
    rng = np.random.default_rng(4)
    when = np.datetime64("2015-01-01T00:00", "m") + np.arange(9000) * 60
    head = "Preamble: °C é\n\nrecord,Time (UTC),temp °C,note,rh_pct,empty\n"
    rows = "".join(
        f"{i},{str(t).replace('T', ' ')}:00,{v:.3f},x y,{h:.0f},\r\n"
        for i, (t, v, h) in enumerate(
            zip(
                when.astype(str),
                rng.normal(0, 15, 9000),
                rng.uniform(5, 100, 9000),
                strict=True,
            )
        )
    )
    rows = rows.replace(",-0.000,", ",0.0,")
    path.write_text(head + rows, encoding="utf-8")
    called = []
    real = csv_file.read_plain

    def watched(*args):
        result = real(*args)
        called.append(result is not None)
        return result

    monkeypatch.setattr(csv_file, "read_plain", watched)
    fast = read_weather(path)
    assert called == [True]
    monkeypatch.setattr(csv_file, "SMALLEST", 10**9)
    slow = read_weather(path)
    assert fast.equals(slow)
    assert fast.attrs == slow.attrs
    # One odd cell and the fast way steps aside.
    path.write_text(head + rows.replace("x y", '"x,y"', 1), encoding="utf-8")
    monkeypatch.setattr(csv_file, "SMALLEST", 1)
    assert read_weather(path).equals(slow)


@settings(max_examples=300, deadline=None)
@given(
    value=st.floats(-9999, 9999).map(lambda v: round(v, 3)),
    comma=st.booleans(),
    suffix=st.sampled_from(["", " °C", "%", " %RH", "°F", " hPa"]),
    minus=st.sampled_from(["-", "\u2212"]),
)
def test_numbers_survive_their_dress(value, comma, suffix, minus):
    text = f"{value:.3f}".replace("-", minus)
    text = text.replace(".", ",") if comma else text
    assert parse_number(f" {text}{suffix} ")[0] == value


@given(st.text(max_size=12))
def test_no_text_upsets_the_number_reader(text):
    numbers = parse_numbers([text])
    assert numbers.values.shape == (1,)


@pytest.mark.parametrize("cell", ["", "--", "NaN", "LO", "Err", "n/a", "M", "#N/A"])
def test_words_for_missing(cell):
    value, unit = parse_number(cell)
    assert np.isnan(value)
    assert unit == ""


STAMPS = {
    "2024-02-29 13:05:00": "2024-02-29T13:05",
    "2024-02-29T13:05:00.000": "2024-02-29T13:05",
    "29/02/2024 13:05": "2024-02-29T13:05",
    "29.02.24 13:05": "2024-02-29T13:05",
    "29/02/2024,13:05": "2024-02-29T13:05",
    "29.02.2024_13:05": "2024-02-29T13:05",
    "02/29/2024T13:05": "2024-02-29T13:05",
    "02/29/2024 1:05 PM": "2024-02-29T13:05",
    "02/29/24 01:05:00 p.m.": "2024-02-29T13:05",
    "29-Feb-2024 13:05": "2024-02-29T13:05",
    "29 février 2024 13:05": "2024-02-29T13:05",
    "Feb 29, 2024 13:05": "2024-02-29T13:05",
    "2024/02/29 13:05": "2024-02-29T13:05",
    "2024.02.29. 13:05": "2024-02-29T13:05",
    "20240229:1305": "2024-02-29T13:05",
    "202402291305": "2024-02-29T13:05",
    "2024-02-28 24:00": "2024-02-29T00:00",
    "28/02/2024 24:00": "2024-02-29T00:00",
    "12/31/2024 12:00 AM": "2024-12-31T00:00",
    "1709211900": "2024-02-29T13:05",
    "1709211900000": "2024-02-29T13:05",
    "45351.545138889": "2024-02-29T13:05",
}


@pytest.mark.parametrize("text", STAMPS)
def test_ways_to_write_a_time(text):
    found = parse_stamps([text] * 3)
    assert found.time[0] == np.datetime64(STAMPS[text])


def test_offsets_in_times_and_names():
    found = parse_stamps(["2024-06-01T12:00:00+02:00", "2024-12-01T12:00:00+01:00"])
    assert found.utc
    assert found.time.astype("datetime64[h]").astype(str).tolist() == [
        "2024-06-01T10",
        "2024-12-01T11",
    ]
    assert zone_hours("CEST") == 2.0
    assert zone_hours("Mars") is None
    assert stated_offset(["Zeit (UTC+01:00)"]) == 1.0
    assert stated_offset(["gmtime"]) is None
    clock = parse_clock(["1:05 PM", "0:00", "23:59:30"])
    assert (clock / np.timedelta64(1, "s")).tolist() == [47100, 0, 86370]
    assert parse_clock(["0", "100", "2300"])[2] == np.timedelta64(23, "h")


HEADERS = {
    "Temperature(°C)": ("air_temperature", "C"),
    "Temp °F": ("air_temperature", "F"),
    "TempF": ("air_temperature", "F"),
    "T [degC]": ("air_temperature", "C"),
    "Lufttemperatur": ("air_temperature", None),
    "Außentemperatur in °C": ("air_temperature", "C"),
    "RH%": ("relative_humidity", "percent"),
    "Humidity(%RH)": ("relative_humidity", "percent"),
    "rel. Feuchte": ("relative_humidity", None),
    "Luftfuktighet (%)": ("relative_humidity", "percent"),
    "Dew Point(°F)": ("dew_point", "F"),
    "Taupunkt": ("dew_point", None),
    "Wet bulb (C)": ("wet_bulb", "C"),
    "vapour_pressure_hpa": ("vapour_pressure", "hPa"),
    "Humidity (g/m³)": ("absolute_humidity", "g/m3"),
    "Wind Spd (km/h)": ("wind_speed", "km/h"),
    "Precip. Amount (mm)": ("precipitation", "mm"),
    "Wind direction": (None, None),
    "wind_gust": (None, None),
    "Soil temperature": (None, None),
    "Heat Index (°C)": (None, None),
    "Feels like": (None, None),
    "Temp Flag": (None, None),
    "Battery": (None, None),
}


@pytest.mark.parametrize("name", HEADERS)
def test_names_of_columns(name):
    column = read_header(name)
    assert (column.quantity, column.unit) == HEADERS[name]


def test_one_time_for_many_readings_is_not_taken_for_days(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(
        "date,stroke,temp_c,rh\n"
        + "".join(
            f"2021-{m:02d}-{d:02d},{h},10,70\n"
            for m in range(1, 13)
            for d in range(1, 28)
            for h in range(24)
        )
    )
    found = inspect(path)
    assert "--column clock=NAME or hour=NAME" in str(found.refused)
    assert inspect(path, columns={"hour": "stroke"}).step == "hour"


def test_an_open_quote_does_not_swallow_the_file(tmp_path):
    path = tmp_path / "a.csv"
    lines = table(500).split("\n")
    lines[100] = lines[100] + ',"open'
    path.write_text("\n".join(lines))
    assert inspect(path).rows == 500


EXPECTED = {
    "epw_chicago_ohare_tmy3.epw": None,
    "tmy3_greensboro_723170TYA.csv": None,
    "pvgis_tmy_45N_8E_v5_3.csv": None,
    "pvgis_hourly_45N_8E_2016.csv": "no humidity",
    "pvgis_tmy_meta_only.json": "describes its columns but holds no hours",
    "user_csv_newark_fahrenheit_2013q1.csv": None,
    "era5_hourly_davos_202001_classic.nc": "--latitude",
    "era5_daily_cf_canadian_cities_1990-1993.nc": "--place",
    "cru_ts4.01_tmp_only_1901-2016.nc": "no humidity",
    "era5_monthly_t2m_only_1979-2018.nc": "no humidity",
    "ecmwf_cfgrib_attrs_t2m_msl_no_time.nc": "no humidity",
}


@pytest.mark.skipif(not ARCHIVES.exists(), reason="sample archives are not here")
@pytest.mark.parametrize("name", EXPECTED)
def test_real_files_are_read_or_refused_for_the_right_reason(name):
    found = inspect(ARCHIVES / name)
    if EXPECTED[name] is None:
        assert found.ok, found.refused
    else:
        assert EXPECTED[name] in str(found.refused)
        assert "\n" not in str(found.refused)
