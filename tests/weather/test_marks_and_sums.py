"""Tables in which every cell is possible and the whole is not: said, or put right.

The rain is put together by numpy's own cumsum, the hours come from a packed year of a
station (data/observed).
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from emcforecast import read_weather
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.mend.running_sums import rain_of_sums
from emcforecast.weather.repairs import RepairKind, repairs_of

OBSERVED = Path(__file__).parents[2] / "data" / "observed"
RNG = np.random.default_rng(11)
HOURS = pd.date_range("2021-01-01", periods=8760, freq="h")
NUMBER = np.arange(HOURS.size)
WARM = np.round(
    10 - 11 * np.cos(2 * np.pi * (NUMBER / 8760 - 0.04))
    + 5 * np.cos(2 * np.pi * (NUMBER % 24 - 15) / 24)
    + RNG.normal(0, 0.4, HOURS.size),
    1,
)  # fmt: skip
HUMID = np.round(
    68 - 20 * np.cos(2 * np.pi * (NUMBER % 24 - 15) / 24)
    + RNG.normal(0, 2, HOURS.size),
    1,
)  # fmt: skip
RAIN = np.where(RNG.random(HOURS.size) < 0.08, RNG.gamma(1.0, 1.0, HOURS.size), 0.0)
RAIN = np.round(RAIN, 1)


def read(tmp_path, *, warm=WARM, humid=HUMID, rain=RAIN, time=HOURS):
    path = tmp_path / "made.csv"
    frame = pd.DataFrame(
        {"time_utc": time, "temp_c": warm, "rh_pct": humid, "rain_mm": rain}
    )
    frame.to_csv(path, index=False, date_format="%Y-%m-%d %H:%M")
    return read_weather(path)


def kinds(series):
    return {item.kind for item in repairs_of(series)}


def test_the_made_year_is_read_without_a_word(tmp_path):
    assert not repairs_of(read(tmp_path))


@pytest.mark.parametrize(
    ("column", "mark"), [("humid", 99.9), ("warm", 0.0), ("warm", -17.8)]
)
def test_a_possible_value_that_marks_what_is_missing_is_left_out(
    column, mark, tmp_path
):
    """0 °F is -17.8 °C: a logger that writes 0 for a lost reading."""
    own = {"humid": HUMID, "warm": WARM}[column]
    marked = np.where(NUMBER % 11 == 3, mark, own)
    series = read(tmp_path, **{column: marked})
    assert kinds(series) >= {RepairKind.MARKS_OF_MISSING, RepairKind.GAPS_BRIDGED}
    assert any(f"of {mark:g} " in line for line in repair_sentences(series))
    name = {"humid": "relative_humidity", "warm": "air_temperature"}[column]
    off = np.abs(series[name].to_numpy() - own)
    # Marks beside values like themselves may stay: they move little.
    assert off.mean() < 0.25 * np.abs(marked - own).mean()


@pytest.mark.parametrize(
    "path", sorted(OBSERVED.glob("*.csv.gz")), ids=lambda path: path.name
)
def test_nothing_that_was_measured_is_a_mark_or_a_sum(path):
    assert not kinds(read_weather(path, gaps="keep")) & {
        RepairKind.MARKS_OF_MISSING,
        RepairKind.LEAPS,
        RepairKind.HUMIDITY_DOUBTFUL,
        RepairKind.RAIN_COUNTER,
        RepairKind.RAIN_OF_DAYS,
    }


@pytest.mark.parametrize(
    ("column", "value"), [("humid", 1.5), ("humid", 15.0), ("warm", 45.0)]
)
def test_an_hour_that_leaps_there_and_back_is_said(column, value, tmp_path):
    """Single hours of the packed years of stations stand off by 29 % and 3.9 K at most
    (a typical year of Chicago, station 725755 in 2014): more is no weather."""
    own = {"humid": np.where(NUMBER == 4000, 88.0, HUMID), "warm": WARM}[column]
    near = (NUMBER == 3999) | (NUMBER == 4001)
    own = np.where(near & (column == "humid"), 88.0, own)
    marked = np.where(NUMBER == 4000, value, own)
    series = read(tmp_path, **{column: marked})
    assert RepairKind.LEAPS in kinds(series)
    assert any(f"such as {value:g} " in line for line in repair_sentences(series))
    name = {"humid": "relative_humidity", "warm": "air_temperature"}[column]
    assert float(series[name][4000]) == value


def test_a_counter_of_rain_is_taken_apart(tmp_path):
    """A tipping bucket that counts since it was set up."""
    series = read(tmp_path, rain=np.round(37.4 + np.cumsum(RAIN), 1))
    assert RepairKind.RAIN_COUNTER in kinds(series)
    np.testing.assert_allclose(series["precipitation"][1:], RAIN[1:], atol=1e-6)


def test_a_counter_that_was_set_back_goes_on(tmp_path):
    counted = np.concatenate((np.cumsum(RAIN[:5000]), np.cumsum(RAIN[5000:])))
    series = read(tmp_path, rain=np.round(counted, 1))
    assert float(series["precipitation"].sum()) == pytest.approx(RAIN[1:].sum(), 0.01)


@pytest.mark.parametrize("zone", ["UTC", "Europe/Vienna", "America/Denver"])
def test_rain_of_the_day_so_far_is_taken_apart(zone, tmp_path):
    """The day is the place's own, summer time and all."""
    day = HOURS.tz_localize("UTC").tz_convert(zone).date
    series = read(tmp_path, rain=pd.Series(RAIN).groupby(day).cumsum().round(1))
    assert RepairKind.RAIN_OF_DAYS in kinds(series)
    assert float(series["precipitation"].sum()) == pytest.approx(RAIN.sum(), rel=0.03)


