"""Files with a plausible damage: read rightly, read with a repair that is said, or
refused; never silently wrong."""

import random
from pathlib import Path

import numpy as np
import pytest

from emcforecast import read_weather
from emcforecast.errors import WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.check import inspect
from emcforecast.weather.mend.hours_from_means import hourly_from_monthly
from emcforecast.weather.repairs import RepairKind, repairs_of

OBSERVED = Path(__file__).parents[2] / "data" / "observed"
HOURS = np.arange(np.datetime64("2021-01-01T00"), np.datetime64("2022-01-01T00"))


def air(hour: int) -> tuple[float, int]:
    """Temperature and humidity of an hour of the year; every one a little different."""
    season = np.cos(2 * np.pi * (hour / 8760 - 0.04))
    daily = np.cos(2 * np.pi * (hour % 24 - 15) / 24)
    return float(round(10 - 11 * season + 4 * daily, 1)), int(70 - 15 * daily)


def kinds(path: Path, **hints: object) -> set[RepairKind]:
    found = repairs_of(read_weather(path, **hints))
    return {one.kind for one in found}


@pytest.mark.parametrize("names", ["time,temp_c,rh_pct", "time_utc,temp_c,rh"])
def test_a_decimal_comma_between_commas_is_refused(tmp_path: Path, names: str) -> None:
    """``-2,0,80`` under two names would read as -2 °C and 0 %."""
    rows = []
    for number, stamp in enumerate(HOURS[:9000]):
        t, h = air(number)
        rows.append(f"{str(stamp).replace('T', ' ')}:00,{str(t).replace('.', ',')},{h}")
    path = tmp_path / "comma.csv"
    path.write_text("\n".join([names, *rows]))
    with pytest.raises(WeatherError, match=r"rows have 4 cells under 3 column names"):
        read_weather(path)


def test_a_separator_at_the_end_of_every_row_is_none(tmp_path: Path) -> None:
    rows = []
    for number, stamp in enumerate(HOURS):
        t, h = air(number)
        rows.append(f"{str(stamp).replace('T', ' ')}:00,{t},{h},")
    path = tmp_path / "ends.csv"
    path.write_text("\n".join(["time_utc,temp_c,rh_pct", *rows]))
    series = read_weather(path)
    assert float(series["air_temperature"][0]) == air(0)[0]
    assert float(series["relative_humidity"][0]) == air(0)[1]


def pvgis(order: list[int]) -> str:
    """Return a typical year of PVGIS with its hours in an order."""
    head = "Latitude (decimal degrees): 45.0\nLongitude (decimal degrees): 8.0\n\n"
    head += "month,year\n1,2010\n\ntime(UTC),T2m,RH,G(h),WS10m\n"
    rows = []
    for hour in order:
        stamp = str(HOURS[hour]).replace("-", "").replace("T", ":")
        t, h = air(hour)
        rows.append(f"{stamp}00,{t},{h},0.0,1.0")
    return head + "\n".join(rows) + "\n\nT2m: 2-m air temperature\n"


def epw(order: list[int]) -> str:
    """Return an EPW file with its hours in an order; its data field as published."""
    head = ["LOCATION,Somewhere,-,-,made,0,45.0,8.0,1.0,100.0"]
    head += [
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
    ]
    head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"]
    head += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    rows = []
    for hour in order:
        date = str(HOURS[hour])
        t, h = air(hour)
        cells = [date[:4], date[5:7], date[8:10], str(int(date[11:13]) + 1), "60"]
        cells += ["?9?9", str(t), "99.9", str(h), "99000", "0", "0", "300"]
        cells += ["0"] * 7 + ["0", "1.0", "5", "5", "9999", "99999", "9", "999999999"]
        cells += ["10", "0.1", "0", "88", "0.2", "999", "99"]
        rows.append(",".join(cells))
    return "\n".join([*head, *rows]) + "\n"


@pytest.mark.parametrize("make", [pvgis, epw])
def test_hours_of_a_typical_year_stand_by_their_dates(make, tmp_path: Path) -> None:
    """Rows in any order give the year that rows in order give, and it is said."""
    order = list(range(8760))
    shuffled = order[:]
    random.Random(1).shuffle(shuffled)
    names = {"pvgis": "year.csv", "epw": "year.epw"}
    path = tmp_path / names[make.__name__]
    path.write_text(make(order))
    whole = read_weather(path)
    assert RepairKind.ROWS_OUT_OF_ORDER not in kinds(path)
    path.write_text(make(shuffled))
    mixed = read_weather(path)
    assert np.array_equal(mixed["air_temperature"], whole["air_temperature"])
    assert RepairKind.ROWS_OUT_OF_ORDER in kinds(path)
    twice = order[:]
    twice[5000] = 4999
    path.write_text(make(twice))
    with pytest.raises(WeatherError, match="stand twice or not at all"):
        read_weather(path)


