"""A month that no climate has between its neighbours is said; true climates are not."""

import csv
import json
from collections import defaultdict
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from emcforecast import weather_series
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.hints import make_hints
from emcforecast.weather.mend.months import monthly_series
from emcforecast.weather.read import read_bytes, read_weather
from emcforecast.weather.repairs import RepairKind, repairs_of

DATA = Path(__file__).parents[2] / "data"
# A humid temperate valley as an expert sees it: °C and % by month.
T = [1, 3, 8, 14, 18, 23, 25, 24, 20, 14, 8, 3]
RH = [72, 69, 66, 65, 70, 73, 75, 76, 78, 75, 73, 73]
#: Where the rain sets in within a month, °C and % by month: normals, from memory.
MONSOON = {
    "north India": (
        [14, 17, 23, 29, 33, 33, 31, 30, 29, 26, 20, 15],
        [63, 55, 47, 34, 33, 46, 70, 73, 62, 52, 55, 62],
    ),
    "central India": (
        [21, 23, 28, 32, 35, 32, 28, 27, 28, 26, 23, 20],
        [53, 43, 33, 28, 29, 58, 79, 81, 75, 63, 57, 55],
    ),
    "Sahel": (
        [24, 27, 30, 33, 34, 31, 29, 28, 29, 30, 27, 24],
        [22, 19, 19, 28, 40, 55, 68, 77, 71, 46, 27, 23],
    ),
}


def said(series):
    return [r for r in repairs_of(series) if r.kind is RepairKind.MONTHS_FAR_OFF]


def table(humid, warm=T, years=0):
    if not years:
        rows = (f"{m + 1},{warm[m]},{humid[m]}" for m in range(12))
        return ("month,temperature_c,rh_pct\n" + "\n".join(rows)).encode()
    rows = (
        f"{2010 + k // 12}-{k % 12 + 1:02d},{warm[k]},{humid[k]}"
        for k in range(12 * years)
    )
    return ("month,temperature_c,rh_pct\n" + "\n".join(rows)).encode()


def hurt(values, at, value):
    return [value if k == at else v for k, v in enumerate(values)]


@pytest.mark.parametrize("at", range(12))
def test_seven_per_cent_between_75_and_76_are_said(at):
    """By hand: 7 % instead of 65 to 78 %, at either end of the year too."""
    series = read_bytes(table(hurt(RH, at, 7)), "m.csv", make_hints())
    (found,) = said(series)
    facts = dict(found.facts)
    assert (found.quantity, found.count) == ("relative_humidity", 1)
    assert facts["month"] == f"{at + 1:02d}"
    assert (facts["before"], facts["after"]) == (RH[at - 1], RH[(at + 1) % 12])
    assert not said(read_bytes(table(RH), "m.csv", make_hints()))


@pytest.mark.parametrize("at", [0, 1, 18, 34, 35])
def test_a_month_of_several_years_is_named_with_its_year(at):
    series = read_bytes(table(hurt(RH * 3, at, 7), T * 3, 3), "m.csv", make_hints())
    (sentence,) = [s for s in repair_sentences(series) if "months around" in s]
    assert f"relative humidity in {2010 + at // 12}-{at % 12 + 1:02d} is 7.0 %" in (
        sentence
    )
    assert not said(read_bytes(table(RH * 3, T * 3, 3), "m.csv", make_hints()))


def test_a_sign_that_temperature_lost_is_said():
    """-25 °C in a cold January, written 25."""
    cold = [-25, -20, -10, 0, 9, 15, 17, 14, 8, -2, -15, -22]
    (found,) = said(read_bytes(table(RH, hurt(cold, 0, 25)), "m.csv", make_hints()))
    assert found.quantity == "air_temperature"
    assert not said(read_bytes(table(RH, cold), "m.csv", make_hints()))


def test_a_monthly_reply_and_months_in_memory_say_it_too():
    keys = [f"{2015 + k // 12}{k % 12 + 1:02d}" for k in range(36)]
    humid = hurt(RH * 3, 18, 7.0)
    reply = {
        "properties": {
            "parameter": {
                "T2M": dict(zip(keys, T * 3, strict=True)),
                "RH2M": dict(zip(keys, humid, strict=True)),
            }
        },
        "parameters": {"T2M": {"units": "C"}, "RH2M": {"units": "%"}},
        "header": {"fill_value": -999},
        "geometry": {"coordinates": [15.0, 46.0, 300.0]},
    }
    (found,) = said(read_bytes(json.dumps(reply).encode(), "p.json", make_hints()))
    assert dict(found.facts)["month"] == "2016-07"
    index = pd.date_range("2015-01-01", periods=36, freq="MS", tz="UTC")
    frame = pd.DataFrame({"temp_C": T * 3, "rh_pct": humid}, index, dtype=float)
    (found,) = said(weather_series(frame, source="notes"))
    assert dict(found.facts)["month"] == "2016-07"


@pytest.mark.parametrize("place", MONSOON)
def test_no_true_month_is_questioned_where_the_rains_set_in(place):
    warm, humid = MONSOON[place]
    assert not said(read_bytes(table(humid, warm), "m.csv", make_hints()))


def test_no_month_of_the_published_climates_is_questioned():
    """Normals of ten places: sources in data/drying/climates.csv."""
    by_place = defaultdict(list)
    with (DATA / "drying" / "climates.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            values = (row["temperature"], row["relative_humidity"])
            by_place[row["place"]].append((int(row["month"]), *map(float, values)))
    whole = [sorted(rows) for rows in by_place.values() if len(rows) == 12]
    assert len(whole) >= 8
    for rows in whole:
        _months, warm, humid = zip(*rows, strict=True)
        assert not said(read_bytes(table(humid, warm), "m.csv", make_hints()))


MEASURED = sorted(
    [*(DATA / "observed").glob("*.csv.gz"), *(DATA / "typical").glob("*.csv.gz")]
)


@pytest.mark.parametrize("path", MEASURED, ids=lambda path: path.name)
def test_no_month_that_was_measured_is_questioned(path):
    """Months of hours that stations measured, of single years and of typical ones."""
    hours = read_weather(path, gaps="keep")
    months = hours.resample(time="MS").mean()
    whole = hours["air_temperature"].resample(time="MS").count().to_numpy() > 600
    first, last = np.flatnonzero(whole)[[0, -1]]
    months = months.isel(time=slice(first, last + 1))
    made = monthly_series(
        months["time"].to_numpy(),
        {n: months[n].to_numpy() for n in ("air_temperature", "relative_humidity")},
        kind=hours.attrs["kind"],
        source="means",
    )
    assert made.sizes["time"] >= 12
    assert not said(made)
