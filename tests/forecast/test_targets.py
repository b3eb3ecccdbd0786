"""Uses by the names people have for them."""

import pytest

from emcforecast.forecast.targets import target_for_use


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
