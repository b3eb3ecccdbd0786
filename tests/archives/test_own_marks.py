"""An archive's format asks for that archive's own mark, not for a common look."""

import numpy as np
import pytest

from emcforecast.weather.read import read_weather, recognise

HOURS = np.arange("2021-01-01T00", "2021-03-01T00", dtype="datetime64[h]")
WARM = 10.0 + np.arange(HOURS.size) % 24 / 4
DAMP = 60.0 + np.arange(HOURS.size) % 24


def parts(hour):
    day = hour.astype("datetime64[D]")
    month = day.astype("datetime64[M]")
    return {
        "YEAR": int(day.astype("datetime64[Y]").astype(int)) + 1970,
        "MO": int(month.astype(int)) % 12 + 1,
        "DY": int((day - month).astype(int)) + 1,
        "DOY": int((day - day.astype("datetime64[Y]")).astype(int)) + 1,
        "HR": int((hour - day).astype(int)),
    }


def table(when, names):
    rows = [",".join((*when, *names))]
    for hour, warm, damp in zip(HOURS, WARM, DAMP, strict=True):
        found = parts(hour)
        rows.append(",".join([*(str(found[n]) for n in when), f"{warm}", f"{damp}"]))
    return "\n".join(rows) + "\n"


TABLES = {
    "day of the year": (("YEAR", "DOY", "HR"), ("Temp_C", "RH_pct")),
    "month and day": (("YEAR", "MO", "DY", "HR"), ("TempC", "Humidity %")),
}


@pytest.mark.parametrize("shape", TABLES)
def test_a_table_of_ones_own_is_read_as_one(shape, tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text(table(*TABLES[shape]))
    found = read_weather(file, utc_offset=0)
    assert found.attrs["source"] == "CSV file mine.csv"
    assert found["time"].to_numpy()[0] == HOURS[0]
    np.testing.assert_allclose(found["air_temperature"], WARM)
    np.testing.assert_allclose(found["relative_humidity"], DAMP)


@pytest.mark.parametrize("when", [shape for shape, _ in TABLES.values()])
def test_its_own_column_names_are_enough_where_the_header_was_cut_off(when, tmp_path):
    file = tmp_path / "cut.csv"
    file.write_text(table(when, ("T2M", "RH2M")))
    found = read_weather(file)
    assert found.attrs["source"].startswith("NASA POWER")
    np.testing.assert_allclose(found["air_temperature"], WARM)


MONTHS = "JAN,FEB,MAR,APR,MAY,JUN,JUL,AUG,SEP,OCT,NOV,DEC"


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("date,hour,temp,rh", lambda d, h, t, u: f"{d},{h},{t},{u}"),
        ("Location,Date,Hour,Temp C,RH %", lambda d, h, t, u: f"barn,{d},{h},{t},{u}"),
    ],
)
def test_plain_words_of_a_logger_are_no_archive(head, row, tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text(
        "\n".join(
            [head]
            + [
                row(hour.astype("datetime64[D]"), parts(hour)["HR"], warm, damp)
                for hour, warm, damp in zip(HOURS, WARM, DAMP, strict=True)
            ]
        )
    )
    found = read_weather(file, utc_offset=0, temperature_unit="C")
    assert found.attrs["source"] == "CSV file mine.csv"
    np.testing.assert_allclose(found["air_temperature"], WARM)


@pytest.mark.parametrize(
    "text",
    [
        "-BEGIN HEADER-\nmy own station\n-END HEADER-\nYEAR,MO,DY,HR,Temp_C,RH\n",
        f"PARAMETER,{MONTHS}\nTemp,1,2,3,4,5,6,7,8,9,10,11,12\n",
        "YEAR,DOY,HR,Temp_C,RH_pct\n2021,1,0,5,80\n",
    ],
)
def test_a_common_look_is_no_mark(text):
    found = recognise(text.encode(), "x")
    assert found is None or "POWER" not in found.name
