"""Monitored houses: open measurements kept beside the repository."""

from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr

from emcforecast.weather.series import make_series

BUILDINGS = Path(__file__).resolve().parents[2].parent / "shared" / "buildings"
"""Open measurements kept beside the repository (TRH-tietokanta, CC BY 4.0)."""
LEAST_HOURS = 400


class Building:
    """A monitored house: weather outside and sensors inside, hour by hour."""

    def __init__(self, name: str, folder: Path = BUILDINGS) -> None:
        table = pd.read_csv(
            folder / f"attic_house_{name}.csv.gz", parse_dates=["time_utc"]
        ).set_index("time_utc")
        table.index = table.index.tz_localize(None)
        hours = pd.date_range(table.index[0], table.index[-1], freq="h")
        self.table = table.reindex(hours)
        self.weather = make_series(
            hours.to_numpy(),
            {
                "air_temperature": self.table.out_temp_c,
                "relative_humidity": self.table.out_rh_pct.clip(0.0, 100.0),
                "wind_speed": self.table.wind_ms,
                "shortwave": self.table.ghi_wm2,
                "precipitation": self.table.precip_mm,
            },
            step="hour",
            kind="observed",
            source="nearest weather station",
            # southern Finland; the file names no town
            latitude=61.5,
            longitude=24.0,
            utc_offset=2.0,
        )

    def sensor(self, name: str) -> tuple[np.ndarray, np.ndarray]:
        return (
            self.table[f"{name}_temp_c"].to_numpy(),
            self.table[f"{name}_rh_pct"].to_numpy(),
        )

    def logger(self, name: str) -> xr.Dataset:
        t, rh = self.sensor(name)
        return make_series(
            self.table.index.to_numpy(),
            {"air_temperature": t, "relative_humidity": np.clip(rh, 0.0, 100.0)},
            step="hour",
            kind="logger",
            source=name,
        )

    def monthly(self, values: np.ndarray, sensor: str) -> np.ndarray:
        """Means over the months the sensor covers."""
        t, rh = self.sensor(sensor)
        series = pd.Series(
            np.where(np.isfinite(t + rh), values, np.nan), self.table.index
        )
        groups = series.groupby(self.table.index.to_period("M"))
        return groups.mean()[groups.count() >= LEAST_HOURS].to_numpy()
