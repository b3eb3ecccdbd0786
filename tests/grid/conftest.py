"""Files of gridded weather for the tests."""

from pathlib import Path

import pytest
import xarray as xr
from grid_files import Write

pytest.importorskip("dask")
SHARED = Path(__file__).parents[3] / "shared" / "grids"


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a dataset as NetCDF, format and name as wanted."""

    def written(ds: xr.Dataset, name: str = "grid.nc", **how: object) -> Path:
        path = tmp_path / name
        ds.to_netcdf(path, engine="netcdf4", **how)  # type: ignore[call-overload]
        return path

    return written


@pytest.fixture
def shared() -> Path:
    if not SHARED.is_dir():
        pytest.skip("the real grids of ../shared/grids are not on this machine")
    return SHARED
