"""Large arrays take a compiled path: it must say what the small one says."""

import numpy as np
import pytest

from emcforecast.physics.sorption import LARGE, Branch, equilibrium_moisture_content


@pytest.mark.parametrize("branch", ["mid", "drying", "wetting"])
def test_large_arrays_agree_with_small_ones(branch: Branch) -> None:
    rng = np.random.default_rng(3)
    t = rng.uniform(-30.0, 60.0, LARGE + 7)
    rh = rng.uniform(-5.0, 105.0, t.size)
    t[5], rh[9] = np.nan, np.nan
    large = equilibrium_moisture_content(t, rh, branch)
    small = np.concatenate(
        [
            equilibrium_moisture_content(t[k : k + 1000], rh[k : k + 1000], branch)
            for k in range(0, t.size, 1000)
        ]
    )
    np.testing.assert_allclose(large, small, rtol=1e-12, atol=1e-13)
    assert np.isnan(large[[5, 9]]).all()


def test_large_tables_broadcast_and_fill() -> None:
    t = np.linspace(-5.0, 30.0, 800)[:, None]
    rh = np.linspace(0.0, 100.0, 700)[None, :]
    out = np.empty((800, 700))
    found = equilibrium_moisture_content(t, rh, out=out)
    assert found is out
    # Wood Handbook Table 4-2: 70 °F and 65 % gives 12.0
    near = np.abs(t[:, 0] - 21.1).argmin(), np.abs(rh[0] - 65.0).argmin()
    assert out[near] == pytest.approx(12.0, abs=0.1)
    strided = np.empty((800, 1400))[:, ::2]
    equilibrium_moisture_content(t, rh, out=strided)
    np.testing.assert_array_equal(strided, out)
