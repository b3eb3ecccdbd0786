"""The public names: importable, typed, and settings given in any one way."""

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

import emcforecast
from emcforecast.errors import SettingError
from emcforecast.storage.setting_text import as_setting, as_settings
from emcforecast.storage.settings import Setting

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = Path(__file__).with_name("typed_program.py")


def test_every_public_name_is_there_and_typed() -> None:
    block = Path(emcforecast.__file__).read_text().partition("if TYPE_CHECKING:")[2]
    block = block.partition("def __getattr__")[0]
    for name in emcforecast.__all__:
        assert getattr(emcforecast, name) is not None
        assert name == "__version__" or f" {name}" in block


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'flor'"):
        emcforecast.flor  # noqa: B018


@pytest.mark.skipif(
    importlib.util.find_spec("mypy") is None, reason="mypy is not installed"
)
@pytest.mark.slow
def test_a_program_of_public_names_passes_mypy_strict() -> None:
    # The types of this checkout, whatever is installed; the cache is the checker's own.
    found = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", str(PROGRAM)],
        cwd=ROOT,
        env={**os.environ, "MYPYPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.returncode == 0, found.stdout + found.stderr


@pytest.mark.parametrize(
    "way",
    [
        "shed=loft,roof=metal",
        Setting("shed", "loft", {"roof": "metal"}),
        {"shed": "loft,roof=metal"},
        {"shed": "shed=loft,roof=metal"},
        {"shed": {"kind": "loft", "roof": "metal"}},
        {"shed": Setting("shed", "loft", {"roof": "metal"})},
        ["loft,roof=metal"],
        (one for one in ["shed=loft,roof=metal"]),
    ],
)
def test_one_setting_written_in_any_way(way: object) -> None:
    want = Setting("shed", "loft", {"roof": "metal"})
    assert as_settings(way) == (want,)


def test_several_settings_keep_their_order() -> None:
    found = as_settings({"indoor": "house,heat_to=19", "shed": "loft"})
    assert [s.text() for s in found] == ["indoor=house,heat_to=19", "shed=loft"]
    assert as_settings(["indoor=house,heat_to=19", {"shed": "loft"}]) == found
    assert as_settings(()) == ()


@pytest.mark.parametrize(
    ("way", "why"),
    [
        ({"shde": "loft"}, "Did you mean 'shed'"),
        ({"shed": "indoor=house"}, "which is of 'indoor'"),
        (3, "is no setting"),
        ({"shed": {"kind": "loft", "rof": "metal"}}, "no parameter 'rof'"),
    ],
)
def test_what_is_no_setting_is_refused(way: object, why: str) -> None:
    with pytest.raises(SettingError, match=why):
        as_settings(way)


def test_one_setting_is_not_several() -> None:
    with pytest.raises(SettingError, match="one setting is needed, not 2"):
        as_setting({"shed": "loft", "indoor": "house"})
