"""EPW, TMY3 and PVGIS: format-true years of our own, and real ones where present."""

import json
from pathlib import Path

import numpy as np
import pytest

from emcforecast.errors import WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.read import read_weather
from emcforecast.weather.years import has_years, require_year

ARCHIVES = Path(__file__).parents[3] / "shared" / "archives"
COUNT = np.arange(8760)
HOUR = COUNT % 24
DATE = np.datetime64("2001-01-01") + COUNT // 24
TEMPERATURE = np.round(12 - 8 * np.cos(2 * np.pi * COUNT / 8760) + HOUR / 10, 1)
HUMIDITY = 60 + HOUR
SUN = np.where((HOUR > 6) & (HOUR < 18), 300, 0)


def epw(offset=-6.0, missing=(), name="Sample Field"):
    head = [
        f"LOCATION,{name},XX,YYY,TMY3,000000,41.98,-87.92,{offset},201.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,invented",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    rows = []
    for i in range(8760):
        year, month, day = str(DATE[i]).split("-")
        t = 99.9 if i in missing else TEMPERATURE[i]
        rh = 999 if i in missing else HUMIDITY[i]
        rows.append(
            f"{1980 + int(month)},{int(month)},{int(day)},{HOUR[i] + 1},0,?9,{t},"
            f"99.9,{rh},"
            f"99000,0,0,300,{SUN[i]},0,0,0,0,0,0,270,3.1,5,5,16.0,3000,9,999999999,10,"
            "0.1,0,88,0.2,0.4,1.0"
        )
        assert year == "2001"
    return "\n".join(head + rows) + "\n"


def local(values, offset):
    """What UTC hours see of local hours of a cyclic year."""
    return np.roll(values, -int(offset))


def test_epw_rows_are_hours_that_start_an_hour_before_their_label(tmp_path):
    path = tmp_path / "year.csv"
    path.write_text(epw(name="Älder"), encoding="latin-1")
    ds = read_weather(path)
    np.testing.assert_allclose(ds["air_temperature"], local(TEMPERATURE, -6).round(1))
    np.testing.assert_allclose(ds["relative_humidity"], local(HUMIDITY, -6))
    np.testing.assert_allclose(ds["shortwave"], local(SUN, -6))
    np.testing.assert_allclose(ds["precipitation"], 0.4)
    assert ds.attrs["kind"] == "typical year"
    assert ds.attrs["utc_offset"] == -6.0
    assert ds.attrs["elevation"] == 201.0
    assert "Älder" in ds.attrs["source"]
    assert not has_years(ds)
    require_year(ds)


def test_missing_marks_of_epw_are_filled_and_counted(tmp_path):
    path = tmp_path / "a.epw"
    path.write_text(epw(missing=set(range(1000, 1004))))
    ds = read_weather(path)
    assert any(note.startswith("4 hours in gaps") for note in repair_sentences(ds))
    assert np.isfinite(ds["relative_humidity"]).all()
    path.write_text(epw(missing=set(range(1000, 1100))))
    with pytest.raises(WeatherError, match="a typical year must be complete"):
        read_weather(path)


def test_cut_epw_is_refused(tmp_path):
    path = tmp_path / "a.epw"
    path.write_text("\n".join(epw().split("\n")[:5000]) + "\n")
    with pytest.raises(WeatherError, match=r"holds 4992 of the 8760 hours"):
        read_weather(path)
    path.write_text(epw()[:300])
    with pytest.raises(WeatherError):
        read_weather(path)


def tmy3(offset=-5.0):
    names = (
        "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),Dew-point (C),"
        "RHum (%),Wspd (m/s),Lprecip depth (mm)"
    )
    rows = [
        f"{str(DATE[i])[5:7]}/{str(DATE[i])[8:]}/19{88 if i < 4000 else 91},"
        f"{HOUR[i] + 1:02d}:00,{SUN[i]},{TEMPERATURE[i]},5.0,{HUMIDITY[i]},2.5,0"
        for i in range(8760)
    ]
    head = f'000000,"SAMPLE FIELD",XX,{offset},40.2,-80.5,240'
    return "\n".join([head, names, *rows]) + "\n"


def test_tmy3_stamps_end_their_hour(tmp_path):
    path = tmp_path / "x.txt"
    path.write_text(tmy3())
    ds = read_weather(path)
    np.testing.assert_allclose(ds["air_temperature"], local(TEMPERATURE, -5))
    np.testing.assert_allclose(ds["shortwave"], local(SUN, -5))
    assert ds.attrs["longitude"] == -80.5
    assert "precipitation" not in ds


def pvgis(names="time(UTC),T2m,RH,G(h),WS10m"):
    head = (
        "Latitude (decimal degrees): 45.000\nLongitude (decimal degrees): 8.000\n"
        "Elevation (m): 250.0\nmonth,year\n"
        + "".join(f"{m},{2000 + m}\n" for m in range(1, 13))
    )
    rows = "".join(
        f"2009{str(DATE[i])[5:7]}{str(DATE[i])[8:]}:{HOUR[i]:02d}00,"
        f"{TEMPERATURE[i]},{HUMIDITY[i]},{SUN[i]},2.0\n"
        for i in range(8760)
    )
    return head + names + "\n" + rows + "\nT2m: 2-m air temperature\nPVGIS (c)\n"


def test_pvgis_typical_year_is_utc(tmp_path):
    path = tmp_path / "p.csv"
    path.write_text(pvgis())
    ds = read_weather(path)
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE)
    np.testing.assert_allclose(ds["wind_speed"], 2.0)
    assert (ds.attrs["latitude"], ds.attrs["elevation"]) == (45.0, 250.0)
    path.write_text(pvgis("time,Gb(i),T2m,WS10m,Int"))
    with pytest.raises(WeatherError, match=r"no humidity.*TMY"):
        read_weather(path)