def test_amounts_of_rain_are_left_as_they_are():
    for column in (RAIN, RAIN[:200], np.zeros(300), np.where(NUMBER % 24 == 7, 4.0, 0)):
        found, done = rain_of_sums(HOURS.to_numpy()[: column.size], column)
        assert not done
        np.testing.assert_array_equal(found, column)


def test_a_record_that_holds_its_rows_twice_has_its_rain_once(tmp_path):
    twice = np.repeat(NUMBER, 2)
    series = read(
        tmp_path, warm=WARM[twice], humid=HUMID[twice], rain=RAIN[twice],
        time=HOURS[twice],
    )  # fmt: skip
    assert RepairKind.REPEATED_TIMES in kinds(series)
    np.testing.assert_allclose(series["precipitation"], RAIN, atol=1e-9)


def test_amounts_within_an_hour_still_add_up(tmp_path):
    half = pd.date_range("2021-01-01", periods=2 * HOURS.size, freq="30min")
    each = np.repeat(NUMBER, 2)
    series = read(
        tmp_path, warm=WARM[each], humid=HUMID[each], rain=RAIN[each], time=half
    )
    np.testing.assert_allclose(series["precipitation"], 2 * RAIN, atol=1e-9)


@pytest.mark.parametrize("value", [6.5, 99.5])
def test_humidity_of_no_climate_is_questioned(value, tmp_path):
    """g/kg of water under the name of humidity, or a sensor under water."""
    wave = np.round(value + 0.4 * np.sin(NUMBER / 7), 2)
    series = read(tmp_path, humid=wave)
    assert RepairKind.HUMIDITY_DOUBTFUL in kinds(series)


def test_a_row_a_day_of_one_hour_is_questioned(tmp_path):
    """Readings at noon are 6 % MC drier than the day's mean in a humid valley."""
    at = slice(12, None, 24)
    noon = read(tmp_path, warm=WARM[at], humid=HUMID[at], rain=RAIN[at], time=HOURS[at])
    (line,) = [s for s in repair_sentences(noon) if "row a day" in s]
    assert "12:00" in line
    midnight = read(
        tmp_path,
        warm=WARM[at], humid=HUMID[at], rain=RAIN[at], time=HOURS[::24],
    )  # fmt: skip
    assert RepairKind.DAYS_AT_ONE_HOUR not in kinds(midnight)
