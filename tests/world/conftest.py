"""What the checks against the world share: the readers of real series."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def compare() -> ModuleType:
    """Load data/demonstration/compare.py: its own readers of open hourly data."""
    file = ROOT / "data" / "demonstration" / "compare.py"
    spec = importlib.util.spec_from_file_location("world_compare", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module
