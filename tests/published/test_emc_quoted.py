"""Equilibrium moisture content against rules of thumb and single values in print."""

import pytest
from outside import PublishedCheck, Record

from emcforecast.physics.sorption import equilibrium_moisture_content

SOURCE = PublishedCheck(
    what="equilibrium moisture content, single values in print",
    source=(
        "an extension specialist's rules of thumb (trade press); Penn State "
        "Extension; the Fahrenheit equation at 140 °F and 55 %"
    ),
    provenance="retrieved",
    kind="foretold",
    tolerance="0.5 % MC for whole percents, 0.15 for tenths",
    why="the digits printed, and one rounded up by its source",
)


@pytest.mark.parametrize(
    ("rh", "mc", "tolerance"),
    # Rules of thumb of an extension specialist at room temperature (trade press,
    # read): whole percents, so half a percent either way.
    [(30.0, 6.0, 0.5), (50.0, 9.0, 0.5), (65.0, 12.0, 0.5), (80.0, 16.0, 0.5)],
)
def test_rules_of_thumb(
    rh: float, mc: float, tolerance: float, record_reached: Record
) -> None:
    value = float(equilibrium_moisture_content(21.1, rh))
    record_reached("rules of thumb, % MC", value - mc)
    assert value == pytest.approx(mc, abs=tolerance)


@pytest.mark.parametrize(
    ("t_f", "rh", "mc"),
    # Penn State Extension at 80 °F 75 % and 70 °F 40 %, and the Fahrenheit equation at
    # 140 °F 55 % (all read; printed to 0.1, the first is the source's rounding up).
    [(80.0, 75.0, 14.3), (70.0, 40.0, 7.7), (140.0, 55.0, 8.4)],
)
def test_quoted_values(
    t_f: float, rh: float, mc: float, record_reached: Record
) -> None:
    value = float(equilibrium_moisture_content((t_f - 32) / 1.8, rh))
    record_reached("quoted values, % MC", value - mc)
    assert value == pytest.approx(mc, abs=0.15)
