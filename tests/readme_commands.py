"""Print the README's two commands, for .ci/run to run them as they stand there."""

import re
import sys
from pathlib import Path


def commands(text: str) -> list[str]:
    """Return the bodies of the first two shell blocks of a page."""
    blocks = re.findall(r"^```sh\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    if len(blocks) < 2:
        raise SystemExit("the README must hold two shell blocks: run, then test")
    return blocks[:2]


if __name__ == "__main__":
    print("".join(commands(Path(sys.argv[1]).read_text(encoding="utf-8"))))
