"""Home loggers and spreadsheets: every shape a table comes in, the same weather out.

The weather is invented: a yearly and a daily wave. Each writer below is one of the
shapes that exports take; the reader must give back what was written, or refuse.
"""

import datetime as dt
import gzip
import io
import math
import zipfile

import numpy as np
import pytest

from emcforecast.errors import WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.read import read_logger, read_weather

HOURS = 24 * 370
START = dt.datetime(2023, 1, 1)
WHEN = [START + dt.timedelta(hours=i) for i in range(HOURS)]
COUNT = np.arange(HOURS)
TEMPERATURE = np.round(
    10
    - 12 * np.cos(2 * np.pi * COUNT / 8766)
    + 4 * np.sin(2 * np.pi * (COUNT - 9) / 24),
    1,
)
HUMIDITY = np.round(72 - 15 * np.sin(2 * np.pi * (COUNT - 9) / 24), 0)
ROWS = list(zip(WHEN, TEMPERATURE.tolist(), HUMIDITY.tolist(), strict=True))


def f_of(t):
    return t * 1.8 + 32


def lines(make, rows=ROWS):
    return "\n".join(make(*row) for row in rows) + "\n"


def comma(text):
    return text.replace(".", ",")


def twelve(when):
    return when.strftime("%I:%M:%S %p")


