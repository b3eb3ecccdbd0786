"""Clocks on summer time, against the time zone database (the standard library's)."""

import datetime as dt
import zoneinfo

import numpy as np
import pytest

from emcforecast.weather.check import inspect
from emcforecast.weather.read import read_weather
from emcforecast.weather.repairs import RepairKind

SUMMER_TIME = {RepairKind.SUMMER_TIME_REPEATED, RepairKind.SUMMER_TIME_SKIPPED}
ZONES = {
    "Europe/Berlin": 1,
    "Europe/London": 0,
    "Europe/Helsinki": 2,
    "America/New_York": -5,
    "America/Denver": -7,
    "Australia/Sydney": 10,
    "Pacific/Auckland": 12,
}


def kinds(found):
    return {item.kind for item in found.repairs}


def instants(begin, end, minutes=60):
    """Return UTC instants, begin and end as (year, month, day)."""
    first = dt.datetime(*begin, tzinfo=dt.UTC)
    count = int((dt.datetime(*end, tzinfo=dt.UTC) - first).total_seconds() / 60)
    return [first + dt.timedelta(minutes=m) for m in range(0, count, minutes)]


def table(path, walls, values=None):
    """Write a table of local clock times; temperatures are row numbers of a wave."""
    if values is None:
        values = [10.0 + (i % 240) / 20 for i in range(len(walls))]
    path.write_text(
        "time,temp_c,rh\n"
        + "".join(
            f"{wall:%Y-%m-%d %H:%M},{value:.2f},60.5\n"
            for wall, value in zip(walls, values, strict=True)
        )
    )
    return np.array(values)


def on_the_wall(when, zone):
    try:
        place = zoneinfo.ZoneInfo(zone)
    except zoneinfo.ZoneInfoNotFoundError:
        pytest.skip("no time zone database on this machine")
    return [instant.astimezone(place) for instant in when]


SPANS = {
    "a year from January": ((2022, 12, 31), (2024, 1, 2)),
    "three years": ((2021, 1, 1), (2024, 1, 1)),
    "from midsummer to midsummer": ((2022, 7, 15), (2023, 7, 15)),
    "spring to late summer": ((2023, 1, 20), (2023, 9, 10)),
    "southern spring to late summer": ((2022, 8, 1), (2023, 3, 1)),
    "autumn only": ((2023, 9, 15), (2024, 1, 15)),
    "southern autumn only": ((2023, 3, 15), (2023, 7, 1)),
    "an old American year": ((1995, 1, 1), (1996, 1, 1)),
}


@pytest.mark.parametrize("span", SPANS)
@pytest.mark.parametrize("zone", ZONES)
def test_every_hour_comes_to_its_place(zone, span, tmp_path):
    when = instants(*SPANS[span])
    values = table(tmp_path / "clock.csv", on_the_wall(when, zone))
    found = read_weather(tmp_path / "clock.csv", utc_offset=ZONES[zone])
    first = np.datetime64(when[0].replace(tzinfo=None), "ns")
    summer_first = "midsummer" in span
    if found["time"].to_numpy()[0] != first:
        # Nothing in the file can tell when it neither repeats nor omits an hour.
        changes = {w.utcoffset() for w in on_the_wall(when, zone)}
        assert len(changes) == 1
        assert not summer_first
        return
    assert found.sizes["time"] == len(when)
    np.testing.assert_allclose(found["air_temperature"], values, atol=1e-9)


@pytest.mark.parametrize("zone", ZONES)
def test_ten_minute_logger_newest_reading_first(zone, tmp_path):
    when = instants((2023, 2, 20), (2023, 11, 30), minutes=10)
    walls = on_the_wall(when, zone)
    values = table(tmp_path / "clock.csv", walls)
    table(tmp_path / "turned.csv", walls[::-1], values[::-1])
    for name in ("clock.csv", "turned.csv"):
        found = read_weather(tmp_path / name, utc_offset=ZONES[zone])
        assert found.sizes["time"] == len(when) // 6
        np.testing.assert_allclose(
            found["air_temperature"], values.reshape(-1, 6).mean(axis=1), atol=1e-9
        )


def year_of_hours():
    return [
        dt.datetime(2023, 1, 1) + dt.timedelta(hours=hour) for hour in range(24 * 365)
    ]


