"""Files of gridded weather for the tests."""

from collections.abc import Callable
from pathlib import Path

import pytest
import xarray as xr
from grid_files import Write
from made_grids import MakeGrid, grid_of, point_of

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


@pytest.fixture
def make_grid() -> MakeGrid:
    """Make a grid; see `grid_of`."""
    return grid_of


@pytest.fixture
def as_point() -> Callable[[xr.Dataset, int, int], xr.Dataset]:
    """Take a cell out of a grid; see `point_of`."""
    return point_of
