"""Uses by the names people have for them."""

from types import SimpleNamespace

import numpy as np
import pytest

from emcforecast.forecast.plan.success import bounded_below, is_ready
from emcforecast.forecast.targets import (
    target_for_use,
    target_of_number,
    target_of_reading,
)


@pytest.mark.parametrize(
    ("said", "high"),
    [
        # Lumber for framing is sold at 19 % or less (common practice: "S-DRY").
        ("framing", 19.0),
        ("timber framing", 19.0),
        ("Outdoor  furniture", target_for_use("exterior-furniture").high),
        ("garden furniture", target_for_use("exterior-furniture").high),
    ],
)
def test_what_people_say_finds_its_use(said: str, high: float) -> None:
    assert target_for_use(said).high == high


@pytest.mark.parametrize(
    ("use", "region", "low", "high"),
    [
        # EN 942 (memory): internal joinery above 21 °C; BS 1186-3 (read): 20-24 °C.
        ("furniture", "europe", 6.0, 10.0),
        ("furniture", "uk", 8.0, 12.0),
        # Building advice in a German newspaper (read): furniture 6 to 12 %.
        ("furniture", "germany", 6.0, 12.0),
        # AS 2796 (memory).
        ("flooring", "australia", 9.0, 14.0),
        # EN 942 (memory) and BS 1186-3 (read): external joinery; AS 1720.1 (read):
        # seasoned timber, 10 to 15 %; Finland: external cladding 18 % or less (read).
        ("garden furniture", "europe", 12.0, 19.0),
        ("garden furniture", "uk", 13.0, 19.0),
        ("garden furniture", "australia", 10.0, 15.0),
        ("garden furniture", "finland", None, 18.0),
        ("exterior-joinery", "australia", 10.0, 15.0),
        # Swedish timber guide (read): floors 8 %, mouldings 12 % (10.5 to 13.5 %).
        ("flooring", "sweden", 7.0, 9.0),
        ("trim", "sweden", 10.5, 13.5),
        ("furniture", None, 7.0, 9.0),
    ],
)
def test_uses_outside_the_united_states(use, region, low, high) -> None:
    found = target_for_use(use, region)
    assert (found.low, found.high) == (low, high)
    assert "stands in for the region" not in found.source


def test_a_region_without_a_range_for_furniture_outdoors_is_told_so() -> None:
    found = target_for_use("garden furniture", "sweden")
    assert (found.low, found.high, found.is_general) == (10.0, 14.0, True)
    assert "United States" in found.source
    for region in ("us", "uk", "europe", "germany", "finland", "spain", "australia"):
        assert not target_for_use("garden furniture", region).is_general


def test_too_dry_is_not_ready_indoors() -> None:
    # A person who asked for 7 to 9 % and has 4.8 % is not ready: a point below the
    # range is the most that meters and rooms differ by (common practice).
    mc = np.array([4.8, 5.9, 6.0, 8.0, 9.0, 9.1])
    furniture = target_for_use("furniture")
    assert is_ready(mc, mc, mc, furniture).tolist() == [
        *(False, False),
        *(True, True, True),
        False,
    ]
    old_piece = target_of_reading(8.0)
    assert not is_ready(mc[:1], mc[:1], mc[:1], old_piece).any()
    # A number is reached from above: nothing is too dry for it.
    assert is_ready(mc[:1], mc[:1], mc[:1], target_of_number(9.0)).all()


@pytest.mark.parametrize(
    ("driest_outdoors", "least"),
    # docs/plans.md: the lower end, 12 %, or the driest month outdoors less 3 % MC.
    [(0.20, 12.0), (0.14, 11.0), (0.10, 7.0)],
)
def test_how_dry_is_too_dry_for_a_deck(driest_outdoors: float, least: float) -> None:
    def of_kind(open_air: bool) -> SimpleNamespace:
        return SimpleNamespace(about=SimpleNamespace(open_air=open_air))

    air = SimpleNamespace(
        places=[of_kind(True), of_kind(False)],
        driest_month_emc=lambda place: driest_outdoors,
        mean_emc=lambda place: (driest_outdoors + 0.02, 0.05)[place],
    )
    deck = target_for_use("decking")
    bounded, too_dry = bounded_below(air, [0, 1], deck)  # type: ignore[arg-type]
    assert bounded.least == pytest.approx(least)
    assert too_dry == (1,)