SHAPES = {
    "iso with Z": lambda: (
        "time_utc,temp_c,rh_pct\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%dT%H:%M:%SZ},{t},{h}"),
        "utf-8",
    ),
    "decimal commas, semicolons, points in dates, cp1252": lambda: (
        "Datum/Uhrzeit UTC;Temperatur [°C];rel. Feuchte [%]\n"
        + lines(lambda w, t, h: f"{w:%d.%m.%Y %H:%M};{comma(str(t))};{comma(str(h))}"),
        "cp1252",
    ),
    "UTF-16 with tabs and month first": lambda: (
        "Time (UTC)\tTemperature(°C)\tHumidity(%RH)\n"
        + lines(lambda w, t, h: f"{w:%m/%d/%Y %H:%M:%S}\t{t}\t{h}"),
        "utf-16",
    ),
    "preamble, record number, date and time apart, AM and PM, °F, summary": lambda: (
        "\ufeffDevice: shed 3\nSerial;123\nInterval: 60 min\n\n"
        "No.,Date UTC,Time,Temp °F,RH%\n"
        + "\n".join(
            f"{i},{w:%m/%d/%y},{twelve(w)},{f_of(t):.2f},{h:.0f}"
            for i, (w, t, h) in enumerate(ROWS)
        )
        + "\n\nMax,,,99.0,99\nAverage: 20\n",
        "utf-8",
    ),
    "offset in a quoted header, empty last column": lambda: (
        '"Plot Title: barn"\n"#","Date Time, GMT-05:00","Temp, °F (SEN 1)",'
        '"RH, % (SEN 1)","Host Connected",\n'
        + lines(
            lambda w, t, h: (
                f'1,"{w - dt.timedelta(hours=5):%m/%d/%y %I:%M:%S %p}",'
                f"{f_of(t):.2f},{h},,"
            )
        ),
        "utf-8",
    ),
    "epoch seconds": lambda: (
        "timestamp,temperature_c,humidity\n"
        + lines(lambda w, t, h: f"{w.replace(tzinfo=dt.UTC).timestamp():.0f},{t},{h}"),
        "utf-8",
    ),
    "epoch milliseconds and a fraction": lambda: (
        "timestamp,temperature_c,humidity\n"
        + lines(
            lambda w, t, h: (
                f"{w.replace(tzinfo=dt.UTC).timestamp() * 1000:.0f},{t},{h / 100:.2f}"
            )
        ),
        "utf-8",
    ),
    "spreadsheet serials with decimal commas": lambda: (
        "Date (UTC);Temp C;RH %\n"
        + lines(
            lambda w, t, h: comma(
                f"{(w - dt.datetime(1899, 12, 30)).total_seconds() / 86400:.7f};{t};{h}"
            )
        ),
        "utf-8",
    ),
    "units in the cells": lambda: (
        "Time (UTC),Temperature,Humidity\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t} °C,{h:.0f} %"),
        "utf-8",
    ),
    "newest first": lambda: (
        "time_utc,temp_c,rh_pct\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}", ROWS[::-1]),
        "utf-8",
    ),
    "year, month, day and hour apart": lambda: (
        "year,month,day,hour (UTC),temp_c,rh\n"
        + lines(lambda w, t, h: f"{w.year},{w.month},{w.day},{w.hour},{t},{h}"),
        "utf-8",
    ),
    "hours 1 to 24": lambda: (
        "date,hour (UTC),temp_c,rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d},{w.hour + 1},{t},{h}"),
        "utf-8",
    ),
    "digits run together": lambda: (
        "YYYYMMDDHH,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%Y%m%d%H},{t},{h}"),
        "utf-8",
    ),
    "a row of units": lambda: (
        "Timestamp UTC,Temp,RH\n,degF,%\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M:%S},{f_of(t):.2f},{h}"),
        "utf-8",
    ),
    "both °C and °F": lambda: (
        "Timestamp UTC,Temperature_Celsius,Temperature_Fahrenheit,Relative_Humidity\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M:%S},{t},{f_of(t):.1f},{h}"),
        "utf-8",
    ),
    "indoor and outdoor": lambda: (
        "Time UTC,Indoor Temperature(°C),Indoor Humidity(%),"
        "Outdoor Temperature(°C),Outdoor Humidity(%)\n"
        + lines(lambda w, t, h: f"{w:%Y/%m/%d %H:%M},21.0,45,{t},{h}"),
        "utf-8",
    ),
    "quoted decimal commas": lambda: (
        "time_utc,temp_c,rh\n"
        + lines(
            lambda w, t, h: f'{w:%Y-%m-%d %H:%M},"{comma(str(t))}","{comma(str(h))}"'
        ),
        "utf-8",
    ),
    "French": lambda: (
        "Date;Heure (UTC);Température (°C);Humidité relative (%)\n"
        + lines(lambda w, t, h: f"{w:%d/%m/%Y};{w:%H:%M};{comma(str(t))};{h:.0f}"),
        "cp1252",
    ),
    "Russian": lambda: (
        "Дата и время UTC;Температура, °C;Относительная влажность, %\n"
        + lines(lambda w, t, h: f"{w:%d.%m.%Y %H:%M};{comma(str(t))};{h:.0f}"),
        "utf-8",
    ),
    "Japanese": lambda: (
        "日時 UTC,気温(℃),相対湿度(%)\n"
        + lines(lambda w, t, h: f"{w:%Y/%m/%d %H:%M},{t},{h}"),
        "utf-8",
    ),
    "Dutch, Spanish and Italian words": lambda: (
        "fecha y hora UTC,temperatuur °C,umidità relativa %\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}"),
        "utf-8",
    ),
    "two-digit year first": lambda: (
        "time UTC,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%y/%m/%d %H:%M},{t},{h}"),
        "utf-8",
    ),
    "time of day as a fraction": lambda: (
        "Date UTC,Time,temp_c,rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d},{w.hour / 24:.6f},{t},{h}"),
        "utf-8",
    ),
    "Finnish, parts of the date apart": lambda: (
        "Vuosi,Kuukausi,Päivä,Aika [UTC],Lämpötilan keskiarvo [°C],"
        "Suhteellisen kosteuden keskiarvo [%]\n"
        + lines(
            lambda w, t, h: f"{w.year},{w.month},{w.day},{w:%H:%M},{t},{h}",
        ),
        "utf-8",
    ),
    "whole stamps under the word for time of day": lambda: (
        "Zeit UTC;T;RF\n" + lines(lambda w, t, h: f"{w:%d.%m.%Y %H:%M:%S};{t};{h}"),
        "utf-8",
    ),
    "unit above the table": lambda: (
        "Temperature unit: °F\n\ntime_utc,temperature,humidity\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{f_of(t):.2f},{h}"),
        "utf-8",
    ),
    "one stray date": lambda: (
        "time_utc,temp_c,rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}")
        + "2099-01-01 00:00,5,50\n",
        "utf-8",
    ),
    "named months": lambda: (
        "time UTC,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%d-%b-%Y %H:%M},{t},{h}"),
        "utf-8",
    ),
    "white space between": lambda: (
        "date time_utc temp_c rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M}   {t}  {h}"),
        "utf-8",
    ),
    "time without a name": lambda: (
        ",temp_c,rh\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M}Z,{t},{h}"),
        "utf-8",
    ),
    "kelvin": lambda: (
        "time_utc,temp_k,rh_pct\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t + 273.15:.2f},{h}"),
        "utf-8",
    ),
    "offset in every time": lambda: (
        "time,temp_c,rh\n"
        + lines(
            lambda w, t, h: (
                f"{w + dt.timedelta(hours=2):%Y-%m-%dT%H:%M:%S}+02:00,{t},{h}"
            )
        ),
        "utf-8",
    ),
}