@pytest.mark.parametrize("every", [50, 7, 24, 168])
def test_hours_doubled_all_over_the_year_are_no_summer_time(every, tmp_path):
    walls, values = [], []
    for index, when in enumerate(year_of_hours()):
        walls += [when] * (2 if index % every == 2 else 1)
        values += [10.0 + index % 24] * (2 if index % every == 2 else 1)
    table(tmp_path / "doubled.csv", walls, values)
    found = inspect(tmp_path / "doubled.csv", utc_offset=0)
    assert found.start == "2023-01-01T00"
    assert not SUMMER_TIME & kinds(found)
    assert RepairKind.READINGS_DISAGREE not in kinds(found)
    assert RepairKind.REPEATED_TIMES in kinds(found)
    assert all(month["coverage"] == 1.0 for month in found.coverage_by_month)


def test_one_hour_doubled_on_an_autumn_night_of_a_whole_year_needs_its_spring(tmp_path):
    walls = year_of_hours()
    at = walls.index(dt.datetime(2023, 10, 29, 2))
    table(tmp_path / "doubled.csv", walls[: at + 1] + walls[at:])
    found = inspect(tmp_path / "doubled.csv", utc_offset=1)
    assert found.start == "2022-12-31T23"
    assert not SUMMER_TIME & kinds(found)


@pytest.mark.parametrize("lost", ["2023-04-09 03:00", "2023-06-04 02:00"])
def test_an_hour_lost_on_another_sunday_is_a_gap(lost, tmp_path):
    gone = dt.datetime.strptime(lost, "%Y-%m-%d %H:%M")
    walls = [w for w in year_of_hours()[: 24 * 220] if w != gone]
    table(tmp_path / "gap.csv", walls)
    found = inspect(tmp_path / "gap.csv", utc_offset=0)
    assert not SUMMER_TIME & kinds(found)
    assert found.end == "2023-08-08T23"


def test_a_spring_hour_lost_among_many_gaps_is_a_gap_too(tmp_path):
    lost = {dt.datetime(2023, 3, 26, 2)} | {
        dt.datetime(2023, 1, 3, 5) + dt.timedelta(hours=211 * k) for k in range(12)
    }
    walls = [w for w in year_of_hours()[: 24 * 220] if w not in lost]
    table(tmp_path / "gaps.csv", walls)
    found = inspect(tmp_path / "gaps.csv", utc_offset=0)
    assert not SUMMER_TIME & kinds(found)


def test_doubled_readings_that_disagree_are_told(tmp_path):
    walls, values = [], []
    for index, when in enumerate(year_of_hours()[:2000]):
        walls.append(when)
        values.append(10.0)
        if index % 50 == 2:
            walls.append(when)
            values.append(19.0)
    table(tmp_path / "two.csv", walls, values)
    (apart,) = (
        item
        for item in inspect(tmp_path / "two.csv", utc_offset=0).repairs
        if item.kind is RepairKind.READINGS_DISAGREE
    )
    assert apart.quantity == "air_temperature"
    assert dict(apart.facts)["most"] == pytest.approx(9.0)


def test_the_december_before_a_local_year_does_not_halve_december(tmp_path):
    table(tmp_path / "local.csv", year_of_hours())
    found = inspect(tmp_path / "local.csv", utc_offset=1)
    assert found.start == "2022-12-31T23"
    assert min(month["coverage"] for month in found.coverage_by_month) > 0.998


def test_an_empty_line_at_the_hour_of_the_change_keeps_standard_time(tmp_path):
    lost = dt.datetime(2023, 3, 26, 2)
    walls = year_of_hours()[: 24 * 220]
    table(tmp_path / "gap.csv", [w for w in walls if w != lost])
    assert SUMMER_TIME & kinds(inspect(tmp_path / "gap.csv", utc_offset=0))
    table(tmp_path / "line.csv", walls)
    text = (tmp_path / "line.csv").read_text().split("\n")
    at = next(n for n, line in enumerate(text) if line.startswith("2023-03-26 02:00"))
    text[at] = "2023-03-26 02:00,,"
    (tmp_path / "line.csv").write_text("\n".join(text))
    found = inspect(tmp_path / "line.csv", utc_offset=0)
    assert not SUMMER_TIME & kinds(found)
    assert found.end == "2023-08-08T23"


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York"])
def test_an_hour_lost_on_another_spring_sunday_is_not_the_change(zone, tmp_path):
    when = instants((2023, 1, 1), (2023, 12, 31))
    lost = dt.datetime(2023, 5, 7, 3 - ZONES[zone], tzinfo=dt.UTC)
    kept = [instant for instant in when if instant != lost]
    table(tmp_path / "clock.csv", on_the_wall(kept, zone))
    found = read_weather(tmp_path / "clock.csv", utc_offset=ZONES[zone], gaps="keep")
    missing = found["time"].to_numpy()[np.isnan(found["air_temperature"])]
    assert missing.tolist() == [np.datetime64(lost.replace(tzinfo=None), "ns").item()]
