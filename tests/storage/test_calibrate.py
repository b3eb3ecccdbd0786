"""Calibration: it finds a house that differs, and leaves alone one that does not."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from emcforecast.errors import SettingError, WeatherError
from emcforecast.physics.sorption import equilibrium_moisture_content as emc
from emcforecast.report.storage import calibration_notes
from emcforecast.storage.air import air_in
from emcforecast.storage.calibrate import calibrate
from emcforecast.storage.compare import clock_shift
from emcforecast.storage.setting_text import parse_setting
from emcforecast.storage.settings import Setting

DAY = 24


@pytest.fixture(scope="module")
def weather(year: xr.Dataset) -> xr.Dataset:
    return year.isel(time=slice(0, 200 * DAY))


def logger_in(weather: xr.Dataset, setting: str, first: int, days: int) -> xr.Dataset:
    """A place that is as the setting says, with a cheap logger's noise."""
    air = air_in(weather, setting).isel(time=slice(first * DAY, (first + days) * DAY))
    rng = np.random.default_rng(first)
    out = air.copy(deep=True)
    # In place: sums of older xarrays lose the units.
    out["air_temperature"] += rng.normal(0, 0.3, air.time.size)
    out["relative_humidity"] += rng.normal(0, 2, air.time.size)
    return out


@pytest.mark.parametrize(
    ("truth", "stated"),
    [
        ("loft,ventilation=15", "loft"),
        ("attic,room_u=1.2", "attic"),
        ("indoor=house,heat_to=18,moisture_gain=5", "house"),
    ],
)
def test_a_house_far_from_the_defaults_is_found(
    weather: xr.Dataset, truth: str, stated: str
) -> None:
    found = calibrate(logger_in(weather, truth, 70, 42), weather, stated)
    assert found.used
    assert found.held_out.rmse_emc < found.held_out_before.rmse_emc
    assert found.after.score < 0.5 * found.before.score
    # and outside the window too the error in EMC is halved
    outside = np.ones(weather.time.size, dtype=bool)
    outside[70 * DAY : 112 * DAY] = False
    due, before, after = (
        emc_in(weather, s)[outside] for s in (truth, stated, found.setting)
    )
    assert rms(after - due) < 0.5 * rms(before - due)


def test_a_draughty_barn_is_bettered_but_not_halved(weather: xr.Dataset) -> None:
    """Twenty times the usual draught lies beyond what the priors let six weeks say."""
    found = calibrate(
        logger_in(weather, "barn,ventilation=20", 70, 42), weather, "barn"
    )
    assert found.used
    assert found.after.rmse_emc < 0.9 * found.before.rmse_emc
    assert found.held_out.rmse_emc < found.held_out_before.rmse_emc


def emc_in(weather: xr.Dataset, setting: str | Setting) -> np.ndarray:
    air = air_in(weather, setting)
    return emc(air.air_temperature.to_numpy(), air.relative_humidity.to_numpy())


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.nanmean(values**2)))


def test_a_house_like_the_defaults_is_left_alone(weather: xr.Dataset) -> None:
    found = calibrate(logger_in(weather, "loft", 70, 42), weather, "loft")
    stated = parse_setting("loft")
    t, due = (air_in(weather, s).air_temperature for s in (found.setting, stated))
    assert float(abs(t - due).mean()) < 0.1
    if not found.used:
        assert found.setting == stated
        assert found.levers == {}
        assert found.after == found.before
        assert any("left as it was" in note for note in calibration_notes(found))


def test_calibrated_ranges_are_narrower(weather: xr.Dataset) -> None:
    found = calibrate(
        logger_in(weather, "loft,ventilation=15", 70, 42), weather, "loft"
    )
    low, high = found.setting.likely_range("ventilation") or (0.0, 0.0)
    wide = parse_setting("loft,ventilation=15").likely_range("ventilation")
    assert wide is not None
    assert high / low < 0.6 * wide[1] / wide[0]
    assert low < found.levers["ventilation"] < high


def test_file_reads_back(weather: xr.Dataset, tmp_path: Path) -> None:
    found = calibrate(logger_in(weather, "loft,roof_u=4", 70, 42), weather, "loft")
    file = tmp_path / "loft.json"
    found.write(file)
    again = parse_setting(f"shed={file}")
    assert again == found.setting
    assert air_in(weather, again).attrs["kind"] == "loft"
    document = json.loads(file.read_text(encoding="utf-8"))
    for key in ("parameters", "before", "after", "held_out"):
        assert key in document
    for key in ("before", "after", "held_out"):
        assert set(document[key]) == {"rmse_t", "rmse_emc"}
    changed = parse_setting(f"shed={file},height=3")
    assert changed.values()["height"] == 3.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, "no such file"),
        ("not json", "cannot be read"),
        ("{}", "not a calibration file"),
        ('{"format": "emcforecast calibration"}', "lacks or garbles"),
        (
            '{"format": "emcforecast calibration", "setting": "shed", "kind": "loft",'
            ' "parameters": {"ventilation": 1e9}, "likely": {}}',
            "ventilation",
        ),
    ],
)
def test_bad_files_are_refused(tmp_path: Path, text: str | None, words: str) -> None:
    file = tmp_path / "x.json"
    if text is not None:
        file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingError, match=words) as refused:
        parse_setting(f"shed={file}")
    assert "\n" not in str(refused.value)


