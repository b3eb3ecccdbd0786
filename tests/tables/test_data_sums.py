"""The data files are the ones whose origin data/README.md tells."""

import hashlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "data" / "README.md").read_text(encoding="utf-8")
SUMS = re.findall(r"^\| (\S+) \| (\d+) \| `([0-9a-f]{64})` \|$", README, re.M)


@pytest.mark.parametrize(("name", "size", "digest"), SUMS, ids=[s[0] for s in SUMS])
def test_sum(name: str, size: str, digest: str) -> None:
    content = (ROOT / name).read_bytes()
    assert len(content) == int(size)
    assert hashlib.sha256(content).hexdigest() == digest


def test_every_data_file_is_summed() -> None:
    there = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "data").rglob("*")
        if path.is_file()
        and path.suffix not in {".py", ".pyc", ".md"}
        and "cache" not in path.relative_to(ROOT).parts
    }
    assert there <= {name for name, _, _ in SUMS}
    assert "emcforecast/tables/demonstration.npz" in {name for name, _, _ in SUMS}
