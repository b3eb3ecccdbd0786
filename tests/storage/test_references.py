"""Published indoor climates, as published (all from memory)."""

import numpy as np
import pytest

from emcforecast.physics.moist_air import relative_humidity
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.references import (
    HUMIDITY_CLASSES,
    en_15026_climate,
    en_15026_emc,
    iso_13788_emc,
)


def test_en_15026_emc() -> None:
    # 6.2 / 7.7 / 9.3 / 10.8 % at -10 / 0 / 10 / 20 °C outdoors, within 0.1
    found = en_15026_emc([-10.0, 0.0, 10.0, 20.0])
    assert np.abs(found - [6.2, 7.7, 9.3, 10.8]).max() < 0.1


def test_en_15026_is_flat_outside_its_ramp() -> None:
    t, rh = en_15026_climate([-30.0, -10.0, 20.0, 35.0])
    assert t.tolist() == [20.0, 20.0, 25.0, 25.0]
    assert rh.tolist() == [30.0, 30.0, 60.0, 60.0]
    assert en_15026_climate(0.0, True)[1] == 50.0


@pytest.mark.parametrize("humidity_class", HUMIDITY_CLASSES)
def test_iso_13788_excess(humidity_class: int) -> None:
    # class limit in g/m³ at 0 °C, none at 20 °C, by the gas law at 20 °C indoors
    limit = {1: 2.0, 2: 4.0, 3: 6.0, 4: 8.0}[humidity_class]
    e = 400.0 + limit * 1e-3 * 461.5 * 293.15
    due = equilibrium_moisture_content(20.0, relative_humidity(20.0, e))
    assert iso_13788_emc(0.0, 400.0, humidity_class) == pytest.approx(float(due))
    same = equilibrium_moisture_content(20.0, relative_humidity(20.0, 400.0))
    assert iso_13788_emc(20.0, 400.0, humidity_class) == pytest.approx(float(same))