def test_short_overlap_is_refused(weather: xr.Dataset) -> None:
    with pytest.raises(WeatherError, match="at least 14"):
        calibrate(logger_in(weather, "loft", 70, 13), weather, "loft")
    elsewhere = logger_in(weather, "loft", 70, 30)
    elsewhere["time"] = elsewhere.time + np.timedelta64(3650, "D")
    with pytest.raises(WeatherError, match="share 0 days"):
        calibrate(elsewhere, weather, "loft")
    gappy = logger_in(weather, "loft", 70, 30)
    gappy["relative_humidity"][200:] = np.nan
    with pytest.raises(WeatherError, match="share 8 whole days"):
        calibrate(gappy, weather, "loft")


@pytest.mark.parametrize("late", [-7, -3, 3, 9])
def test_clocks_that_disagree_are_refused_with_the_shift(
    weather: xr.Dataset, late: int
) -> None:
    wrong = logger_in(weather, "loft", 70, 42)
    wrong["time"] = wrong.time + np.timedelta64(late, "h")
    with pytest.raises(WeatherError, match=rf"--shift-hours {late}\b"):
        calibrate(wrong, weather, "loft")
    put_right = calibrate(wrong, weather, "loft", shift_hours=late)
    assert put_right.shift.hours == 0


def test_a_heavy_building_is_no_wrong_clock(weather: xr.Dataset) -> None:
    """Thick walls come hours late with little swing; the clock is right."""
    heavy = logger_in(weather, "barn,heat_capacity=1000,ventilation=0.5", 70, 42)
    found = calibrate(heavy, weather, "barn,heat_capacity=40,ventilation=8")
    assert found.shift.hours >= 3
    assert found.shift.is_thermal_lag
    assert any("stores heat, not a clock" in note for note in calibration_notes(found))


def test_a_clock_said_to_be_right_is_taken(weather: xr.Dataset) -> None:
    odd = logger_in(weather, "loft", 70, 42)
    odd["time"] = odd.time + np.timedelta64(3, "h")
    found = calibrate(odd, weather, "loft", shift_hours=0)
    assert found.shift.hours == 3


def test_a_lag_damps_as_one_store_of_heat_does() -> None:
    """A store that lags the day by 3 h keeps cos 45° of its swing, 71 %."""
    hours = np.arange(24 * 30)
    noise = np.random.default_rng(1).normal(0.0, 0.1, hours.size)
    due = 6.0 * np.cos(2 * np.pi * hours / 24) + noise
    late = 6.0 * np.cos(2 * np.pi * (hours - 3) / 24)
    assert clock_shift(late, due).plain
    assert not clock_shift(0.7 * late, due).plain
    # what comes early no store explains
    early = 3.0 * np.cos(2 * np.pi * (hours + 3) / 24)
    assert clock_shift(early, due).plain


def test_clock_shift_of_noise_is_not_plain() -> None:
    rng = np.random.default_rng(0)
    found = clock_shift(rng.normal(0, 1, 1000), rng.normal(0, 1, 1000))
    assert not found.plain


def test_salt_test_offset_is_taken_off(weather: xr.Dataset) -> None:
    high = logger_in(weather, "loft", 70, 42)
    high["relative_humidity"] += 6.0
    raw = calibrate(high, weather, "loft")
    mended = calibrate(high, weather, "loft", humidity_offset=6.0)
    assert mended.before.rmse_emc < 0.5 * raw.before.rmse_emc


def test_stack_has_nothing_to_tune(weather: xr.Dataset) -> None:
    with pytest.raises(SettingError, match="compare"):
        calibrate(logger_in(weather, "loft", 70, 42), weather, "stack")


@pytest.mark.parametrize("name", ["A", "B"])
def test_one_season_does_not_spoil_the_others(
    building: Callable[[str], Any], name: str
) -> None:
    """Six weeks of a real attic: other seasons no worse than the defaults by 10 %.

    The median over start dates; the full sweep is in fit_defaults.py.
    """
    house = building(name)
    logger, stated = house.logger("attic_mid"), parse_setting("attic")
    t_in, rh_in = house.sensor("attic_mid")
    indoors = emc(t_in, rh_in)
    untuned = emc_in(house.weather, stated) - indoors
    ratios = []
    for first in range(0, 560, 80):
        window = slice(first * DAY, (first + 42) * DAY)
        found = calibrate(logger.isel(time=window), house.weather, stated)
        outside = np.ones(t_in.size, dtype=bool)
        outside[window] = False
        tuned = emc_in(house.weather, found.setting) - indoors
        ratios.append(_error(house, tuned, outside) / _error(house, untuned, outside))
    assert np.median(ratios) < 1.1


def _error(house: Any, away: np.ndarray, hours: np.ndarray) -> float:
    away = np.where(hours, away, np.nan)
    return rms(house.monthly(away, "attic_mid"))
