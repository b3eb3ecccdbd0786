"""Results as datasets, tables and text; the outside is CF and the NetCDF library."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

import emcforecast
from emcforecast import air_in, dry, floor, plan, read_weather, weather_series
from emcforecast.errors import EmcforecastError

BOARD = ("yellow-poplar", "4/4")


@pytest.fixture(scope="module")
def weather() -> xr.Dataset:
    return read_weather("demo").sel(time=slice("2010", "2012"))


@pytest.fixture(scope="module")
def results(weather: xr.Dataset) -> dict[str, Any]:
    return {
        "floor": floor(weather, *BOARD),
        "dry": dry(weather, *BOARD, "2026-04-01", "shed", 15.0),
        "plan": plan(
            weather, *BOARD, stacked="2026-04-01", need="2027-02-01", target=9,
            have=["shed", "indoor"], members=4,
        ),
    }  # fmt: skip


@pytest.mark.parametrize("name", ["floor", "dry", "plan"])
def test_a_dataset_says_what_it_holds_and_survives_netcdf(
    name: str, results: dict[str, Any], weather: xr.Dataset, tmp_path: Path
) -> None:
    dataset = results[name].to_dataset()
    assert dataset.attrs["Conventions"] == "CF-1.11"
    for word in ("source", "licence", "attribution"):
        assert dataset.attrs[word] == weather.attrs[word]
    for variable in dataset.data_vars.values():
        assert variable.attrs["units"] in {"%", "degC", "1"}
        assert variable.attrs["long_name"]
    path = tmp_path / "result.nc"
    dataset.to_netcdf(path, engine="h5netcdf")
    with xr.open_dataset(path, engine="h5netcdf") as opened:
        back = opened.load()
    xr.testing.assert_equal(back, dataset)
    assert back.attrs == dataset.attrs
    for key, variable in dataset.data_vars.items():
        assert back[key].attrs == variable.attrs


@pytest.mark.parametrize("name", ["floor", "dry", "plan"])
def test_a_table_is_tidy_and_says_its_units(name: str, results: dict[str, Any]) -> None:
    frame = results[name].to_dataframe()
    dataset = results[name].to_dataset()
    assert len(frame) == int(np.prod(list(dataset.sizes.values())))
    assert set(frame.attrs["units"]) <= set(frame.columns)
    assert not frame[list(frame.attrs["units"])].isna().all().any()


def test_the_numbers_are_those_of_the_answer(results: dict[str, Any]) -> None:
    lowest, when, best = results["floor"], results["dry"], results["plan"]
    table = lowest.to_dataframe().set_index(["place", "month"])
    for name, place in lowest.settings.items():
        for month in place.months:
            row = table.loc[name, month.month]
            assert row["lowest_p50"] == month.lowest.p50
            assert row["emc"] == month.emc
            assert row["lowest_place_low"] == month.place.low
    years = lowest.to_dataset()["year_lowest_p50"]
    assert float(years.sel(place="shed")) == lowest.settings["shed"].lowest.p50
    days = when.to_dataframe().set_index("time")
    assert days.index[0] == pd.Timestamp("2026-04-01")
    assert days["mean_p50"].iloc[-1] == pytest.approx(
        float(np.median(when.runs.mean[-1])), abs=0.2
    )
    assert when.to_dataset().attrs["target_p50"] == str(when.target.p50)
    assert best.to_dataframe()["probability"].tolist() == best.curve.tolist()


@pytest.mark.parametrize("name", ["floor", "dry", "plan"])
def test_a_result_prints_its_answer_in_few_lines(
    name: str, results: dict[str, Any]
) -> None:
    text = repr(results[name])
    assert text.startswith(f"<{name.capitalize()}: 27 mm yellow-poplar")
    assert len(text.splitlines()) <= 6
    page = results[name]._repr_html_()
    assert page.startswith("<table>")
    assert page.count("<tr>") == len(text.splitlines()) - 1


def test_a_name_is_never_markup(weather: xr.Dataset) -> None:
    from emcforecast.wood.added_species import species_from_mapping

    name = "<script>alert(1)</script>"
    wood = species_from_mapping(name, {"basic_gravity": 0.5})
    page = floor(weather, wood)._repr_html_()
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_air_survives_netcdf(weather: xr.Dataset, tmp_path: Path) -> None:
    for setting in ("outdoor", "shed", "indoor"):
        air = air_in(weather, setting)
        assert air["air_temperature"].attrs["standard_name"] == "air_temperature"
        assert air["relative_humidity"].attrs["standard_name"] == "relative_humidity"
        assert air.attrs["Conventions"] == "CF-1.11"
        path = tmp_path / f"{setting}.nc"
        air.to_netcdf(path, engine="h5netcdf")
        with xr.open_dataset(path, engine="h5netcdf") as opened:
            back = opened.load()
        xr.testing.assert_equal(back, air)
        assert {k: back.attrs[k] for k in air.attrs} == air.attrs


def test_a_reading_is_called_one_and_every_error_is_exported() -> None:
    reading = emcforecast.Reading(np.datetime64("2026-06-01"), 22.0)
    assert repr(reading).startswith("Reading(")
    for name in ("InputError", "WeatherError", "ContractError", "SettingError",
                 "SpeciesError", "YardError", "ArchiveError"):  # fmt: skip
        assert issubclass(getattr(emcforecast, name), EmcforecastError)


def test_a_frame_in_its_own_units_gives_the_same_floor(weather: xr.Dataset) -> None:
    """K, a fraction and hPa of dew point against the same weather in °C and %."""
    # The frame has no wind, sun or rain: the same without them, but for the elevation.
    plain = floor(weather[["air_temperature", "relative_humidity"]], *BOARD)
    frame = pd.DataFrame(
        {
            "t": weather["air_temperature"].to_numpy() + 273.15,
            "rh": weather["relative_humidity"].to_numpy() / 100.0,
        },
        index=pd.DatetimeIndex(weather["time"].to_numpy(), name="time"),
    )
    named = weather_series(
        frame, columns={"air_temperature": "t", "relative_humidity": "rh"},
        units={"t": "K", "rh": "1"}, source="the same", latitude=46.1,
        longitude=15.2, utc_offset=1,
    )  # fmt: skip
    other = floor(named, *BOARD)
    assert other.settings["indoor"].lowest.p50 == pytest.approx(
        plain.settings["indoor"].lowest.p50, abs=0.02
    )
    with pytest.raises(EmcforecastError):
        weather_series(
            frame, columns={"air_temperature": "t", "relative_humidity": "rh"}
        )
