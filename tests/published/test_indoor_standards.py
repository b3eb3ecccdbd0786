"""Published indoor climates, as published (all from memory)."""

import numpy as np
import pytest
from outside import PublishedCheck, Record

from emcforecast.physics.moist_air import relative_humidity
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.references import (
    HUMIDITY_CLASSES,
    en_15026_climate,
    en_15026_emc,
    iso_13788_emc,
)

SOURCE = PublishedCheck(
    what="wood at rest in standard indoor climates",
    source="EN 15026 Annex C, normal occupancy; EN ISO 13788 humidity classes",
    provenance="memory",
    kind="implemented",
    tolerance="0.1 % MC",
    why="the precision the expected values were worked out to",
)


def test_en_15026_emc(record_reached: Record) -> None:
    # 6.2 / 7.7 / 9.3 / 10.8 % at -10 / 0 / 10 / 20 °C outdoors, within 0.1
    found = en_15026_emc([-10.0, 0.0, 10.0, 20.0])
    away = np.abs(found - [6.2, 7.7, 9.3, 10.8]).max()
    record_reached("EN 15026, % MC", away)
    assert away < 0.1


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


@pytest.mark.parametrize(
    ("outdoors", "mc"), [(-10, 6.2), (0, 7.7), (10, 9.3), (20, 10.8)]
)
def test_indoor_design_climate(outdoors: float, mc: float) -> None:
    # EN 15026 annex C (recalled): 20 °C below 10 °C outdoors, rising to 25 °C at
    # 20 °C; 30 % at -10 °C outdoors, rising to 60 % at 20 °C.
    t = np.interp(outdoors, [10, 20], [20, 25])
    rh = np.interp(outdoors, [-10, 20], [30, 60])
    assert float(equilibrium_moisture_content(t, rh)) == pytest.approx(mc, abs=0.1)


@pytest.mark.parametrize(
    ("outdoors", "indoors", "humidity", "emc"),
    [
        (-10, 20.0, 30, 6.2),
        (0, 20.0, 40, 7.7),
        (10, 20.0, 50, 9.3),
        (20, 25.0, 60, 10.8),
    ],
)
def test_moisture_in_the_standard_indoor_climate(
    outdoors: float, indoors: float, humidity: float, emc: float
) -> None:
    # EN 15026 Annex C, normal occupancy (memory): 20 °C below 10 °C outdoors, rising to
    # 25 °C at 20 °C; 30 % at -10 °C rising to 60 % at 20 °C
    got = float(equilibrium_moisture_content(indoors, humidity))
    assert got == pytest.approx(emc, abs=0.1), f"at {outdoors} °C outdoors"
