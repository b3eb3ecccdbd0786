"""The demonstration yard is one that the program itself can read."""

from datetime import date
from pathlib import Path

from emcforecast.tables import rows
from emcforecast.yard.file import read_yard
from emcforecast.yard.log import read_log

FOLDER = Path(__file__).resolve().parents[2] / "data" / "yard"


def test_every_stack_is_read() -> None:
    yard = read_yard(FOLDER / "yard.toml")
    assert [stack.species.spoken for stack in yard.stacks] == [
        "European larch",
        "sweet chestnut",
        "European oak",
        "European walnut",
        "European beech",
        "European ash",
        "Norway spruce",
    ]
    assert yard.stacks[0].stacked == date(2026, 3, 28)
    assert (yard.units, yard.region, yard.weather.file) == ("si", "europe", "demo")
    uses = {row["use"] for row in rows("target_mc")}
    assert {stack.use for stack in yard.stacks} <= uses


def test_every_reading_is_of_a_stack_in_the_yard() -> None:
    log = read_log(FOLDER / "readings.csv")
    assert not log.damaged
    assert len(log.rows) == 10
    names = {stack.name for stack in read_yard(FOLDER / "yard.toml").stacks}
    assert {row.fields["stack"] for row in log.rows} <= names
