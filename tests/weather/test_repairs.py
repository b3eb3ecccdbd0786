"""Repairs as values: kept, added up and said; the words are held nowhere else."""

import json
import re

import pytest

from emcforecast.errors import ContractError
from emcforecast.report.repairs import SENTENCES, repair_sentence, repair_sentences
from emcforecast.weather.formats.netcdf import MARK, series_of_own, write_weather
from emcforecast.weather.read import demonstration, read_weather
from emcforecast.weather.repairs import (
    RepairKind,
    add_counts,
    add_repairs,
    repair,
    repairs_of,
    repairs_to_text,
)
from emcforecast.weather.series import check_contract

SOME = (
    repair(RepairKind.GAPS_BRIDGED, 1, limit=6),
    repair(RepairKind.IMPOSSIBLE_VALUES, 2, "air_temperature", example=-999.0),
    repair(RepairKind.OFFSET_OF_LONGITUDE, offset=-5.0),
    repair(RepairKind.STATED, text="“an older file's own words”"),
)


def test_every_kind_has_its_words():
    assert set(SENTENCES) == set(RepairKind)


def test_words_follow_the_count_and_the_quantity():
    assert [repair_sentence(item) for item in SOME] == [
        "1 hour in gaps of up to 6 h bridged in temperature and vapour pressure",
        "2 impossible air temperature values set missing (such as -999 °C)",
        "the times state no offset from UTC: taken as -5 h from the longitude "
        "(--utc-offset says otherwise)",
        "“an older file's own words”",
    ]


def test_a_series_gives_back_what_it_was_given():
    series = add_repairs(demonstration(), *SOME)
    assert repairs_of(series) == SOME
    assert repairs_of(add_repairs(series, SOME[0], first=True))[0] == SOME[0]
    assert repair_sentences(series)[0].startswith("1 hour in gaps")


def test_counts_add_up_and_other_numbers_do_not():
    west = repair(RepairKind.STANDARD_TIME_OF_PLACE, offset=-5.0)
    parts = [[repair(RepairKind.BROKEN_LINES, n), west] for n in (1, 2, 4)]
    assert add_counts(parts) == [repair(RepairKind.BROKEN_LINES, 7), west]


def test_a_file_of_an_older_version_keeps_its_sentences(tmp_path):
    path = tmp_path / "weather.nc"
    write_weather(demonstration(), path)
    import xarray as xr

    with xr.open_dataset(path, engine="h5netcdf") as opened:
        held = json.loads(opened.attrs[MARK])
        opened.attrs[MARK] = json.dumps(held | {"repairs": ["3 hours bridged"]})
        series = series_of_own(opened)
    check_contract(series)
    assert repairs_of(series) == (repair(RepairKind.STATED, text="3 hours bridged"),)
    assert repair_sentences(series) == ["3 hours bridged"]


@pytest.mark.parametrize(
    "held", ["none", "{}", '[{"kind": "unheard of"}]', '[{"count": 3}]', '["text"]']
)
def test_anything_else_breaks_the_contract(held):
    with pytest.raises(ContractError, match="repairs"):
        check_contract(demonstration().assign_attrs(repairs=held))


def test_what_is_said_of_a_file_is_what_its_values_say(tmp_path):
    rows = [
        f"2023-01-{1 + i // 24:02d} {i % 24:02d}:00,{i % 9},{50 + i % 7}"
        for i in range(480)
    ]
    rows[7] = rows[7].replace(",50", ",300")
    (tmp_path / "a.csv").write_text("time_utc,temp_c,rh_pct\n" + "\n".join(rows))
    series = read_weather(tmp_path / "a.csv")
    assert repairs_of(series) == (
        repair(RepairKind.IMPOSSIBLE_VALUES, 1, "relative_humidity", example=300.0),
        repair(RepairKind.GAPS_BRIDGED, 1, limit=6),
    )
    assert all(not re.search(r"\{|\}", line) for line in repair_sentences(series))


def test_text_is_json_a_person_can_read():
    rows = json.loads(repairs_to_text(SOME))
    assert rows[0] == {"kind": "gaps bridged", "count": 1, "limit": 6}
