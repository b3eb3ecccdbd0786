"""Every archive's reader against two formulas the samples were written from."""

import json
from pathlib import Path

import numpy as np
import pytest

from emcforecast.errors import ArchiveError, InputError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.archives.raw import UNITS, join
from emcforecast.weather.archives.registry import ARCHIVES, FORMATS
from emcforecast.weather.formats.content import unpack
from emcforecast.weather.hints import Hints
from emcforecast.weather.read import read_bytes
from emcforecast.weather.series import check_contract

SAMPLES = Path(__file__).parents[2] / "data" / "samples"
HERE = Hints(latitude=46.5, longitude=8.5, elevation=512.0)
HOURLY = (
    *("open_meteo.json", "open_meteo.csv", "power_hourly.json", "power_hourly.csv"),
    *("ghcnh_by_station.psv", "ghcnh_by_year.psv", "global_hourly.csv"),
    *("isd_fixed.txt", "isd_lite.gz", "lcd_first.csv", "lcd_second.csv"),
    *("iem_comma.csv", "iem_tabs.tsv", "meteostat.csv.gz", "meteostat_old.csv.gz"),
    *("meteostat.json", "dwd_tu.zip", "eccc_english.csv", "eccc_french.csv"),
    "era5.zip",
)
#: Humidity worked out from temperatures rounded to 0.1 °C is good to about 1 %.
FROM_DEW_POINT = ("global_hourly.csv", "isd_fixed.txt", "isd_lite.gz", "era5.zip")

#: Which archive sends a sample, by the beginning of its name.
SENT_BY = {
    "open_meteo": "open-meteo",
    "power": "nasa-power",
    "ghcnh": "ghcnh",
    "global": "global-hourly",
    "isd_lite": "isd-lite",
    "lcd": "lcd",
    "hourly": "hourly-normals",
    "iem": "iem-asos",
    "meteostat": "meteostat",
    "dwd": "dwd",
    "eccc": "eccc",
    "era5": "era5",
}


def wave():
    return np.sin(2 * np.pi * (np.arange(48) - 9) / 24)


def format_of(payload):
    hits = [fmt for fmt in FORMATS if fmt.sniff(payload[:65536], "download")]
    assert len(hits) == 1, [fmt.name for fmt in hits]
    return hits[0]


def read(name, hints=HERE):
    payload = unpack((SAMPLES / name).read_bytes())
    return format_of(payload).read(payload, hints)


@pytest.mark.parametrize("name", HOURLY)
def test_hourly_sample_is_read_to_the_values_it_was_written_from(name):
    series = read(name)
    check_contract(series)
    assert series["time"].to_numpy()[0] == np.datetime64("2019-01-01T00")
    assert series.sizes["time"] == 48
    t = series["air_temperature"].to_numpy()
    rh = series["relative_humidity"].to_numpy()
    assert np.isnan(t[7]), "the value the archive calls missing or bad stays missing"
    good = np.arange(48) != 7
    # Printed to 0.1 °C or 0.1 °F, or to whole per cent.
    np.testing.assert_allclose(t[good], (4 + 5 * wave())[good], atol=0.0501)
    atol = 1.0 if name in FROM_DEW_POINT else 0.501
    np.testing.assert_allclose(rh[good], (75 - 15 * wave())[good], atol=atol)
    assert series.attrs["licence"]
    assert series.attrs["attribution"]
    assert series.attrs["latitude"] == pytest.approx(46.5)


@pytest.mark.parametrize(
    "name", [n for n in HOURLY if n not in ("open_meteo.csv", "power_hourly.csv")]
)
def test_rain_falls_in_the_hour_before_its_stamp(name):
    if name == "dwd_tu.zip":
        pytest.skip("the product holds no rain")
    rain = read(name)["precipitation"].to_numpy()
    wet = np.flatnonzero(np.nan_to_num(rain) > 0)
    assert wet.tolist() == [4, 29]
    np.testing.assert_allclose(rain[wet], 0.6, atol=0.013)


