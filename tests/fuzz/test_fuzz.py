"""Damaged inputs of every reader: read, or refused in one line; never a traceback.

A few of each here; `run.py` tries as many as asked for.
"""

import json
import random

import numpy as np
import pytest
from damage import counts
from fuzz_judge import BadAnswerError, Target, strict_json
from fuzz_mutations import ODD_VALUES, json_nodes, with_node, without_node
from fuzz_targets import targets
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from emcforecast.errors import InputError
from emcforecast.weather.hints import Hints
from emcforecast.weather.read import read_bytes

TARGETS = {target.name: target for target in targets()}
QUICK = settings(
    max_examples=15, deadline=None, suppress_health_check=list(HealthCheck)
)


@pytest.mark.parametrize("name", TARGETS)
def test_good_seeds_are_read(name: str) -> None:
    target = TARGETS[name]
    own = {n: data for n, data in target.seeds.items() if len(n.split(".")[0]) < 40}
    for seed, data in own.items():
        if "packed" in name or seed == "hourly_normals.csv.gz" or data[:6] == b"upload":
            continue
        assert not target.judge(data).startswith("refused"), seed


@pytest.mark.parametrize("name", TARGETS)
@QUICK
@given(seed=st.integers(0, 2**63))
def test_damaged_seeds(name: str, seed: int) -> None:
    target = TARGETS[name]
    target.judge(target.damaged(random.Random(seed)))


@pytest.mark.parametrize("name", [n for n in TARGETS if n != "command line"])
@QUICK
@given(data=st.binary(max_size=400))
def test_any_bytes(name: str, data: bytes) -> None:
    TARGETS[name].judge(data)


@pytest.mark.parametrize("name", ["tables", "readings", "yard file", "command line"])
@QUICK
@given(text=st.text(max_size=400))
def test_any_text(name: str, text: str) -> None:
    TARGETS[name].judge(text.encode("utf-8", "replace"))


def replies() -> list[str]:
    return sorted(TARGETS["json replies"].seeds)


@pytest.mark.parametrize("seed", replies())
def test_every_node_of_a_reply_replaced(seed: str) -> None:
    """Each node in turn by each odd value of a few, or taken out."""
    target = TARGETS["json replies"]
    document = json.loads(target.seeds[seed])
    for number, path in enumerate(json_nodes(document)):
        target.judge(json.dumps(without_node(document, path)).encode())
        for shift in (0, 7, 13):
            value = ODD_VALUES[(number + shift) % len(ODD_VALUES)]
            target.judge(json.dumps(with_node(document, path, value)).encode())


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("tables", b"\xef\xbb\xbftime,temp\n" + b"1" * 65520 + b"\xf0" * 4),
        ("json replies", b"[" * 100_000),
        ("json replies", b'{"hourly": ' + b"9" * 5000 + b', "generationtime_ms": 1}'),
        ("calibration", b"[" * 100_000),
        ("calibration", b'{"format": ' + b"9" * 5000 + b"}"),
        ("yard file", b"x = " + b"[" * 100_000),
        ("yard file", b"x = " + b"9" * 5000),
        ("command line", b"movement --width " + b"9" * 5000 + b"mm"),
        ("command line", b"weight --layers " + b"9" * 5000),
        ("values", b"thickness|" + b"9" * 5000 + b"/4"),
        ("values", b"thickness|" + b"9" * 5000 + b" quarters"),
        ("values", "thickness|² quarters".encode()),
    ],
)
def test_deep_nesting_and_long_numbers_are_refused(name: str, data: bytes) -> None:
    assert TARGETS[name].judge(data).startswith("refused")


@pytest.mark.parametrize("end", [b"\r", b"\r\n", b"\n"])
def test_readings_with_any_line_end_are_read(end: bytes) -> None:
    target = TARGETS["readings"]
    good = target.seeds["log.csv"]
    assert target.judge(good.replace(b"\n", end)) == target.judge(good)


def test_a_byte_order_mark_before_json_is_read() -> None:
    """As some editors save it (Unicode standard, section 23.8)."""
    mark = b"\xef\xbb\xbf"
    for target in (TARGETS["json replies"], TARGETS["calibration"]):
        for name, data in target.seeds.items():
            assert target.judge(mark + data) == target.judge(data), name
    seed = TARGETS["json replies"].seeds["open_meteo.json"]
    one, two = (read_bytes(data, "x", Hints()) for data in (seed, mark + seed))
    assert np.array_equal(one["air_temperature"], two["air_temperature"], True)