@pytest.mark.skipif(not ARCHIVES.exists(), reason="sample archives are not here")
class TestRealFiles:
    """Held against pvlib's own readers of the same formats."""

    def test_epw(self):
        from pvlib.iotools import read_epw

        path = ARCHIVES / "epw_chicago_ohare_tmy3.epw"
        frame, meta = read_epw(path)
        ds = read_weather(path)
        at = -int(meta["TZ"])
        for ours, theirs in (
            ("air_temperature", "temp_air"),
            ("relative_humidity", "relative_humidity"),
            ("shortwave", "ghi"),
            ("wind_speed", "wind_speed"),
        ):
            np.testing.assert_allclose(ds[ours], np.roll(frame[theirs], at))

    def test_tmy3(self):
        from pvlib.iotools import read_tmy3

        path = ARCHIVES / "tmy3_greensboro_723170TYA.csv"
        frame, meta = read_tmy3(path, map_variables=False)
        ds = read_weather(path)
        at = -int(meta["TZ"])
        np.testing.assert_allclose(
            ds["air_temperature"], np.roll(frame["Dry-bulb (C)"], at)
        )
        np.testing.assert_allclose(
            ds["relative_humidity"], np.roll(frame["RHum (%)"], at)
        )
        # pvlib stamps the end of the hour: 01:00 local is our hour from 00:00.
        assert frame.index[0].hour == 1

    def test_pvgis(self):
        from pvlib.iotools import read_pvgis_tmy

        path = ARCHIVES / "pvgis_tmy_45N_8E_v5_3.csv"
        frame = read_pvgis_tmy(path)[0]
        ds = read_weather(path)
        np.testing.assert_allclose(ds["air_temperature"], frame["temp_air"])
        with pytest.raises(WeatherError, match="no humidity"):
            read_weather(ARCHIVES / "pvgis_hourly_45N_8E_2016.csv")
        with pytest.raises(WeatherError, match="JSON"):
            read_weather(ARCHIVES / "pvgis_tmy_meta_only.json")

    def test_user_file_in_fahrenheit(self):
        ds = read_weather(ARCHIVES / "user_csv_newark_fahrenheit_2013q1.csv")
        # 39.02 °F, 59.37 % at 2013-01-01T06:00Z stand in the file's first row.
        assert ds["time"].to_numpy()[0] == np.datetime64("2013-01-01T06")
        assert float(ds["air_temperature"][0]) == pytest.approx(3.9, abs=1e-6)
        assert float(ds["relative_humidity"][0]) == pytest.approx(59.37)


def test_pvgis_json_is_the_same_year_as_a_general_library_reads(tmp_path):
    lines = pvgis().splitlines()
    names = next(line for line in lines if line.startswith("time")).split(",")
    rows = [
        dict(zip(names, [parts[0], *(float(p) for p in parts[1:])], strict=True))
        for line in lines
        if (parts := line.split(","))[0][8:9] == ":"
    ]
    reply = {
        "inputs": {
            "location": {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0},
            "meteo_data": {"year_min": 2005, "year_max": 2023},
        },
        "outputs": {"months_selected": [], "tmy_hourly": rows},
        "meta": {"inputs": {}, "outputs": {}},
    }
    path = tmp_path / "tmy.json"
    path.write_text(json.dumps(reply))
    found = read_weather(path)
    assert found.attrs["kind"] == "typical year"
    assert (found.attrs["latitude"], found.attrs["elevation"]) == (45.0, 250.0)
    frame = pytest.importorskip("pvlib.iotools").read_pvgis_tmy(path)[0]
    np.testing.assert_allclose(found["air_temperature"], frame["temp_air"])
    np.testing.assert_allclose(found["relative_humidity"], frame["relative_humidity"])
    np.testing.assert_allclose(found["shortwave"], frame["ghi"])
    table = tmp_path / "tmy.csv"
    table.write_text(pvgis())
    for name, values in read_weather(table).data_vars.items():
        np.testing.assert_allclose(found[name], values)


@pytest.mark.parametrize(
    ("outputs", "said"),
    [
        ({"tmy_hourly": {"type": "time series"}}, "describes its columns"),
        ({"months_selected": []}, "describes its columns"),
        ({"hourly": [{"time": "20160101:0010", "T2m": 1.0}]}, "no humidity"),
        (["odd"], "another shape"),
    ],
)
def test_pvgis_json_without_a_year_is_refused(outputs, said, tmp_path):
    path = tmp_path / "x.json"
    inputs = {"location": {"latitude": 45.0}, "meteo_data": {}}
    path.write_text(json.dumps({"inputs": inputs, "outputs": outputs}))
    with pytest.raises(WeatherError, match=said):
        read_weather(path)