@pytest.mark.parametrize("name", HOURLY)
def test_wind_is_in_metres_a_second_at_ten_metres(name):
    series = read(name)
    if "wind_speed" not in series:
        pytest.skip("the sample holds no wind")
    # 1.5 m/s at 2 m is 2.0 m/s at 10 m by FAO-56 equation 47 (0.748).
    expected = 1.5 / 0.748 if name == "power_hourly.json" else 2.0
    wind = series["wind_speed"].to_numpy()
    np.testing.assert_allclose(wind[np.isfinite(wind)], expected, rtol=0.003)


def test_sun_of_power_and_era5_is_the_same_hundred_watts():
    for name in ("power_hourly.csv", "era5.zip"):
        sun = read(name)["shortwave"].to_numpy()
        np.testing.assert_allclose(sun[:47], 100.0, rtol=1e-6)


def test_local_standard_time_comes_from_the_longitude_and_can_be_told():
    told = read("lcd_first.csv", Hints(utc_offset=-5.0))
    assert told["time"].to_numpy()[0] == np.datetime64("2019-01-01T06")
    assert any("UTC+1 h" in r for r in repair_sentences(read("eccc_english.csv")))


def test_zone_name_is_never_used_only_the_seconds():
    payload = json.loads((SAMPLES / "open_meteo.json").read_text(encoding="utf-8"))
    payload["timezone"] = "Asia/Tokyo"
    data = json.dumps(payload).encode()
    series = format_of(data).read(data, HERE)
    assert series["time"].to_numpy()[0] == np.datetime64("2019-01-01T00")


def test_thirteenth_month_is_dropped_and_rain_is_a_month_s_total():
    series = read("power_monthly.json")
    assert series.attrs["step"] == "month"
    assert series.sizes["time"] == 12
    t = series["air_temperature"].to_numpy()
    k = np.arange(20, 32)
    np.testing.assert_allclose(t, 4 + 5 * np.sin(2 * np.pi * (k - 9) / 24), atol=0.006)
    # 14.4 mm/day in the one wet month, the tenth of 31 days (hour 30 is month 10).
    rain = series["precipitation"].to_numpy()
    assert rain[9] == pytest.approx(14.4 * 31)


def test_normals_are_twelve_and_of_no_year():
    series = read("power_normals.json")
    assert series.attrs["kind"] == "normals"
    assert series["time"].to_numpy()[0] == np.datetime64("2001-01-01")


def test_hourly_normals_turn_to_utc_within_their_year():
    series = read("hourly_normals.csv.gz")
    assert series.attrs["kind"] == "normals"
    assert series.sizes["time"] == 8760
    t = series["air_temperature"].to_numpy()
    assert np.isnan(t[6])
    k = np.arange(8760)
    expected = 4 + 5 * np.sin(2 * np.pi * (k - 9) / 24)
    good = k != 6
    np.testing.assert_allclose(t[good], expected[good], atol=0.03)


def test_letter_marks_of_older_sources_are_kept_and_newer_checks_are_not():
    for name in ("ghcnh_by_station.psv", "ghcnh_by_year.psv"):
        series = read(name)
        t = series["air_temperature"].to_numpy()
        assert np.isnan(t[7])
        assert np.isfinite(t[8]), "C from source 343 means accepted"
    text = (SAMPLES / "ghcnh_by_year.psv").read_text()
    newer = text.replace("|343|", "|401|").encode()
    t = format_of(newer).read(newer, HERE)["air_temperature"].to_numpy()
    assert np.isnan(t[8]), "C from another source failed the climate check"


