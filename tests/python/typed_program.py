"""A program that uses public names only, as a person would write it.

`test_public_names` runs mypy, strict, over it; every annotation here is a promise.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr

import emcforecast
from emcforecast import (
    Board,
    Calibration,
    Dry,
    EmcforecastError,
    Floor,
    Plan,
    Reading,
    Setting,
    Target,
    air_in,
    calibrate,
    dry,
    equilibrium_humidity,
    equilibrium_moisture_content,
    fetch_weather,
    floor,
    plan,
    read_weather,
    running_emc,
    simulate,
    weather_series,
)


def sorption(frame: pd.DataFrame, weather: xr.Dataset) -> float:
    """Equilibrium of numbers, arrays, Series and DataArrays."""
    one: float = equilibrium_moisture_content(21.1, 65.0)
    some: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    some = equilibrium_moisture_content([10.0, 20.0], 60.0, "drying")
    table: pd.Series[float] = equilibrium_moisture_content(frame["t"], frame["rh"])
    labelled: xr.DataArray = equilibrium_moisture_content(
        weather["air_temperature"], weather["relative_humidity"]
    )
    back: xr.DataArray = equilibrium_humidity(weather["air_temperature"], labelled)
    humidity: float = equilibrium_humidity(20.0, one)
    return humidity + float(some.mean()) + float(table.mean()) + float(back.mean())


def weather_from(frame: pd.DataFrame, path: str) -> xr.Dataset:
    """Weather from a table, a file or an archive."""
    try:
        series: xr.Dataset = weather_series(
            frame,
            units={"t": "degF", "rh": "1"},
            columns={"air_temperature": "t", "relative_humidity": "rh"},
            source="a logger",
            latitude=45.0,
            longitude=-75.0,
        )
    except EmcforecastError:
        series = read_weather(path, latitude=45.0)
    if series.sizes["time"] < 8760:
        series = fetch_weather("open-meteo", 45.0, -75.0, "2020-01-01", "2022-12-31")
    return series


def decisions(weather: xr.Dataset, logger: pd.DataFrame) -> list[str]:
    """Every forecast, its result a value of a public type."""
    loft = Setting("shed", "loft", {"roof": "metal"})
    tuned: Calibration = calibrate(logger, weather, {"shed": "loft"})
    air: xr.Dataset = air_in(weather, loft, ventilation=8.0)
    board = Board("red oak", "4/4")
    path: xr.Dataset = simulate(air, board, start_mc=40.0)
    rest: xr.DataArray = running_emc(air, board)
    lowest: Floor = floor(weather, "red oak", 27.0, ["loft", tuned.setting])
    when: Dry = dry(
        weather,
        "red oak",
        "4/4",
        "2026-04-01",
        "shed=loft",
        12.0,
        readings=[Reading(np.datetime64("2026-06-01", "D"), 22.0)],
    )
    best: Plan = plan(
        weather,
        "red oak",
        stacked="2026-04-01",
        need="2027-02-01",
        target=Target("shelves", 7.0, 9.0, "asked for"),
        have={"shed": loft, "indoor": {"heat_to": 19.0}},
    )
    tables: list[pd.DataFrame] = [lowest.to_dataframe(), when.to_dataframe()]
    arrays: list[xr.Dataset] = [lowest.to_dataset(), best.to_dataset()]
    return [
        f"{len(tables)} {len(arrays)} {lowest!r} {best._repr_html_()}",
        f"{emcforecast.__version__}: {float(rest.min()):.1f} %",
        f"{lowest.settings['shed'].lowest.p50:.1f} % in month "
        f"{lowest.settings['shed'].lowest.month}",
        f"{when.target.p50} to {when.target.p90}",
        f"{best.route[-1].setting}, {float(path['core'][-1]):.1f} %",
    ]
