"""Real replies, where the folder beside the project has them.

Values beside each check were read off the raw file by eye.
"""

from pathlib import Path

import numpy as np
import pytest

from emcforecast.errors import ArchiveError
from emcforecast.weather.archives.registry import FORMATS
from emcforecast.weather.formats.content import unpack
from emcforecast.weather.hints import Hints
from emcforecast.weather.repairs import RepairKind, repair, repairs_of

SHARED = Path(__file__).parents[2] / "../shared/archives"
pytestmark = pytest.mark.skipif(not SHARED.is_dir(), reason="no real replies here")


def read(name, **hints):
    payload = unpack((SHARED / name).read_bytes())
    (fmt,) = [f for f in FORMATS if f.sniff(payload[:65536], "x")]
    return fmt.read(payload, Hints(**hints))


def at(series, when, name):
    return float(series[name].sel(time=np.datetime64(when)))


# file, hour UTC, °C, % RH, tolerance of RH (its printing, or 1 % from a dew point)
VALUES = [
    ("open_meteo_archive_berlin_2024-03-11.json", "2024-03-11T16", 12.3, 73, 1e-9),
    # The line 2014 12 31 23 says -76 and -197: 37.3 % by the WMO formula.
    ("isd_lite_725755-24101-2014.txt", "2014-12-31T23", -7.6, 37.3, 0.1),
    ("isd_lite_725755-24101-2014.txt", "2014-01-01T01", -1.1, 79.4, 1.0),
    ("dwd_stundenwerte_TU_akt.zip", "2018-09-15T03", 13.6, 95, 1e-9),
    ("dwd_stundenwerte_TD_akt.zip", "2020-05-29T15", 21.6, 21.2, 1.0),
    ("meteostat_json_api_16230_20140529.json", "2014-05-29T05", 14.7, 88, 1e-9),
    ("ghcnh_FPI0000NTAT_por.psv", "2014-04-08T15", 25.9, 59, 1e-9),
    ("ghcnh_USW00013967_por.psv", "2023-01-12T08", 4.0, 70, 1e-9),
    ("iem_asos_vohy_2014_all.tsv", "2014-03-01T03", 25.0, 61.13, 1e-9),
    # 18 h local standard time is 2 h UTC of the next day.
    ("eccc_hourly_prince_george_2021-04.csv", "2021-05-01T02", 8.9, 78, 1e-9),
    ("lcd_hourly_lebanon_nh_2022_subset.csv", "2022-01-01T05", 1.6667, 93, 1e-9),
    # q 8.51 g/kg, 102.79 kPa, 16.02 °C.
    (
        "nasa_power_hourly_35.94N_14.38E_2025_excerpt.csv",
        "2025-01-01T16",
        16.02,
        76.8,
        1,
    ),
    ("isd_raw_fixed_024130-99999-2016.gz", "2016-01-01T00", -2.2, 88.5, 1.0),
]


@pytest.mark.parametrize(("name", "when", "t", "rh", "near"), VALUES)
def test_value(name, when, t, rh, near):
    series = read(name)
    assert at(series, when, "air_temperature") == pytest.approx(t, abs=0.005)
    assert at(series, when, "relative_humidity") == pytest.approx(rh, abs=near)


REFUSED = [
    ("dwd_stundenwerte_FF_akt.zip", "neither temperature nor humidity"),
    ("iem_asos_all_reports_2024-03-01.tsv", "no parsed temperatures"),
    ("iem_asos_no_data.tsv", "no rows"),
    ("nasa_power_climatology_ag_point.csv", "no humidity"),
    ("open_meteo_archive_brasilia_t_only_local_tz.json", "no humidity"),
    ("open_meteo_archive_brasilia_daily.json", "no humidity"),
    ("open_meteo_geocoding_search-3581ca.json", "list of places"),
    ("open_meteo_geocoding_search-93c3e8.json", "found none"),
]


@pytest.mark.parametrize(("name", "why"), REFUSED)
def test_refused_for_the_right_reason(name, why):
    with pytest.raises(ArchiveError, match=why) as caught:
        read(name)
    assert "\n" not in str(caught.value)


def test_bad_marks_are_counted():
    repairs = repairs_of(read("isd_global_hourly_00702699999_2017.csv"))
    # Counted in the file with a text search: TMP with 2, 3, 6 or 7 after its comma.
    text = (SHARED / "isd_global_hourly_00702699999_2017.csv").read_text()
    import re

    marked = len(re.findall(r'"[+-](?!9999)\d{4},[2367]","[+-]\d{4},', text))
    assert repair(RepairKind.MARKED_BAD, marked, column="TMP") in repairs


def test_other_formats_are_left_to_their_own_readers():
    for name in ("epw_chicago_ohare_tmy3.epw", "pvgis_tmy_45N_8E_v5_3.csv",
                 "tmy3_greensboro_723170TYA.csv", "pvgis_hourly_45N_8E_2016.csv",
                 "user_csv_newark_fahrenheit_2013q1.csv",
                 "cru_ts4.01_tmp_only_1901-2016.nc"):  # fmt: skip
        head = (SHARED / name).read_bytes()[:65536]
        assert not [fmt.name for fmt in FORMATS if fmt.sniff(head, name)]


def test_daily_values_keep_their_mean_and_range():
    series = read("nasa_power_daily_ag_point.csv")
    t = series["air_temperature"].to_numpy()
    # -24.36 °C, lowest -25.37, highest -22.7, 92.61 %.
    assert t.mean() == pytest.approx(-24.36, abs=0.2)
    assert t.max() - t.min() == pytest.approx(2.67, abs=0.3)
    assert series["relative_humidity"].to_numpy().mean() == pytest.approx(92.6, abs=1)


def test_a_missing_last_day_stays_missing():
    series = read("nasa_power_daily_12.4N_75.7E_2025-09.json")
    t = series["air_temperature"].to_numpy()
    assert np.isnan(t[-24:]).all()
    assert t[:24].mean() == pytest.approx(23.03, abs=0.1)
    rain = series["precipitation"].to_numpy()
    assert rain[24:48].sum() == pytest.approx(10.3, abs=0.01)
