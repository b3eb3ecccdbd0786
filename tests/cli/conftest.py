"""A screen of 80 columns for every command, whatever the terminal of the tester."""

import pytest


@pytest.fixture(autouse=True)
def _eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