@pytest.mark.parametrize("name", [*HOURLY, "hourly_normals.csv.gz"])
def test_contract_of_raw_series(name):
    payload = (SAMPLES / name).read_bytes()
    found = [a for start, a in SENT_BY.items() if name.startswith(start)]
    if not found:
        pytest.skip("fixed columns have no archive of their own")
    archive = ARCHIVES[found[0]]
    raw = archive.parse(unpack(payload), HERE)
    stamps = raw["time"].to_numpy()
    assert (np.diff(stamps) >= np.timedelta64(0, "s")).all()
    for variable in raw.data_vars:
        assert raw[variable].attrs["units"] == UNITS[str(variable)]
        assert variable in (*archive.variables, "air_temperature_min")
    humid = raw["relative_humidity"].to_numpy()
    humid = humid[np.isfinite(humid)]
    assert humid.min() > 0
    assert humid.max() < 105
    assert np.isnan(raw["air_temperature"].to_numpy()).sum() == 1
    assert raw.attrs["licence"] == archive.licence
    assert raw.attrs["attribution"] == archive.attribution
    assert raw.attrs["kind"] == archive.kind


@pytest.mark.parametrize(
    "name", sorted(p.name for p in SAMPLES.glob("*") if p.is_file())
)
def test_two_copies_join_to_the_same_series(name):
    if name in ("README.md",) or name.startswith("power_") or "normals" in name:
        pytest.skip("one reply is the whole")
    payload = unpack((SAMPLES / name).read_bytes())
    fmt = format_of(payload)
    found = [a for start, a in SENT_BY.items() if name.startswith(start)]
    if not found:
        pytest.skip("fixed columns have no archive of their own")
    archive = ARCHIVES[found[0]]
    from emcforecast.weather.archives.raw import series_of

    raw = archive.parse(payload, HERE)
    both = series_of(join([raw, raw]), HERE)
    one = fmt.read(payload, HERE)
    warm = np.isfinite(one["air_temperature"].to_numpy())
    for variable in one.data_vars:
        # Humidity without a temperature cannot be averaged, so it may go.
        np.testing.assert_allclose(
            both[variable].to_numpy()[warm], one[variable].to_numpy()[warm], rtol=1e-9
        )


@pytest.mark.parametrize("name", HOURLY)
def test_a_file_cut_anywhere_is_refused_or_read_but_never_crashes(name):
    payload = (SAMPLES / name).read_bytes()
    for share in (0.3, 0.6, 0.97):
        cut = payload[: int(len(payload) * share)]
        refused = None
        try:
            check_contract(read_bytes(cut, name, HERE))
        except InputError as error:
            refused = str(error)
        assert refused is None or "\n" not in refused


def test_header_without_rows_says_so():
    for name in ("ghcnh_by_year.psv", "global_hourly.csv", "lcd_first.csv",
                 "iem_comma.csv", "eccc_english.csv"):  # fmt: skip
        head = (SAMPLES / name).read_bytes().split(b"\n")[0] + b"\n"
        with pytest.raises(ArchiveError, match=r"no rows|longitude|where"):
            format_of(head).read(head, HERE)


def test_several_places_of_one_reply_are_listed_not_guessed():
    one = json.loads((SAMPLES / "open_meteo.json").read_text(encoding="utf-8"))
    two = json.dumps([one, {**one, "latitude": 47.5}]).encode()
    with pytest.raises(ArchiveError, match=r"2 places .*47\.5.*--place"):
        format_of(two).read(two, Hints())
    series = format_of(two).read(two, Hints(place="2"))
    assert series.attrs["latitude"] == 47.5


def test_old_names_of_open_meteo():
    text = (SAMPLES / "open_meteo.json").read_text(encoding="utf-8")
    for new, old in (
        ("relative_humidity_2m", "relativehumidity_2m"),
        ("dew_point_2m", "dewpoint_2m"),
        ("wind_speed_10m", "windspeed_10m"),
    ):
        text = text.replace(new, old)
    data = text.encode()
    series = format_of(data).read(data, HERE)
    assert series["relative_humidity"].to_numpy()[0] == pytest.approx(86, abs=0.5)


def test_error_reply_gives_the_archive_s_reason():
    data = b'{"error":true,"reason":"Latitude must be in range"}'
    with pytest.raises(ArchiveError, match="Latitude must be in range"):
        format_of(data).read(data, HERE)


