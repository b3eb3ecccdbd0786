"""What all tests share: monitored buildings, and the errors reached outside.

`pytest tests/published --record-reached -n 0` writes the errors that the checks against
something outside the project reach to docs/checks.json; `python docs/generate.py`
prints them in docs/checks.md. An ordinary run fails where the program is further off
than the record says.
"""

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from numba.core.caching import IndexDataCacheFile
from outside import RECORD, ROUNDING, Record, as_printed, load_record

from emcforecast.weather.series import make_series
from emcforecast.yard.locking import alone

PUBLISHED = Path(__file__).parent / "published"
AGAIN = "run pytest tests/published --record-reached -n 0, then docs/generate.py"
Reached = dict[ModuleType, dict[str, float]]
BUILDINGS = Path(__file__).resolve().parents[1].parent / "shared" / "buildings"
"""Open measurements kept beside the repository (TRH-tietokanta, CC BY 4.0)."""
LEAST_HOURS = 400


def pytest_configure(config: pytest.Config) -> None:
    """Let one process at a time keep what it compiled of a kernel.

    The compiler picks the name of a new file and then writes it: of two processes that
    keep the same kernel for unlike arrays, one would else write over the other.
    """
    if not hasattr(config, "workerinput"):
        return
    keep = IndexDataCacheFile.save

    def keep_alone(self: Any, key: Any, data: Any) -> None:
        with alone(Path(self._index_path)):
            keep(self, key, data)

    IndexDataCacheFile.save = keep_alone


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--record-reached",
        action="store_true",
        help="write the errors that tests/published reach to docs/checks.json",
    )


@pytest.fixture(scope="session")
def _reached(request: pytest.FixtureRequest) -> Iterator[Reached]:
    """Gather what this run reaches, and write it if that is asked for."""
    reached: Reached = {}
    yield reached
    if request.config.getoption("--record-reached"):
        if hasattr(request.config, "workerinput"):
            raise pytest.UsageError(f"several processes: {AGAIN}")
        found = load_record() | {
            name_of(module): asdict(module.SOURCE) | {"reached": numbers}
            for module, numbers in reached.items()
        }
        here = {path.stem for path in PUBLISHED.glob("test_*.py")}
        kept = {name: found[name] for name in sorted(found) if name in here}
        text = json.dumps(kept, indent=1, ensure_ascii=False)
        RECORD.write_text(text + "\n", encoding="utf-8")


def name_of(module: ModuleType) -> str:
    """Name a test module as the record does."""
    return Path(str(module.__file__)).stem


@pytest.fixture
def record_reached(request: pytest.FixtureRequest, _reached: Reached) -> Record:
    """Take an error that was reached; its name holds the unit, smaller is better.

    Of several of one name in a module the largest counts.
    """
    module = request.module
    known = load_record().get(name_of(module), {}).get("reached", {})

    def record(name: str, value: Any) -> None:
        error = abs(float(value))
        mine = _reached.setdefault(module, {})
        mine[name] = max(mine.get(name, 0.0), as_printed(error))
        if not request.config.getoption("--record-reached"):
            assert name in known, f"{name!r} is not recorded: {AGAIN}"
            allowed = known[name] * (1.0 + ROUNDING)
            assert error <= allowed, f"{name}: {error:.3g}, recorded {known[name]}"

    return record


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


@pytest.fixture(scope="session")
def building() -> Callable[[str], Building]:
    if not BUILDINGS.exists():
        pytest.skip("monitored buildings are not beside the repository")
    read: dict[str, Building] = {}

    def get(name: str) -> Building:
        if name not in read:
            read[name] = Building(name)
        return read[name]

    return get
