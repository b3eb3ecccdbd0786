"""What a logger taught about a place reaches the forecasts made for it."""

import json
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.weather_ahead import humidity_of
from emcforecast.forecast import dry as drying
from emcforecast.forecast.plan import plan as planning
from emcforecast.storage.parameters import PARAMETERS
from emcforecast.storage.settings import Setting

WHEN = ("--species", "yellow-poplar", "--stacked", "2026-05-01")


def pinned(tmp_path: Any, kind: str, name: str) -> str:
    """Write a calibration that leaves nothing about a place open."""
    values = Setting(name, kind).values()
    likely = {
        k: [v, v] for k, v in values.items() if isinstance(v, float) and k in PARAMETERS
    }
    file = tmp_path / f"{kind}.json"
    document = {"format": "emcforecast calibration", "setting": name, "kind": kind}
    file.write_text(json.dumps(document | {"parameters": {}, "likely": likely}))
    return str(file)


def banks(monkeypatch: pytest.MonkeyPatch, module: Any, *words: str) -> StorageAir:
    """Run a command and return the air it worked with."""
    made: list[StorageAir] = []

    def kept(*args: Any, **named: Any) -> StorageAir:
        made.append(storage_air(*args, **named))
        return made[-1]

    monkeypatch.setattr(module, "storage_air", kept)
    result = CliRunner().invoke(cli, [*words])
    assert result.exit_code == 0, result.output
    return made[0]


def spread(bank: StorageAir, number: int) -> float:
    """How far the draws of a setting lie apart, in relative humidity."""
    rows = slice(number * bank.draws, (number + 1) * bank.draws)
    humidity = humidity_of(bank.tables.table[rows]) / 100.0
    return float(np.nanmax(np.ptp(humidity, axis=0)))


def test_dry_keeps_the_ranges_a_calibration_narrowed(
    tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = pinned(tmp_path, "loft", "shed")
    words = ("dry", "demo", *WHEN, "--target", "15", "--setting")
    assert spread(banks(monkeypatch, drying, *words, f"shed={file}"), 0) < 1e-9
    assert spread(banks(monkeypatch, drying, *words, "shed=loft"), 0) > 0.01


def test_plan_keeps_the_ranges_a_calibration_narrowed(
    tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = pinned(tmp_path, "loft", "shed")
    words = ("plan", "demo", *WHEN, "--need", "2026-11-01", "--target", "14")
    have = ("--have", "shed", "--setting")
    assert spread(banks(monkeypatch, planning, *words, *have, f"shed={file}"), 0) < 1e-9
    assert spread(banks(monkeypatch, planning, *words, *have, "shed=loft"), 0) > 0.01
    at_hand = banks(monkeypatch, planning, *words, "--have", file)
    assert spread(at_hand, 0) < 1e-9