def test_days_are_rebuilt_into_hours_and_said():
    reply = json.loads((SAMPLES / "power_hourly.json").read_text())
    for column in reply["properties"]["parameter"].values():
        keep = {key[:8]: value for key, value in column.items() if key[8:] == "12"}
        column.clear()
        column.update(keep)
    data = json.dumps(reply).encode()
    series = format_of(data).read(data, HERE)
    assert series.sizes["time"] == 48
    assert any(
        "rebuilt from 2 daily values" in line for line in repair_sentences(series)
    )
    # 4 + 5 sin(45°) °C at noon, here the whole day's mean.
    day = series["air_temperature"].to_numpy()[:24]
    assert day.mean() == pytest.approx(7.54, abs=0.05)


@pytest.mark.parametrize("mark", ["utf-16", "utf-8-sig", "cp1252"])
def test_encodings(mark):
    text = (SAMPLES / "eccc_english.csv").read_text(encoding="utf-8-sig")
    data = text.encode(mark)
    series = format_of(data).read(data, HERE)
    assert series.sizes["time"] == 48


def test_six_hours_of_rain_are_shared_out_where_no_hour_tells():
    rows = []
    for k in range(12):
        six = 36 if k == 6 else -9999
        one = 5 if k == 11 else -9999
        values = (100, 50, 10130, 180, 20, -9999, one, six)
        rows.append(f"2019 01 01 {k:02d}" + "".join(f"{v:6d}" for v in values))
    data = ("\n".join(rows) + "\n").encode()
    series = format_of(data).read(data, HERE)
    rain = np.nan_to_num(series["precipitation"].to_numpy())
    # 3.6 mm by 06:00 fell in the hours from 00:00, 0.6 mm in each; 0.5 mm at ten.
    np.testing.assert_allclose(rain, [0.6] * 6 + [0] * 4 + [0.5, 0])
    assert "1 total of 6 hours of rain shared out evenly" in repair_sentences(series)


def test_six_hours_of_rain_keep_their_sum_where_an_hour_has_several_reports():
    times = [f"{k:02d}:53" for k in range(12)]
    times[2:2] = ["02:10", "02:30"]
    rows = ["STATION,DATE,TMP,DEW,AA1"] + [
        f'72530094846,2019-01-01T{at}:00,"+0100,1","+0050,1",'
        + ('"06,0036,9,1"' if at == "05:53" else '""')
        for at in times
    ]
    data = ("\n".join(rows) + "\n").encode()
    series = format_of(data).read(data, HERE)
    rain = np.nan_to_num(series["precipitation"].to_numpy())
    np.testing.assert_allclose(rain, [0.6] * 6 + [0] * 6)


def test_a_row_with_a_cell_less_is_left_out_and_said():
    """Else what stands behind the lost cell would stand under the wrong name."""
    lines = (SAMPLES / "open_meteo.csv").read_text(encoding="utf-8").split("\n")
    row = next(k for k, line in enumerate(lines) if line.startswith("time,")) + 3
    cells = lines[row].split(",")
    lines[row] = ",".join([cells[0], *cells[2:]])
    whole = read("open_meteo.csv")
    cut = format_of("\n".join(lines).encode()).read("\n".join(lines).encode(), HERE)
    assert any("broken line left out" in said for said in repair_sentences(cut))
    hour = whole["time"].to_numpy()[2]
    assert not np.isfinite(cut["relative_humidity"].sel(time=hour))
    others = cut["time"].to_numpy()[cut["time"].to_numpy() != hour][:20]
    for name in ("air_temperature", "relative_humidity"):
        np.testing.assert_array_equal(
            cut[name].sel(time=others), whole[name].sel(time=others)
        )


def test_normals_that_lack_a_month_are_refused():
    reply = json.loads((SAMPLES / "power_normals.json").read_text())
    held = reply["properties"]["parameter"]
    name = next(name for name in held if name.startswith("RH2M"))
    for value in (-999.0, "none"):
        held[name]["MAR"] = value
        with pytest.raises(ArchiveError, match="no relative humidity in month 3"):
            read_bytes(json.dumps(reply).encode(), "normals.json", HERE)