def write(tmp_path, text, encoding="utf-8", name="w.csv"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return path


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_gives_the_weather_back(shape, tmp_path):
    ds = read_weather(write(tmp_path, *SHAPES[shape]()))
    assert ds.sizes["time"] == HOURS
    assert ds["time"].to_numpy()[0] == np.datetime64(START)
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE, atol=0.01)
    np.testing.assert_allclose(ds["relative_humidity"], HUMIDITY, atol=0.51)


def test_extension_says_nothing(tmp_path):
    text, encoding = SHAPES["iso with Z"]()
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("in/weather.tab", text)
        archive.writestr("readme.txt", "Hello,\nthis is not weather.\n")
    for name, data in {
        "a.dat": text.encode(encoding),
        "b.nc": gzip.compress(text.encode()),
        "c.epw": packed.getvalue(),
    }.items():
        ds = read_weather(write(tmp_path, data, name=name))
        np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE)


def test_dew_point_wet_bulb_and_vapour_pressure_stand_in_for_humidity(tmp_path):
    # Pairs from an independent library's psychrometrics (ASHRAE formulas).
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    rows = [row for row in ROWS[4000:6000] if row[1] > 2.0]
    made = {
        "dew_point_c": lambda t, h: psychrolib.GetTDewPointFromRelHum(t, h / 100),
        "wet_bulb_c": lambda t, h: psychrolib.GetTWetBulbFromRelHum(t, h / 100, 101325),
        "vapour_pressure_hpa": lambda t, h: (
            psychrolib.GetVapPresFromRelHum(t, h / 100) / 100
        ),
        "absolute humidity (g/m³)": lambda t, h: (
            1000 * psychrolib.GetVapPresFromRelHum(t, h / 100) / 461.5 / (t + 273.15)
        ),
    }
    # The psychrometer coefficient is of one instrument, hence the wider band.
    within = {"wet_bulb_c": 1.0}
    for name, make in made.items():
        text = f"time_utc,temp_c,{name}\n" + lines(
            lambda w, t, h, make=make: f"{w:%Y-%m-%d %H:%M},{t},{make(t, h):.4f}", rows
        )
        ds = read_weather(write(tmp_path, text))
        known = np.array([row[2] for row in rows])
        np.testing.assert_allclose(
            ds["relative_humidity"], known, atol=within.get(name, 0.4)
        )
        assert any("worked out" in note for note in repair_sentences(ds))


def test_fahrenheit_without_a_unit_is_told_by_physics_not_guessed(tmp_path):
    def dew(t, h):
        x = math.log(h / 100) + 17.62 * t / (243.12 + t)
        return 243.12 * x / (17.62 - x)

    text = "time_utc,temp,dewp,humid\n" + lines(
        lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{f_of(t):.2f},{f_of(dew(t, h)):.2f},{h}",
        ROWS[:600],
    )
    ds = read_weather(write(tmp_path, text))
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE[:600], atol=0.01)
    assert any("°F" in note for note in repair_sentences(ds))


def test_values_between_are_hourly_means(tmp_path):
    text = "time_utc,temp_c,rh\n" + lines(
        lambda w, t, h: "\n".join(
            f"{w + dt.timedelta(minutes=m):%Y-%m-%d %H:%M},{t + k:.1f},{h}"
            for m, k in ((3, -0.5), (23, 0.0), (43, 0.5))
        ),
        ROWS[:500],
    )
    ds = read_weather(write(tmp_path, text))
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE[:500], atol=1e-9)
    assert "1500 readings averaged into 500 hours" in repair_sentences(ds)


