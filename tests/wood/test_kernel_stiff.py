"""The shipped kernel against a stiff solver of scipy, on open hourly weather.

The equations are written out again in `stiff.py`. Weather: the typical years of
Greensboro and Sand Point (TMY3, National Renewable Energy Laboratory) that pvlib
carries. Asked: mean within 0.05 % MC at most and 0.015 rms, outer 2 mm within 0.15.
"""

import importlib.util
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from emcforecast.physics.board_air import air_table
from emcforecast.physics.boards import advance, fresh_state


def load_stiff() -> ModuleType:
    file = Path(__file__).with_name("stiff.py")
    spec = importlib.util.spec_from_file_location("stiff_board", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def tmy3(name: str) -> tuple[np.ndarray, np.ndarray]:
    import pvlib

    file = Path(pvlib.__file__).parent / "data" / name
    frame, _ = pvlib.iotools.read_tmy3(file, coerce_year=2001, map_variables=True)
    return (
        frame["temp_air"].to_numpy(dtype=float),
        frame["relative_humidity"].to_numpy(dtype=float) / 100.0,
    )


GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"
# thickness m, diffusion m²/s at 12 % and 20 °C, kg/m³, m/s, start kg/kg
OAK = {"thickness": 0.027, "diffusivity": 2.1e-11, "density": 560.0, "beta": 1e-3}
PINE = {"thickness": 0.027, "diffusivity": 8.0e-11, "density": 470.0, "beta": 1e-3}


def compare(
    weather: str, board: dict[str, float], start: float, first: int, hours: int
) -> tuple[np.ndarray, np.ndarray]:
    """Differences of the mean (default cells) and the outer 2 mm (fine), % MC."""
    temperature, humidity = (v[first : first + hours] for v in tmy3(weather))
    mean, shell = load_stiff().solve(temperature, humidity, start, board)
    air = air_table(temperature, 100.0 * humidity)[None]
    runs = [
        advance(
            air,
            steps=hours - 1,
            every=1,
            air_index=0,
            start_hour=0,
            thickness_m=board["thickness"],
            diffusivity=board["diffusivity"],
            density=board["density"],
            surface_transfer=board["beta"],
            state=fresh_state(start, 1, cells),
            grading=grading,
        )
        for cells, grading in ((16, 0.2), (24, 0.1))
    ]
    size = mean.size
    return (
        100.0 * (runs[0].mean[:size, 0] - mean),
        100.0 * (runs[1].shell[:size, 0] - shell),
    )


def check(difference: tuple[np.ndarray, np.ndarray]) -> None:
    mean, shell = difference
    assert np.abs(mean).max() < 0.05
    assert np.sqrt(np.mean(mean**2)) < 0.015
    assert np.abs(shell).max() < 0.15


def test_green_oak_from_april() -> None:
    check(compare(GREENSBORO, OAK, 0.75, 100 * 24, 45 * 24))


def test_dry_oak_in_winter() -> None:
    check(compare(SAND_POINT, OAK, 0.12, 0, 30 * 24))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("weather", "board", "start"),
    [
        (GREENSBORO, OAK, 0.75),
        (GREENSBORO, OAK, 0.14),
        (GREENSBORO, PINE, 1.0),
        (SAND_POINT, OAK, 0.6),
    ],
)
def test_whole_year(weather: str, board: dict[str, float], start: float) -> None:
    check(compare(weather, board, start, 0, 8760))
