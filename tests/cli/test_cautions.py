"""Cautions come from what a place is, whatever its owner calls it."""

import datetime as dt
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from emcforecast.cautions import Caution
from emcforecast.report.cautions import WORDS, cautions_for
from emcforecast.report.dry import dry_cautions
from emcforecast.report.floor import floor_cautions
from emcforecast.report.plan import plan_cautions
from emcforecast.report.yard import cautions_of
from emcforecast.storage.kinds import KINDS
from emcforecast.weather.read import read_weather
from emcforecast.yard.file import read_yard
from emcforecast.yard.result import YardState
from emcforecast.yard.state import yard_state

BOARD = SimpleNamespace(thickness_mm=27.0)


@pytest.fixture(scope="module")
def state(tmp_path_factory: pytest.TempPathFactory) -> YardState:
    """A yard with a stack in a place of every kind, each under a strange name."""
    lines = ['[weather]\nfile = "demo"']
    for kind in KINDS:
        lines.append(f'[setting.my-{kind}-upstairs-den]\nkind = "{kind}"')
    for kind in KINDS:
        lines.append(
            f'[[stack]]\nname = "{kind}"\nspecies = "ash"\nthickness = "4/4"\n'
            f'stacked = 2026-01-15\nsetting = "my-{kind}-upstairs-den"'
        )
    path = tmp_path_factory.mktemp("yard") / "yard.toml"
    path.write_text("\n".join(lines))
    weather = read_weather("demo").sel(time=slice(np.datetime64("2017-01-01"), None))
    return yard_state(read_yard(path), weather, dt.date(2026, 5, 1))


def of_yard(state: YardState, kind: str) -> set[Caution]:
    """Cautions of the yard's stack of one kind, its mould risk aside."""
    one = next(one for one in state.stacks if one.stack.name == kind)
    alone = replace(state, stacks=(replace(one, risks=()),))
    said = cautions_of(alone, "si")
    return {c for c in Caution if any(line.endswith(WORDS[c]) for line in said)}


def as_cautions(said: tuple[str, ...]) -> set[Caution]:
    return {c for c in Caution if WORDS[c] in said}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_carries_the_same_cautions_in_every_command(state, kind):
    place = SimpleNamespace(kind=kind, setting="den", name="shed")
    dried = SimpleNamespace(
        board=BOARD,
        route=[(place, 0)],
        runs=SimpleNamespace(stack=SimpleNamespace(cuts=())),
        dangers=(),
    )
    of_dry = as_cautions(dry_cautions(cast(Any, dried)))
    planned = SimpleNamespace(board=BOARD, route=[place])
    shown = SimpleNamespace(board=BOARD, settings={"den": place})
    assert of_dry == as_cautions(plan_cautions(cast(Any, planned)))
    assert of_dry == of_yard(state, kind)
    # No stack stands in a table of places: what remains is the place itself.
    of_floor = as_cautions(floor_cautions(cast(Any, shown)))
    assert of_floor == {Caution.METER, *KINDS[kind].cautions}
    assert of_dry == of_floor | KINDS[kind].stack_cautions


def test_a_loft_by_any_name_keeps_its_floor_and_a_workshop_its_heater(state):
    assert Caution.WEIGHT in of_yard(state, "loft")
    assert Caution.HEATER in of_yard(state, "workshop")
    assert Caution.HEATER in of_yard(state, "dry-room")
    assert {Caution.LEANING, Caution.TARP} <= of_yard(state, "stack")


def test_cautions_stand_once_and_in_one_order():
    found = cautions_for(
        [*KINDS, *KINDS], stacked=True, dust=True, thickness_mm=100.0, also=Caution
    )
    assert list(found) == [c for c in Caution if c in set(found)]
    assert len(found) == len(set(found))
    assert Caution.STRUCTURAL in found


def test_every_caution_has_words():
    assert set(WORDS) == set(Caution)
