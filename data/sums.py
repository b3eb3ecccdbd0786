"""Write the sha256 of every data file into data/README.md.

Run by hand after a data file changed: ``python data/sums.py``.
"""

import hashlib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "data" / "README.md"
MARK = "<!-- sums -->"


def files() -> list[Path]:
    """List the files that are summed: all data but scripts, and two packaged ones."""
    found = [
        path
        for path in (ROOT / "data").rglob("*")
        if path.is_file()
        and path.suffix not in {".py", ".pyc", ".md"}
        and "cache" not in path.relative_to(ROOT).parts
    ]
    packaged = ROOT / "emcforecast" / "tables"
    found += [packaged / "demonstration.npz", packaged / "land_110m.json"]
    return sorted(found)


def table() -> str:
    """Return the sums as a Markdown table."""
    lines = ["| file | bytes | sha256 |", "|---|---|---|"]
    for path in files():
        content = path.read_bytes()
        name = path.relative_to(ROOT).as_posix()
        digest = hashlib.sha256(content).hexdigest()
        lines.append(f"| {name} | {len(content)} | `{digest}` |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    head = README.read_text(encoding="utf-8").split(MARK)[0]
    README.write_text(f"{head}{MARK}\n\n{table()}", encoding="utf-8")