def test_no_damage_that_can_be_detected_is_silent() -> None:
    found = counts(3)
    silent = {name for name, seen in found.items() if seen["silent"]}
    assert silent == {"humidity sensor off by 5 to 8 %"}
    assert sum(seen["refused"] + seen["said"] for seen in found.values()) > 20


@pytest.mark.parametrize("line", ["species nan --json", "species nan", "species inf"])
def test_a_word_like_no_number_is_only_echoed(line: str) -> None:
    """Found by seed 193366 of the command lines."""
    assert TARGETS["command line"].judge(line.encode()).split(":")[0] in (
        *("read", "refused"),
    )
    TARGETS["command line"].judge(
        TARGETS["command line"].damaged(random.Random(193366))
    )


@pytest.mark.parametrize("text", ['{"a": NaN}', '{"a": [-Infinity]}', "{'a': 1}"])
def test_json_that_no_standard_allows_is_a_fault(text: str) -> None:
    """RFC 8259, section 6: neither NaN nor Infinity is a number."""
    with pytest.raises(BadAnswerError):
        strict_json(text)
    strict_json('{"word": "nan"}')


def test_a_length_over_nothing_is_refused_in_any_digits() -> None:
    """U+0660 is a zero too, and was divided by."""
    for text in ("4/\u0660", "1 1/\u0660\u0660 in", "4/0"):
        for kind in ("length", "thickness", "mass"):
            assert (
                TARGETS["values"].judge(f"{kind}|{text}".encode()).startswith("refused")
            )


def test_a_name_of_a_hundred_thousand_letters_is_refused_at_once() -> None:
    """It was compared with every known name, letter by letter: 3 s for 9,000."""
    name = "oak" * 35_000
    assert TARGETS["values"].judge(f"species|{name}".encode()).startswith("refused")


def test_a_signalling_nan_in_a_file_is_a_gap_like_any_other() -> None:
    """IEEE 754, 6.2: it signals at every use, here as a warning on the screen."""
    data = bytearray(TARGETS["netcdf"].seeds["classic.nc"])
    series = read_bytes(bytes(data), "x", Hints(latitude=45.0, longitude=8.0))
    first = float(series["air_temperature"][100])
    at = bytes(data).find(np.array(first, ">f8").tobytes())
    assert at > 0
    data[at : at + 8] = bytes.fromhex("7ff0000000000001")
    assert TARGETS["netcdf"].judge(bytes(data), "classic.nc") in ("read", "repaired")


def test_times_of_an_archive_that_turn_into_numbers_are_no_times() -> None:
    import pandas as pd

    from emcforecast.weather.archives.tables import times

    assert np.isnat(times(pd.Series([1e5, 2.5e7]))).all()


def test_a_row_that_a_lost_quote_shifted_is_left_out_and_said() -> None:
    """Its wind stood under temperature: 18 °C in January."""
    target = TARGETS["text replies"]
    lines = target.seeds["global_hourly.csv"].split(b"\n")
    for at in range(25, 31):
        lines[at] = lines[at].replace(b'"SAMPLE FIELD, XX"', b"ERR, XX")
    assert target.judge(b"\n".join(lines), "global_hourly.csv") == "repaired"


def test_a_month_with_a_value_too_many_does_not_shift_the_others() -> None:
    """July became 7 °C at 20.5 %: 2.4 % MC off, and nothing said."""
    target = TARGETS["tables"]
    hurt = target.seeds["months.csv"].replace(b"\n7,", b"\n7,7,")
    assert target.judge(hurt, "months.csv").startswith("refused")


@pytest.mark.parametrize("name", ["power_monthly.json", "open_meteo.json"])
def test_true_is_no_number_of_an_archive(name: str) -> None:
    target = TARGETS["json replies"]
    document = json.loads(target.seeds[name])
    for path in json_nodes(document):
        if path and isinstance(path[-1], int | str) and path[-1] in (3, "201905"):
            hurt = json.dumps(with_node(document, path, True)).encode()
            assert target.judge(hurt, name) != "silent", path


def test_the_judge_finds_what_it_is_there_for() -> None:
    """An answer of two lines, and one that no refusal covers."""

    def raises(error: Exception) -> Target:
        def ask(data: bytes) -> str:
            raise error

        return Target("x", {"a": b""}, "bytes", ask)

    with pytest.raises(ZeroDivisionError):
        raises(ZeroDivisionError()).judge(b"")
    two = InputError("one")
    two.args = ("one\ntwo",)
    with pytest.raises(BadAnswerError, match="not one line"):
        raises(two).judge(b"")
