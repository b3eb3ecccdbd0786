"""What all tests share: monitored buildings, and the errors reached outside.

`pytest tests/published --record-reached -n 0 -m "not network"` writes the errors that
the checks against something outside the project reach to docs/checks.json, the long
ones too; `python docs/generate.py` prints them in docs/checks.md. An ordinary run fails
where the program is further off than the record says.
"""

import gc
import json
import pickle
from collections import OrderedDict
from collections.abc import Callable, Iterator
from dataclasses import asdict
from functools import wraps
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

import pytest
from outside import RECORD, ROUNDING, Record, as_printed, load_record

# The process that deals tests out to others needs none of what they import.
if TYPE_CHECKING:
    from buildings import Building

PUBLISHED = Path(__file__).parent / "published"
AGAIN = (
    "run pytest tests/published --record-reached -n 0 -m 'not network', then "
    "docs/generate.py"
)
Reached = dict[ModuleType, dict[str, float]]


def pytest_configure(config: pytest.Config) -> None:
    """Set up a process that runs tests.

    How long an example takes depends on what else the machine does.
    """
    worker = hasattr(config, "workerinput")
    if worker or not config.getoption("numprocesses", None):
        from hypothesis import settings

        settings.register_profile("untimed", deadline=None)
        settings.load_profile("untimed")
    if worker:
        _keep_kernels_alone()


def pytest_collection(session: pytest.Session) -> None:
    """Look for no garbage while modules and tests are loaded: all of it stays."""
    gc.disable()


def pytest_collection_finish(session: pytest.Session) -> None:
    """From here on garbage is looked for, among what the tests themselves make."""
    gc.collect()
    gc.freeze()
    gc.enable()


def _keep_kernels_alone() -> None:
    """Let one process at a time keep what it compiled of a kernel.

    The compiler picks the name of a new file and then writes it: of two processes that
    keep the same kernel for unlike arrays, one would else write over the other.
    """
    from numba.core.caching import IndexDataCacheFile

    from emcforecast.yard.locking import alone

    keep = IndexDataCacheFile.save

    def keep_alone(self: Any, key: Any, data: Any) -> None:
        with alone(Path(self._index_path)):
            keep(self, key, data)

    IndexDataCacheFile.save = keep_alone


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--record-reached",
        action="store_true",
        help="write the errors that tests/published reach to docs/checks.json",
    )


@pytest.fixture(scope="session")
def _reached(request: pytest.FixtureRequest) -> Iterator[Reached]:
    """Gather what this run reaches, and write it if that is asked for."""
    reached: Reached = {}
    yield reached
    if request.config.getoption("--record-reached"):
        if hasattr(request.config, "workerinput"):
            raise pytest.UsageError(f"several processes: {AGAIN}")
        found = load_record() | {
            name_of(module): asdict(module.SOURCE) | {"reached": numbers}
            for module, numbers in reached.items()
        }
        here = {path.stem for path in PUBLISHED.glob("test_*.py")}
        kept = {name: found[name] for name in sorted(found) if name in here}
        text = json.dumps(kept, indent=1, ensure_ascii=False)
        RECORD.write_text(text + "\n", encoding="utf-8")


def name_of(module: ModuleType) -> str:
    """Name a test module as the record does."""
    return Path(str(module.__file__)).stem


@pytest.fixture
def record_reached(request: pytest.FixtureRequest, _reached: Reached) -> Record:
    """Take an error that was reached; its name holds the unit, smaller is better.

    Of several of one name in a module the largest counts.
    """
    module = request.module
    known = load_record().get(name_of(module), {}).get("reached", {})

    def record(name: str, value: Any) -> None:
        error = abs(float(value))
        mine = _reached.setdefault(module, {})
        mine[name] = max(mine.get(name, 0.0), as_printed(error))
        if not request.config.getoption("--record-reached"):
            assert name in known, f"{name!r} is not recorded: {AGAIN}"
            allowed = known[name] * (1.0 + ROUNDING)
            assert error <= allowed, f"{name}: {error:.3g}, recorded {known[name]}"

    return record


@pytest.fixture(scope="session")
def building() -> "Callable[[str], Building]":
    from buildings import BUILDINGS, Building

    if not BUILDINGS.exists():
        pytest.skip("monitored buildings are not beside the repository")
    read: dict[str, Building] = {}

    def get(name: str) -> Building:
        if name not in read:
            read[name] = Building(name)
        return read[name]

    return get


WORK = {
    "emcforecast.answers.dry.dry": 6,
    "emcforecast.answers.floor.floor": 6,
    "emcforecast.answers.plan.plan": 6,
    "emcforecast.forecast.dry.storage_air": 2,
    "emcforecast.forecast.plan.plan.storage_air": 2,
    "emcforecast.yard.state.storage_air": 2,
}
"""What commands ask below their words, in no language or units, and how many to keep.

The air takes hundreds of megabytes for each three places of a long record.
"""
Kept = OrderedDict[bytes, Any]
_worked_out: dict[Callable[..., Any], Kept] = {}


def kept(work: Callable[..., Any], most: int) -> Callable[..., Any]:
    """Remember what some work found, by the whole content of what it was given."""
    found = _worked_out.setdefault(work, OrderedDict())

    @wraps(work)
    def asked(*given: Any, progress: Any = None, **named: Any) -> Any:
        if named.get("known_air") is not None:  # Large, and its owner's to share.
            return work(*given, progress=progress, **named)
        key = sha256(pickle.dumps((given, sorted(named.items())))).digest()
        if key not in found:
            found[key] = work(*given, progress=progress, **named)
        found.move_to_end(key)
        while len(found) > most:
            found.popitem(last=False)
        return found[key]

    return asked


@pytest.fixture
def worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let tests that ask the same of the same weather share what was worked out.

    For tests of what is said of it and how, and of different stacks in the same air. A
    command still reads its options and the weather and says its answer anew; that the
    same question has the same answer each time is checked where nothing is kept.
    """
    for name, most in WORK.items():
        path, _, function = name.rpartition(".")
        module = import_module(path)
        monkeypatch.setattr(module, function, kept(getattr(module, function), most))
