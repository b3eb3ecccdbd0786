"""Climate tables as people have them: months across the page, other languages, fixed
hours."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from emcforecast.errors import WeatherError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.formats.fixed_hours import hour_in
from emcforecast.weather.formats.months import month_numbers
from emcforecast.weather.read import read_weather

OBSERVED = Path(__file__).parents[2] / "data" / "observed"
# A humid temperate valley as an expert sees it: °C and % by month.
T = [1, 3, 8, 14, 18, 23, 25, 24, 20, 14, 8, 3]
RH = [72, 69, 66, 65, 70, 73, 75, 77, 78, 75, 73, 73]

MONTHS = {
    "English": "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec",
    "whole English": "January February March April May June July August September "
    "October November December",
    "Roman": "I II III IV V VI VII VIII IX X XI XII",
    "letters": "J F M A M J J A S O N D",
    "numbers": "1 2 3 4 5 6 7 8 9 10 11 12",
    "German": "Jan. Feb. März April Mai Juni Juli Aug. Sept. Okt. Nov. Dez.",
    "French": "janv. févr. mars avr. mai juin juil. août sept. oct. nov. déc.",
    "Spanish": "enero febrero marzo abril mayo junio julio agosto septiembre octubre "
    "noviembre diciembre",
    "Italian": "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre "
    "ottobre novembre dicembre",
    "Portuguese": "jan fev mar abr mai jun jul ago set out nov dez",
    "Polish": "styczeń luty marzec kwiecień maj czerwiec lipiec sierpień wrzesień "
    "październik listopad grudzień",
    "Czech": "leden únor březen duben květen červen červenec srpen září říjen listopad "
    "prosinec",
    "Russian": "январь февраль март апрель май июнь июль август сентябрь октябрь "
    "ноябрь декабрь",
    "Turkish": "Ocak Şubat Mart Nisan Mayıs Haziran Temmuz Ağustos Eylül Ekim Kasım "
    "Aralık",
    "Finnish": "tammi helmi maalis huhti touko kesä heinä elo syys loka marras joulu",
    "Croatian": "siječanj veljača ožujak travanj svibanj lipanj srpanj kolovoz rujan "
    "listopad studeni prosinac",
    "Greek": "Ιανουάριος Φεβρουάριος Μάρτιος Απρίλιος Μάιος Ιούνιος Ιούλιος Αύγουστος "
    "Σεπτέμβριος Οκτώβριος Νοέμβριος Δεκέμβριος",
    "Norwegian": "januar februar mars april mai juni juli august september oktober "
    "november desember",
    "Japanese": "1月 2月 3月 4月 5月 6月 7月 8月 9月 10月 11月 12月",
}
# Names of months are common knowledge, from memory.


def across(separator, names, *, annual=True, labels=("T (°C)", "RH (%)")):
    tail = ["Year"] * annual
    rows = [
        ["", *names.split(), *tail],
        [labels[0], *map(str, T), *(["13.4"] * annual)],
        [labels[1], *map(str, RH), *(["72"] * annual)],
    ]
    return "\n".join(separator.join(row) for row in rows) + "\n"


def read(tmp_path, text, **hints):
    path = tmp_path / "table.csv"
    path.write_text(text, encoding="utf-8")
    return read_weather(path, **({"latitude": 45.0} | hints))


def assert_normals(ds):
    assert ds.attrs["step"] == "month"
    np.testing.assert_allclose(ds["air_temperature"], T)
    np.testing.assert_allclose(ds["relative_humidity"], RH)


@pytest.mark.parametrize("language", [name for name in MONTHS if name != "letters"])
def test_names_of_months(language):
    names = MONTHS[language].split()
    assert month_numbers(names).tolist() == list(range(1, 13))


@pytest.mark.parametrize("language", MONTHS)
def test_months_across_the_page(tmp_path, language):
    assert_normals(read(tmp_path, across(";", MONTHS[language])))


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("annual", [True, False])
def test_months_across_with_any_separator(tmp_path, separator, annual):
    text = "Climate of a valley town\n\n" + across(
        separator, MONTHS["Roman"], annual=annual
    )
    assert_normals(read(tmp_path, text))


def test_months_across_between_spaces(tmp_path):
    text = across("  ", MONTHS["English"], labels=("Mean temperature C", "Humidity %"))
    assert_normals(read(tmp_path, text))


def test_decimal_commas_and_other_lines_across(tmp_path):
    text = (
        ";I;II;III;IV;V;VI;VII;VIII;IX;X;XI;XII\n"
        "Mittlere Temperatur (°C);" + ";".join(f"{t},0" for t in T) + "\n"
        "Sonnentage;" + ";".join("5" for _ in T) + "\n"
        "Relative Luftfeuchtigkeit (%);" + ";".join(f"{h},0" for h in RH) + "\n"
    )
    assert_normals(read(tmp_path, text))


@pytest.mark.parametrize(
    ("month", "temperature", "humidity"),
    [
        ("Mois", "Température moyenne (°C)", "Humidité relative moyenne (%)"),
        ("Mes", "Temperatura media (°C)", "Humedad relativa (%)"),
        ("Mês", "Temperatura média (°C)", "Umidade relativa (%)"),
        ("Mese", "Temperatura media (°C)", "Umidità relativa (%)"),
        ("Maand", "Gemiddelde temperatuur (°C)", "Relatieve vochtigheid (%)"),
        ("Månad", "Medeltemperatur (°C)", "Relativ fuktighet (%)"),
        ("Miesiąc", "Średnia temperatura (°C)", "Wilgotność względna (%)"),
        ("Měsíc", "Průměrná teplota (°C)", "Relativní vlhkost (%)"),
        ("Hónap", "Középhőmérséklet (°C)", "Páratartalom (%)"),
        ("Месяц", "Средняя температура (°C)", "Относительная влажность (%)"),
        ("Ay", "Ortalama sıcaklık (°C)", "Bağıl nem (%)"),
        ("Μήνας", "Θερμοκρασία (°C)", "Σχετική υγρασία (%)"),
        ("月", "平均気温 (°C)", "平均湿度 (%)"),
        ("월", "평균기온 (°C)", "평균 상대습도 (%)"),
        ("Kuukausi", "Keskilämpötila (°C)", "Suhteellinen kosteus (%)"),
        ("Mjesec", "Temperatura zraka (°C)", "Relativna vlaga (%)"),
        ("Luna", "Temperatura medie (°C)", "Umiditatea relativă (%)"),
        ("Bulan", "Suhu (°C)", "Kelembapan relatif (%)"),
    ],
)
def test_headers_of_other_languages(tmp_path, month, temperature, humidity):
    rows = [f"{k + 1};{T[k]};{RH[k]}" for k in range(12)]
    head = f"{month};{temperature};{humidity}"
    assert_normals(read(tmp_path, "\n".join([head, *rows])))


@pytest.mark.parametrize(
    ("name", "hour"),
    [
        ("Mean 9am relative humidity (%)", 9.0),
        ("RH 3 p.m.", 15.0),
        ("RH 1500", 15.0),
        ("Feuchte 14 Uhr", 14.0),
        ("humidité 15h (%)", 15.0),
        ("RH 09:00", 9.0),
        ("12 am humidity", 0.0),
        ("RH 2 m", None),
        ("Relative humidity 2m", None),
        ("RH (0-100)", None),
        ("T2M", None),
    ],
)
def test_hours_in_the_names_of_columns(name, hour):
    found = hour_in(name)
    assert (found is None) == (hour is None)
    assert found is None or found[0] == hour


def record_of(path):
    """An hourly record as it is written, gaps and all."""
    table = pd.read_csv(path, comment="#", index_col="time_utc", parse_dates=True)
    t, dew = table["temp_c"], table["dew_point_c"]
    # Magnus, as the World Meteorological Organization prints it.
    humid = 100.0 * np.exp(17.62 * dew / (243.12 + dew) - 17.62 * t / (243.12 + t))
    return pd.DataFrame({"t": t, "rh": humid})


def pairs_of(record, utc_offset, afternoon):
    """A climate table of an hourly record: mean extremes, and humidities of 9 h and
    one of the afternoon, local time, month by month."""
    local = (record.index.hour + utc_offset) % 24
    daily = record["t"].resample("D")
    parts = [
        daily.max(),
        daily.min(),
        *(record["rh"][local == h] for h in (9, afternoon)),
    ]
    columns = [part.groupby(part.index.month).mean() for part in parts]
    rows = [
        f"{month}," + ",".join(f"{column[month]:.2f}" for column in columns)
        for month in range(1, 13)
    ]
    head = f"Month,Tmax (C),Tmin (C),RH 9:00 (%),RH {afternoon}:00 (%)"
    return "\n".join([head, *rows])


@pytest.mark.parametrize(
    ("name", "utc_offset", "afternoon", "years"),
    [
        # The middle of two ranges was chosen on these two records,
        ("chicago_ohare_2015_2017", -6, 15, slice("2015", "2017")),
        ("mount_shasta_2015_2017", -8, 15, slice("2015", "2017")),
        # and this one, of interior Alaska (no readings at 15 h), looked at afterwards.
        pytest.param(
            *("northway_2018_2019", -9, 14, slice("2019-01", "2019-12")),
            marks=pytest.mark.xfail(
                strict=True, reason="up to 7.8 % RH off at 63° north, damp in winter"
            ),
        ),
    ],
)
def test_pairs_give_the_day_mean_of_observed_hours(
    tmp_path, name, utc_offset, afternoon, years
):
    """Open hourly records: the mean of all hours of a month from its mean extremes and
    its means at 9 and 15 h. The plain mean of the two is 6 and 10 % RH too low."""
    record = record_of(OBSERVED / f"{name}.csv.gz").loc[years]
    table = read(tmp_path, pairs_of(record, utc_offset, afternoon))
    truth = record["rh"].groupby(record.index.month).mean().to_numpy()
    off = table["relative_humidity"].to_numpy() - truth
    # Printed humidities of climate tables are whole per cents of sensors good to 3 %.
    assert abs(off.mean()) < 3.0
    assert np.abs(off).max() < 5.0


def test_pairs_are_said_and_temperatures_of_the_hours_serve(tmp_path):
    text = (
        "Month,9am Temperature (F),3pm Temperature (F),9am Humidity,3pm Humidity\n"
        + "\n".join(f"{k + 1},59,68,70,50" for k in range(12))
    )
    ds = read(tmp_path, text)
    # 59 °F and 68 °F are 15 and 20 °C; mean 17.5 °C.
    np.testing.assert_allclose(ds["air_temperature"], 17.5)
    assert 55.0 < float(ds["relative_humidity"][0]) < 75.0
    assert "read at 9, 15 o'clock" in " ".join(repair_sentences(ds))


def test_one_quantity_across_is_still_refused(tmp_path):
    text = ";" + MONTHS["Roman"].replace(" ", ";") + "\nT (°C);" + ";".join(map(str, T))
    with pytest.raises(WeatherError, match="humidity"):
        read(tmp_path, text)
