"""The record of outside checks holds every one of them, as its module says it."""

from dataclasses import asdict
from pathlib import Path

import pytest
from outside import PublishedCheck, load_record

HERE = Path(__file__).parent
MODULES = sorted({path.stem for path in HERE.glob("test_*.py")} - {"test_record"})


@pytest.fixture(autouse=True)
def _not_while_recording(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--record-reached"):
        pytest.skip("the record is being written")


def test_every_module_is_recorded() -> None:
    assert sorted(load_record()) == MODULES


def test_the_record_says_what_the_modules_say(request: pytest.FixtureRequest) -> None:
    record = load_record()
    modules = {item.path: item.module for item in request.session.items
               if item.path.parent == HERE and item.path.stem in MODULES}  # fmt: skip
    for path, module in modules.items():
        assert isinstance(module.SOURCE, PublishedCheck)
        known = {**record[path.stem]}
        assert known.pop("reached")
        assert known == asdict(module.SOURCE), path.name