def test_summer_time_is_undone_where_the_autumn_hour_comes_twice(tmp_path):
    def wall(w):
        summer = dt.datetime(2023, 3, 26, 1) <= w < dt.datetime(2023, 10, 29, 1)
        return w + dt.timedelta(hours=1 + summer)

    text = "time,temp_c,rh\n" + lines(
        lambda w, t, h: f"{wall(w):%Y-%m-%d %H:%M},{t},{h}"
    )
    ds = read_weather(write(tmp_path, text), utc_offset=1)
    assert ds.sizes["time"] == HOURS
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE)
    assert any("autumn hour" in note for note in repair_sentences(ds))
    assert ds.attrs["utc_offset"] == 1.0


def test_clock_without_offset_is_sun_time_and_says_so(tmp_path):
    text = "time,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}")
    path = write(tmp_path, text)
    east = read_weather(path, longitude=-75.0)
    assert east["time"].to_numpy()[0] == np.datetime64("2023-01-01T05")
    assert any("--utc-offset" in note for note in repair_sentences(east))
    nowhere = read_weather(path)
    assert nowhere["time"].to_numpy()[0] == np.datetime64("2023-01-01T00")
    assert any("--utc-offset" in note for note in repair_sentences(nowhere))


def test_sentinels_and_error_words_are_missing_and_counted(tmp_path):
    text = "time_utc,temp_c,rh\n" + "\n".join(
        f"{w:%Y-%m-%d %H:%M},-999,LO"
        if i % 100 == 50
        else f"{w:%Y-%m-%d %H:%M},{t},{h}"
        for i, (w, t, h) in enumerate(ROWS)
    )
    ds = read_weather(write(tmp_path, text))
    lost = sum(i % 100 == 50 for i in range(HOURS))
    assert f"{lost} impossible air temperature values" in " ".join(repair_sentences(ds))
    assert f"{lost} hours in gaps of up to 6 h" in " ".join(repair_sentences(ds))
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE, atol=1.2)


def test_wind_rain_and_sun_come_along_in_series_units(tmp_path):
    text = "time_utc,temp_c,rh_pct,precip_mm,wind_ms,ghi_wm2\n" + lines(
        lambda w, t, h: f"{w:%Y-%m-%dT%H:%MZ},{t},{h},0.4,3.0,200", ROWS[:48]
    )
    ds = read_weather(write(tmp_path, text))
    assert {str(v): float(ds[v].mean()) for v in ds.data_vars} == pytest.approx(
        {
            "air_temperature": TEMPERATURE[:48].mean(),
            "relative_humidity": HUMIDITY[:48].mean(),
            "precipitation": 0.4,
            "wind_speed": 3.0,
            "shortwave": 200.0,
        }
    )
    text = "time_utc,temp_f,rh_pct,rain (in),wind mph\n" + lines(
        lambda w, t, h: f"{w:%Y-%m-%dT%H:%MZ},{f_of(t)},{h},0.1,10", ROWS[:48]
    )
    ds = read_weather(write(tmp_path, text))
    assert float(ds["precipitation"].mean()) == pytest.approx(2.54)
    assert float(ds["wind_speed"].mean()) == pytest.approx(4.4704)


def test_several_places_in_one_table_are_chosen_between(tmp_path):
    text = "station,time_utc,temp_c,rh\n" + lines(
        lambda w, t, h: (
            f"A,{w:%Y-%m-%d %H:%M},{t},{h}\nB,{w:%Y-%m-%d %H:%M},{t + 5},{h}"
        ),
        ROWS[:100],
    )
    path = write(tmp_path, text)
    with pytest.raises(WeatherError, match=r"2 places.*--place"):
        read_weather(path)
    ds = read_weather(path, place="B")
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE[:100] + 5)


