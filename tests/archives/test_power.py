"""Monthly replies of NASA POWER that lack a month: refused by its name, never bridged.

Layout of a reply as the archive's own documentation describes it; the numbers here are
made by hand.
"""

import json
from pathlib import Path

import pytest

from emcforecast.errors import WeatherError
from emcforecast.weather.check import inspect
from emcforecast.weather.hints import make_hints
from emcforecast.weather.mend.hours_from_means import hourly_from_monthly
from emcforecast.weather.read import read_bytes

MEANS = {"T2M": 9.0, "RH2M": 75.0}


def reply(*lost: str, of: tuple[str, ...] = ("T2M", "RH2M")) -> bytes:
    """Return five years of months; `lost` ("201707") stand under none of `of`."""
    months = [
        f"{year}{month:02d}" for year in range(2015, 2020) for month in range(1, 13)
    ]
    parameter = {
        name: {month: value for month in months if not (month in lost and name in of)}
        for name, value in MEANS.items()
    }
    return json.dumps(
        {
            "properties": {"parameter": parameter},
            "parameters": {"T2M": {"units": "C"}, "RH2M": {"units": "%"}},
            "header": {"fill_value": -999},
            "geometry": {"coordinates": [15.0, 46.0, 300.0]},
        }
    ).encode()


def test_five_whole_years_are_sixty_months() -> None:
    ds = read_bytes(reply(), "power.json", make_hints())
    assert ds.attrs["step"] == "month"
    assert ds.sizes["time"] == 60


def test_a_month_that_is_nowhere_is_named() -> None:
    with pytest.raises(WeatherError, match="2017-07 is missing between the months"):
        read_bytes(reply("201707"), "power.json", make_hints())


@pytest.mark.parametrize(
    ("name", "said"), [("T2M", "air temperature"), ("RH2M", "relative humidity")]
)
def test_a_month_without_one_of_the_two_makes_no_hours(name: str, said: str) -> None:
    ds = read_bytes(reply("201707", of=(name,)), "power.json", make_hints())
    with pytest.raises(WeatherError, match=f"2017-07 has no {said}"):
        hourly_from_monthly(ds)


@pytest.mark.parametrize("name", ["T2M", "RH2M"])
@pytest.mark.parametrize("value", [None, "x", -999.0])
def test_check_refuses_what_makes_no_hours(
    name: str, value: object, tmp_path: Path
) -> None:
    """It said that the file can be used, which no command then did."""
    document = json.loads(reply())
    document["properties"]["parameter"][name]["201707"] = value
    path = tmp_path / "power.json"
    path.write_text(json.dumps(document))
    found = inspect(path)
    assert not found.ok
    assert "2017-07 has no" in str(found.refused)


def test_rain_that_lacks_a_month_is_said_by_check_too(tmp_path: Path) -> None:
    document = json.loads(reply())
    rain = dict.fromkeys(document["properties"]["parameter"]["T2M"], 2.0)
    document["properties"]["parameter"]["PRECTOTCORR"] = rain | {"201707": "x"}
    document["parameters"]["PRECTOTCORR"] = {"units": "mm/day"}
    path = tmp_path / "power.json"
    path.write_text(json.dumps(document))
    kinds = [(item.kind.value, item.quantity) for item in inspect(path).repairs]
    assert ("months lacking", "precipitation") in kinds
