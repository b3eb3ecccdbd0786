"""`yard` and `plan` asked the same question: the same chance, the same dates.

The two commands reach the planner by different ways, the yard file and the command's
own options; what they answer with must be the same to the last draw.
"""

import random
from datetime import date, timedelta
from functools import cache

import pytest

from emcforecast.forecast.plan.plan import plan
from emcforecast.forecast.targets import target_for_use
from emcforecast.weather.read import demonstration
from emcforecast.yard.file import read_yard
from emcforecast.yard.state import yard_state

pytestmark = pytest.mark.usefixtures("worked_out_once")
TODAY = date(2026, 11, 26)
WOODS = ("sugar maple", "white oak", "yellow-poplar", "white ash", "black walnut")
SIZES = ("13mm", "4/4", "5/4", "8/4")
USES = ("furniture", "flooring", "trim", "decking")
HAVE = (("shed", "indoor"), ("outdoor", "shed", "indoor"), ("shed", "loft", "indoor"))


@cache
def cases():
    rng = random.Random(20)
    found = [
        ("sugar maple", "4/4", date(2026, 4, 1), "shed", HAVE[0], "furniture",
         date(2027, 7, 1)),
    ]  # fmt: skip
    while len(found) < 21:
        have = rng.choice(HAVE)
        found.append(
            (
                rng.choice(WOODS),
                rng.choice(SIZES),
                TODAY - timedelta(days=rng.randrange(5, 500)),
                rng.choice(have[:-1]),
                have,
                rng.choice(USES),
                TODAY + timedelta(days=rng.randrange(40, 500)),
            )
        )
    return tuple(found)


def answers(case, folder):
    wood, size, stacked, place, have, use, need = case
    path = folder / "yard.toml"
    path.write_text(
        f"have = {list(have)}\n"
        f'[[stack]]\nname = "one"\nspecies = "{wood}"\nthickness = "{size}"\n'
        f'sawn = {stacked}\nsetting = "{place}"\nuse = "{use}"\nneed = {need}\n'
    )
    weather = demonstration()
    (one,) = yard_state(read_yard(path), weather, TODAY).stacks
    found = plan(
        weather, wood, size, stacked=stacked, need=need, target=target_for_use(use),
        have=have, stacked_in=place, today=TODAY,
    )  # fmt: skip
    return one.advice, found


def agree(case, folder) -> None:
    advice, found = answers(case, folder)
    place = case[3]
    at_hand = [name for name in found.feasible if name == found.route[0].setting]
    assert advice.stay_chance == found.feasible[at_hand[0]]
    if len(found.route) == 1:
        assert advice.bring_in is None
        assert advice.stay_chance == found.probability_by_need
        return
    bring_in = advice.bring_in
    assert bring_in is not None
    assert place != bring_in.setting
    assert bring_in.chance == found.probability_by_need
    assert bring_in.by == found.bring_in_by
    assert bring_in.even_by == found.bring_in_even
    assert bring_in.day == found.route[-1].start
    assert advice.ready_earlier == found.ready_earlier
    if bring_in.by is not None:
        assert bring_in.even_by >= bring_in.by
        assert bring_in.ready == found.latest.ready


@pytest.mark.parametrize("number", range(3))
def test_yard_and_plan_agree(number, tmp_path) -> None:
    agree(cases()[number], tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(3, 21))
def test_yard_and_plan_agree_on_more(number, tmp_path) -> None:
    agree(cases()[number], tmp_path)