def test_a_logger_of_three_weeks_is_read_with_its_gaps(tmp_path):
    rows = [row for i, row in enumerate(ROWS[: 24 * 21]) if not 100 <= i < 150]
    text = "time_utc,temp_c,rh\n" + lines(
        lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}", rows
    )
    ds = read_logger(write(tmp_path, text))
    assert ds.attrs["kind"] == "logger"
    assert int(np.isnan(ds["air_temperature"]).sum()) == 50


def test_temperature_and_humidity_in_two_files(tmp_path):
    one = write(
        tmp_path,
        "time_utc,temp_c\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t}", ROWS[:900]),
        name="t.csv",
    )
    two = write(
        tmp_path,
        "Date;UTC;RH %\n"
        + lines(lambda w, t, h: f"{w:%d.%m.%Y};{w:%H:%M};{h}", ROWS[:900]),
        name="h.csv",
    )
    two = write(tmp_path, two.read_text().replace("UTC;", "Time UTC;"), name="h.csv")
    ds = read_weather([one, two])
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE[:900])
    np.testing.assert_allclose(ds["relative_humidity"], HUMIDITY[:900])
    with pytest.raises(WeatherError, match="more than one of the files"):
        read_weather([one, one])


PLAIN = "time_utc,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}")
SOLE_DAY = "time_utc,temp_c,rh\n" + lines(
    lambda w, t, h: f"{w:%d/%m/%Y %H:%M},{t},{h}", ROWS[48:72]
)
REFUSED = {
    "no humidity": (
        "time_utc,temp_c\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t}"),
        "no humidity.*--column relative_humidity",
    ),
    "no temperature": (
        "time_utc,rh\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{h}"),
        "recognised as temperature",
    ),
    "wind only": (
        "time_utc,wind_ms\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},3"),
        "temperature or humidity",
    ),
    "all missing": (
        "time_utc,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},,"),
        "missing or impossible",
    ),
    "negative humidity": (
        "time_utc,temp_c,rh\n" + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{-h}"),
        "humidity value is missing or impossible",
    ),
    "binary": (bytes(range(256)) * 40, "not a weather format that is known"),
    "empty": (b"", "is empty"),
    "header only": ("time_utc,temp_c,rh\n", "no readings"),
    "no header": (PLAIN.split("\n", 1)[1], "put names in the first line"),
    "web page": ("<!DOCTYPE html><html>404</html>", "web page"),
    "truncated gzip": (gzip.compress(PLAIN.encode())[:4000], "cut off or damaged"),
    "truncated zip": (b"PK\x03\x04" + bytes(200), "cut off or damaged"),
    "commas for everything": (
        "time_utc,temp_c,rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{comma(str(t))},{comma(str(h))}"),
        "semicolons",
    ),
    "day or month first": (SOLE_DAY, "--day-first or --month-first"),
    "no unit and too short to tell": (
        "time_utc,temperature,rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}", ROWS[:500]),
        "--temperature-unit",
    ),
    "percent that never passes 1": (
        "time_utc,temp_c,rh_pct\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h / 100}"),
        "--humidity-unit fraction",
    ),
    "two temperatures": (
        "time_utc,Temp A (°C),Temp B (°C),rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{t},{h}"),
        "--column air_temperature=NAME",
    ),
    "five days gone in a month": (
        "time_utc,temp_c,rh\n"
        + lines(
            lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}", ROWS[:3000] + ROWS[3120:]
        ),
        "2023-05 lacks .* of its hours",
    ),
    "no time": (
        "temp_c,rh\n" + lines(lambda w, t, h: f"{t},{h}"),
        "recognised as the time",
    ),
    "half a day apart": (
        "time_utc,temp_c,rh\n"
        + lines(lambda w, t, h: f"{w:%Y-%m-%d %H:%M},{t},{h}", ROWS[::12]),
        "12 h apart",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_with_one_line_that_says_what_to_do(case, tmp_path):
    content, reason = REFUSED[case]
    path = write(tmp_path, content, name="my file.csv")
    with pytest.raises(WeatherError, match=reason) as caught:
        read_weather(path)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("my file.csv: ")


def test_options_settle_what_was_ambiguous(tmp_path):
    path = write(tmp_path, SOLE_DAY)
    by_day = read_weather(path, day_first=True)
    assert by_day["time"].to_numpy()[0] == np.datetime64("2023-01-03T00")
    by_month = read_weather(path, day_first=False)
    assert by_month["time"].to_numpy()[0] == np.datetime64("2023-03-01T00")
    text = REFUSED["no unit and too short to tell"][0]
    ds = read_weather(write(tmp_path, text), temperature_unit="F")
    np.testing.assert_allclose(
        ds["air_temperature"], (TEMPERATURE[:500] - 32) / 1.8, atol=1e-9
    )
    text = REFUSED["percent that never passes 1"][0]
    ds = read_weather(write(tmp_path, text), humidity_unit="fraction")
    np.testing.assert_allclose(ds["relative_humidity"], HUMIDITY)
    text = REFUSED["two temperatures"][0]
    ds = read_weather(write(tmp_path, text), columns={"air_temperature": "Temp B (°C)"})
    np.testing.assert_allclose(ds["air_temperature"], TEMPERATURE)


def test_a_cut_last_line_is_left_out_and_said(tmp_path):
    ds = read_weather(write(tmp_path, PLAIN[:-12]))
    assert ds.sizes["time"] == HOURS - 1
    assert any("too few cells" in note for note in repair_sentences(ds))


def test_a_leap_day_and_one_row_are_read_but_are_no_year(tmp_path):
    from emcforecast.weather.years import require_year

    for text, size in (
        ("time_utc,temp_c,rh\n2024-02-29 00:00,5,80\n", 1),
        (
            "time_utc,temp_c,rh\n"
            + "".join(f"2024-02-29 {h:02d}:00,5,80\n" for h in range(24)),
            24,
        ),
    ):
        ds = read_weather(write(tmp_path, text))
        assert ds.sizes["time"] == size
        with pytest.raises(WeatherError, match="0 of the 12 calendar months"):
            require_year(ds)


def test_unknown_hints_are_named(tmp_path):
    with pytest.raises(WeatherError, match="Did you mean 'latitude'"):
        read_weather(write(tmp_path, PLAIN), lattitude=3.0)
    with pytest.raises(WeatherError, match="not within -90 to 90"):
        read_weather(write(tmp_path, PLAIN), latitude=300.0)
    with pytest.raises(WeatherError, match="no such file"):
        read_weather(tmp_path / "nowhere.csv")
    (tmp_path / "empty").mkdir()
    with pytest.raises(WeatherError, match="the folder holds no file"):
        read_weather(tmp_path / "empty")


def test_a_monsoon_month_is_believed(tmp_path):
    """Heavy months of the Malabar coast (common practice, no source), and too much."""
    rain = [20, 25, 45, 120, 300, 680, 1620, 400, 270, 320, 170, 45]
    rows = [f"{k + 1},27.0,80,{mm}" for k, mm in enumerate(rain)]
    path = tmp_path / "coast.csv"
    path.write_text("month,temp_c,rh_pct,precipitation_mm\n" + "\n".join(rows) + "\n")
    series = read_weather(path, latitude=10.0, longitude=76.0)
    assert series["precipitation"].to_numpy().tolist() == rain
    path.write_text(path.read_text().replace("1620", "16200"))
    told = " ".join(repair_sentences(read_weather(path, latitude=10.0, longitude=76.0)))
    assert "16200" in told


def test_stamps_at_the_end_are_moved_to_the_start(tmp_path):
    # The row of 01:00 is the hour from 00:00: a logger that says "end" is an hour late.
    rows = [f"2024-05-01 {hour:02d}:00,{10 + hour},60" for hour in range(1, 13)]
    path = tmp_path / "logger.csv"
    path.write_text("time,temperature C,RH %\n" + "\n".join(rows) + "\n")
    said = {"utc_offset": 0.0}
    start, end, plain = (
        read_weather(path, **said, **more)
        for more in ({"stamp": "start"}, {"stamp": "end"}, {})
    )
    assert str(end.time.to_numpy()[0])[:16] == "2024-05-01T00:00"
    assert str(start.time.to_numpy()[0])[:16] == "2024-05-01T01:00"
    assert (start.time == plain.time).all()
    assert (
        end.air_temperature.to_numpy().tolist()
        == start.air_temperature.to_numpy().tolist()
    )
