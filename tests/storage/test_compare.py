"""A logger beside the weather, from the library and from the command line."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from click.testing import CliRunner

from emcforecast.charts.compare import compare_figure, settings_figure
from emcforecast.cli.calibrate import command as calibrate_command
from emcforecast.cli.compare import command as compare_command
from emcforecast.cli.settings import command as settings_command
from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.storage.air import air_in
from emcforecast.storage.compare import compare
from emcforecast.storage.setting_text import parse_setting


def test_differences_are_as_put_in(year: xr.Dataset) -> None:
    logger = year[["air_temperature", "relative_humidity"]].isel(
        time=slice(1000, 3000)
    ).copy(deep=True)  # fmt: skip
    logger["air_temperature"] = logger.air_temperature + 1.25
    logger["relative_humidity"] = logger.relative_humidity - 3.0
    found = compare(logger, year)
    for month in found.months:
        assert month.temperature == pytest.approx(1.25)
        assert month.relative_humidity == pytest.approx(-3.0)
        assert month.spread_temperature == pytest.approx(0.0, abs=1e-9)
    assert found.whole.hours == 2000
    both = year.isel(time=slice(1000, 3000))
    e = vapour_pressure(logger.air_temperature, logger.relative_humidity)
    e_out = vapour_pressure(both.air_temperature, both.relative_humidity)
    assert found.whole.vapour_pressure == pytest.approx((e - e_out).mean() / 100)
    assert [m.month for m in found.months] == [
        "2001-02",
        "2001-03",
        "2001-04",
        "2001-05",
    ]
    assert found.months[0].label == "February 2001"


def test_gaps_are_left_out_and_no_overlap_refused(year: xr.Dataset) -> None:
    logger = year.isel(time=slice(0, 200)).copy(deep=True)
    logger["air_temperature"][10:20] = np.nan
    assert compare(logger, year).whole.hours == 190
    logger["air_temperature"][20:] = np.nan
    with pytest.raises(WeatherError, match="at least 48"):
        compare(logger, year)


def test_late_clock_is_seen(year: xr.Dataset) -> None:
    logger = year.isel(time=slice(0, 2000)).copy(deep=True)
    logger["air_temperature"] = ("time", np.roll(logger.air_temperature, 4))
    assert compare(logger, year).shift.hours == 4


def test_pictures_are_drawn(year: xr.Dataset) -> None:
    found = compare(air_in(year, "loft"), year)
    both = compare_figure(found, source="made")
    assert [len(axes.lines[0].get_xdata()) for axes in both.axes] == [365, 365]
    picture = settings_figure(year, [parse_setting("house")], source="made")
    labels = [line.get_label() for line in picture.axes[0].lines]
    for name in ("EN 15026 normal", "EN 15026 high", "ISO 13788 class 2"):
        assert name in labels
    assert "heated house" in labels


@pytest.fixture
def files(year: xr.Dataset, tmp_path: Path) -> tuple[Path, Path]:
    """A weather file and the log of a draughty loft, as CSV."""
    weather = year.isel(time=slice(0, 150 * 24))
    air = air_in(weather, "loft", ventilation=15.0).isel(
        time=slice(80 * 24, 122 * 24)
    )  # fmt: skip
    paths = tmp_path / "weather.csv", tmp_path / "log.csv"
    names = {
        "air_temperature": "temp_c",
        "relative_humidity": "rh_pct",
        "wind_speed": "wind_ms",
        "shortwave": "ghi_wm2",
        "precipitation": "precip_mm",
    }
    for data, path in zip((weather, air), paths, strict=True):
        table = pd.DataFrame(
            {names[str(k)]: v.to_numpy() for k, v in data.data_vars.items()},
            index=pd.DatetimeIndex(data.time.to_numpy(), name="time_utc"),
        )
        table.to_csv(path, date_format="%Y-%m-%dT%H:%M", float_format="%.2f")
    return paths


def test_calibrate_command(files: tuple[Path, Path], tmp_path: Path) -> None:
    weather, log = files
    out = tmp_path / "loft.json"
    arguments = [str(log), str(weather), "--setting", "shed=loft", "-o", str(out)]
    place = ["--latitude", "48", "--longitude", "0"]
    done = CliRunner().invoke(calibrate_command, [*arguments, *place, "--json"])
    assert done.exit_code == 0, done.output
    document = json.loads(done.stdout)
    result = document["result"]
    assert document["command"] == "calibrate"
    assert result["used"] is True
    assert result["parameters"]["ventilation"] > 8.0
    assert result["held_out"]["rmse_emc"] < result["held_out_before"]["rmse_emc"]
    said = CliRunner().invoke(calibrate_command, [*arguments, *place]).stdout
    assert "ventilation" in said
    assert f"--setting shed={out}" in said.replace("\n", " ")
    assert max(len(line) for line in said.splitlines()) <= 80 + len(str(out))
    assert parse_setting(f"shed={out}").kind == "loft"


def test_compare_command(files: tuple[Path, Path], tmp_path: Path) -> None:
    weather, log = files
    picture, table = tmp_path / "c.png", tmp_path / "c.csv"
    done = CliRunner().invoke(
        compare_command,
        [str(log), str(weather), "--json", "--plot", str(picture), "--csv", str(table)],
    )
    assert done.exit_code == 0, done.output
    result = json.loads(done.stdout)["result"]
    assert [m["month"] for m in result["months"]] == ["2001-03", "2001-04", "2001-05"]
    assert result["whole"]["temperature"] > 0.3
    assert picture.stat().st_size > 5000
    assert len(table.read_text().splitlines()) == 4
    text = CliRunner().invoke(compare_command, [str(log), str(weather)]).stdout
    assert "March 2001" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_settings_command(tmp_path: Path) -> None:
    run = CliRunner().invoke
    text = run(settings_command, []).stdout
    for word in ("stack-roof", "open-sided shed", "seasonal cabin", "roof=metal"):
        assert word in text
    one = run(settings_command, ["shed=loft,roof=metal"]).stdout
    assert "--setting shed=loft,roof=metal" in one.replace("\n", " ")
    assert max(len(line) for line in text.splitlines()) <= 80
    document = json.loads(run(settings_command, ["--json"]).stdout)
    kinds = {k["kind"]: k for k in document["result"]["kinds"]}
    assert len(kinds) == 14
    for parameter in kinds["house"]["parameters"]:
        assert {"name", "default", "lowest", "highest", "unit", "meaning"} <= set(
            parameter
        )