def test_a_year_without_a_drop_of_rain_is_not_believed(tmp_path: Path) -> None:
    rows = []
    for number, stamp in enumerate(HOURS):
        t, h = air(number)
        rows.append(f"{str(stamp).replace('T', ' ')}:00,{t},{h},0")
    path = tmp_path / "dry.csv"
    path.write_text("\n".join(["time_utc,temp_c,rh_pct,rain_mm", *rows]))
    series = read_weather(path)
    assert "precipitation" not in series
    assert RepairKind.RAIN_ALL_ZERO in kinds(path)
    rows[4000] = rows[4000][:-1] + "2.5"
    path.write_text("\n".join(["time_utc,temp_c,rh_pct,rain_mm", *rows]))
    assert float(read_weather(path)["precipitation"].sum()) == 2.5


def test_months_of_the_south_without_a_latitude_stand_in_the_south(
    tmp_path: Path,
) -> None:
    """Warm from November to April: the sun is that of 45° south, and it is said so."""
    rows = ["month,temp_c,rh_pct"]
    rows += [
        f"{k + 1},{12 + 8 * np.cos(2 * np.pi * k / 12):.1f},{70 + k}" for k in range(12)
    ]
    path = tmp_path / "south.csv"
    path.write_text("\n".join(rows))
    hourly = hourly_from_monthly(read_weather(path))
    sun = hourly["shortwave"].to_numpy().reshape(365, 24).sum(axis=1)
    assert sun[:31].mean() > 2.0 * sun[181:212].mean()
    assert any("45° south" in line for line in repair_sentences(hourly))


PLACE = {"latitude": 45.0, "longitude": 8.0, "utc_offset": 0.0}
RNG = np.random.default_rng(3)
SLOW = np.convolve(RNG.normal(0.0, 5.0, 370), np.ones(3) / 3, "valid")


def made_year(path: Path, shift: int = 0, **change: object) -> Path:
    """Write a year with fronts of some days, warmest at 15 h UTC; one thing changed."""
    unit = change.get("unit", "c")
    rows = []
    for number, stamp in enumerate(HOURS):
        t, h = air(number - shift)
        t = round(t + SLOW[number // 24], 1)
        day = str(stamp)[:10]
        if change.get("swapped") and int(day[8:]) <= 12:
            day = f"{day[:5]}{day[8:]}-{day[5:7]}"
        if change.get("daily"):
            t = round(10 - 11 * np.cos(2 * np.pi * (number // 24) / 365), 1)
        shown = h / 100 if change.get("fraction") and number >= 4000 else h
        rows.append(f"{day} {str(stamp)[11:]}:00,{t},{shown}")
    path.write_text("\n".join([f"time_utc,temp_{unit},rh_pct", *rows]))
    return path


QUESTIONS = {
    RepairKind.UNIT_DOUBTFUL,
    RepairKind.HUMIDITY_FRACTIONS,
    RepairKind.DAYS_REPEATED,
    RepairKind.DATES_SWAPPED,
    RepairKind.CLOCK_DOUBTFUL,
}


@pytest.mark.parametrize(
    ("change", "question"),
    [
        ({}, None),
        ({"unit": "f"}, RepairKind.UNIT_DOUBTFUL),
        ({"daily": True}, RepairKind.DAYS_REPEATED),
        ({"swapped": True}, RepairKind.DATES_SWAPPED),
        ({"shift": 8}, RepairKind.CLOCK_DOUBTFUL),
        ({"shift": -6}, RepairKind.CLOCK_DOUBTFUL),
    ],
)
def test_plausible_damage_is_questioned(
    change: dict[str, object], question: RepairKind | None, tmp_path: Path
) -> None:
    path = made_year(tmp_path / "year.csv", **change)  # type: ignore[arg-type]
    found = kinds(path, **PLACE) & QUESTIONS
    assert found == (set() if question is None else {question})
    series = read_weather(path, **PLACE)
    assert all(len(line) < 250 for line in repair_sentences(series))


def test_humidity_that_turns_into_a_fraction_is_not_believed(tmp_path: Path) -> None:
    path = made_year(tmp_path / "year.csv", fraction=True)
    series = read_weather(path, gaps="keep", **PLACE)
    assert np.isnan(series["relative_humidity"].to_numpy()[4000:]).all()
    assert RepairKind.HUMIDITY_FRACTIONS in kinds(path, **PLACE)
    filled = read_weather(path, **PLACE)["relative_humidity"]
    assert float(filled.min()) > 50.0


@pytest.mark.parametrize(
    "path", sorted(OBSERVED.glob("*.csv.gz")), ids=lambda p: p.name
)
def test_real_stations_are_not_questioned(path: Path) -> None:
    assert not kinds(path, utc_offset=0.0, gaps="keep") & QUESTIONS


def test_months_are_counted_in_the_time_of_the_place(tmp_path: Path) -> None:
    """A year by the clock of UTC-8 is twelve whole months there."""
    rows = [
        f"{str(stamp).replace('T', ' ')}:00,{air(k)[0]},{air(k)[1]}"
        for k, stamp in enumerate(HOURS[:744])
    ]
    path = tmp_path / "january.csv"
    path.write_text("\n".join(["time_local,temp_c,rh_pct", *rows]))
    found = inspect(path, utc_offset=-8.0)
    shares = {row["name"]: row["coverage"] for row in found.coverage_by_month}
    assert shares["January"] == 1.0
    assert shares["February"] == 0.0
