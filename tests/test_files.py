"""Documents from outside: numbers that no float holds are refused, not met later."""

import pytest

from emcforecast.errors import YardError
from emcforecast.files import parse_json, parse_toml
from emcforecast.yard.file import read_yard

LONG = "9" * 400
"""10^400 is beyond the largest double, 1.8e308 (IEEE 754)."""


def test_whole_numbers_too_long_are_refused():
    for text in (f"a = {LONG}", f"a = -{LONG}", f"b = [{{ c = [1, {LONG}] }}]"):
        with pytest.raises(ValueError, match="too long"):
            parse_toml(text)
    for text in (f"[{LONG}]", f'{{"a": -{LONG}}}'):
        with pytest.raises(ValueError, match="too long"):
            parse_json(text.encode())
    nanoseconds = 1_795_000_000_000_000_000
    assert parse_json(f"[{nanoseconds}, -1, 1e5]".encode()) == [nanoseconds, -1, 1e5]
    assert parse_toml(f"a = {nanoseconds}") == {"a": nanoseconds}


@pytest.mark.parametrize("key", ["thickness", "from_mc"])
def test_a_yard_file_with_one_is_refused_in_one_line(key, tmp_path):
    path = tmp_path / "yard.toml"
    thickness = "" if key == "thickness" else 'thickness = "27 mm"\n'
    path.write_text(
        f'[[stack]]\nname = "a"\nspecies = "European larch"\n{thickness}'
        f'sawn = 2026-04-01\nsetting = "shed"\n{key} = {LONG}\n'
    )
    with pytest.raises(YardError, match=r"yard\.toml: cannot be read as TOML"):
        read_yard(path)
