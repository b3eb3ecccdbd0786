"""Weather in memory: which column holds what, in which unit, and what cannot be."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr

from emcforecast import bounds
from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.formats.cf import quantity_of
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES
from emcforecast.weather.formats.headers import read_header
from emcforecast.weather.series import STEPS, VARIABLES

if TYPE_CHECKING:
    import pandas as pd

UNITS_ASKED = {
    "air_temperature": "degC",
    "dew_point": "degC",
    "wet_bulb": "degC",
    "relative_humidity": "%",
    "vapour_pressure": "hPa",
    "pressure": "hPa",
    "specific_humidity": "kg/kg",
    "mixing_ratio": "kg/kg",
    "precipitation": "mm",
    "wind_speed": "m/s",
    "eastward_wind": "m/s",
    "northward_wind": "m/s",
    "shortwave": "W/m2",
}
"""What can be accepted, and the unit that a refusal gives as an example."""
_HEADER_UNITS = {"C": "degC", "F": "degF", "percent": "%", "fraction": "1"}


def quantities_of(
    data: Any, units: Mapping[str, str], columns: Mapping[str, str]
) -> tuple[xr.Dataset, dict[str, str]]:
    """Return the variables with their units, and which holds each quantity."""
    pandas = sys.modules.get("pandas")
    if isinstance(data, xr.Dataset):
        dataset, names = data, _variables_of(data)
    elif pandas is not None and isinstance(data, pandas.DataFrame):
        dataset, names = _of_frame(data)
    else:
        raise WeatherError(
            _(
                "weather is a Dataset or a DataFrame, not {type}; "
                "read_weather(path) reads files",
                type=type(data).__name__,
            )
        )
    chosen = _chosen(dataset, names, columns)
    known = {*map(str, dataset.data_vars), *chosen}
    for name in units:
        if name not in known:
            raise WeatherError(
                _(
                    "units names '{name}', which is not among the columns: {names}",
                    name=name,
                    names=", ".join(map(str, dataset.data_vars))[:200],
                )
            )
    stated: dict[str, xr.DataArray] = {}
    for quantity, name in chosen.items():
        attrs = dataset[name].attrs
        unit = units.get(name, units.get(quantity, attrs.get("units")))
        if unit is None or not str(unit).strip():
            raise WeatherError(
                _(
                    "{name} does not say its unit; give it, as in "
                    "units={{'{name}': '{allowed}'}}",
                    name=name,
                    allowed=UNITS_ASKED[quantity],
                )
            )
        if unit != attrs.get("units"):
            stated[name] = dataset[name].assign_attrs(units=str(unit))
    return dataset.assign(stated) if stated else dataset, chosen


def _variables_of(data: xr.Dataset) -> dict[str, list[str]]:
    """Return the variables of a Dataset by what they hold."""
    found: dict[str, list[str]] = {}
    for key, variable in data.data_vars.items():
        quantity = str(key) if key in VARIABLES else quantity_of(str(key), variable)
        if quantity in UNITS_ASKED and variable.ndim > 0:
            found.setdefault(quantity, []).append(str(key))
    return found


def _of_frame(data: pd.DataFrame) -> tuple[xr.Dataset, dict[str, list[str]]]:
    """Return the columns of a DataFrame as variables, and what they hold."""
    import pandas as pd

    index = data.index
    if not isinstance(index, pd.DatetimeIndex):
        raise WeatherError(
            _(
                "the index is a {type}; a DatetimeIndex in UTC is needed: "
                "data.set_index(pd.to_datetime(data['time'], utc=True))",
                type=type(index).__name__,
            )
        )
    if index.tz is not None:
        index = index.tz_convert("UTC").tz_localize(None)
    said = data.attrs.get("units")
    said = said if isinstance(said, Mapping) else {}
    found: dict[str, list[str]] = {}
    variables: dict[str, xr.DataArray] = {}
    for place, column in enumerate(data.columns):
        name = str(column)
        if name in variables:
            raise WeatherError(
                _("two columns are called '{name}'; rename one", name=name)
            )
        header = read_header(name)
        unit = said.get(column, _HEADER_UNITS.get(header.unit or "", header.unit))
        values = data.iloc[:, place]
        quantity = name if name in VARIABLES else header.quantity
        if values.dtype.kind not in "fiu":
            if quantity in UNITS_ASKED:
                raise WeatherError(
                    _(
                        "column '{name}' holds {dtype}, not numbers; convert it: "
                        "pd.to_numeric(data['{name}'], errors='coerce'), or drop it",
                        name=name,
                        dtype=values.dtype,
                    )
                )
            continue
        variables[name] = xr.DataArray(
            values.to_numpy(dtype=np.float64), dims="time", attrs={"units": unit or ""}
        )
        if quantity in UNITS_ASKED:
            found.setdefault(quantity, []).append(name)
    coords = {"time": index.to_numpy().astype("datetime64[ns]")}
    kept = {str(k): v for k, v in data.attrs.items() if k != "units"}
    return xr.Dataset(variables, coords=coords, attrs=kept), found


def _chosen(
    dataset: xr.Dataset, names: Mapping[str, list[str]], columns: Mapping[str, str]
) -> dict[str, str]:
    """Return the one variable for each quantity that there is."""
    for quantity, name in columns.items():
        if quantity not in UNITS_ASKED:
            raise WeatherError(
                _(
                    "'{quantity}' in columns is not known; one of {allowed}",
                    quantity=quantity,
                    allowed=", ".join(UNITS_ASKED),
                )
            )
        if name not in dataset.data_vars:
            raise WeatherError(
                _(
                    "there is no column '{name}' of numbers; there are {names}",
                    name=name,
                    names=", ".join(map(str, dataset.data_vars))[:200],
                )
            )
    for quantity, several in names.items():
        if len(several) > 1 and quantity not in (*columns, *several):
            raise WeatherError(
                _(
                    "several columns may be the {quantity}: {several}; choose "
                    "one: columns={{'{quantity}': '{several2}'}}",
                    quantity=quantity,
                    several=", ".join(several),
                    several2=several[0],
                )
            )
    chosen = {
        quantity: quantity if quantity in several else several[0]
        for quantity, several in names.items()
    }
    chosen |= columns
    have = ", ".join(map(str, dataset.data_vars))[:200] or "none"
    if "air_temperature" not in chosen:
        raise WeatherError(
            _(
                "no column is known as the air temperature (columns: "
                "{have}); say columns={{'air_temperature': NAME}}",
                have=have,
            )
        )
    if not set(chosen) & set(HUMIDITY_MEASURES):
        raise WeatherError(
            _(
                "no column tells the humidity (columns: {have}); relative "
                "humidity, dew point, vapour pressure or specific humidity "
                "is needed",
                have=have,
            )
        )
    return chosen


if TYPE_CHECKING:
    from emcforecast.weather.formats.parsed import Parsed


IN_SERIES = {**UNITS_ASKED, "vapour_pressure": "Pa", "pressure": "Pa"}
"""Units in which values are held against what is possible."""
MOST_SPECIFIC = 0.1
"""kg/kg; no air near the ground holds more water."""


def time_of(dataset: xr.Dataset, main: xr.DataArray) -> xr.DataArray:
    """Return the coordinate of time along which the temperature changes."""
    for name in main.dims:
        if name in dataset.coords and dataset[name].dtype.kind == "M":
            return dataset[name]
    odd = [n for n in main.dims if n in dataset.coords and dataset[n].dtype.kind == "O"]
    if odd:
        raise WeatherError(
            _(
                "'{odd}' counts in another calendar; convert it first: "
                "data.convert_calendar('standard')",
                odd=odd[0],
            )
        )
    raise WeatherError(
        _(
            "{variable} has no coordinate of times (its dimensions: "
            "{names}); datetime64 in UTC is needed",
            variable=main.name,
            names=", ".join(map(str, main.dims)) or "none",
        )
    )


def require_regular(times: xr.DataArray, said: object = None) -> str:
    """Return "hour" or "month"; refuse times that are not all of them in a row."""
    step = _regular_step(times)
    if said in STEPS and said != step:
        raise WeatherError(
            _(
                "the attribute step says '{said}', but there is a row for "
                "each {step}; correct it or leave it out",
                said=said,
                step=step,
            )
        )
    return step


def _regular_step(times: xr.DataArray) -> str:
    stamps: TimeArray = times.to_numpy().astype("datetime64[ns]")
    if stamps.size < 2:
        raise WeatherError(
            _(
                "the data hold {count} time; a series of at least weeks is needed",
                count=stamps.size,
            )
        )
    if np.isnat(stamps).any():
        raise WeatherError(
            _(
                "rows without a time ({count}); drop them first",
                count=int(np.isnat(stamps).sum()),
            )
        )
    gaps = np.diff(stamps)
    if (gaps < np.timedelta64(0, "s")).any():
        first = stamps[1:][gaps < np.timedelta64(0, "s")][0]
        raise WeatherError(
            _(
                "times are not in order ({time} comes late); sort them: "
                "data.sort_index() or data.sortby('time')",
                time=_minute(first),
            )
        )
    if (gaps == np.timedelta64(0, "s")).any():
        first = stamps[1:][gaps == np.timedelta64(0, "s")][0]
        raise WeatherError(
            _("time {time} comes twice; keep one row of it", time=_minute(first))
        )
    usual = float(np.median(gaps) / np.timedelta64(1, "h"))
    if 27 * 24 <= usual <= 32 * 24:
        return _require_months(stamps)
    if usual < 0.999:
        raise WeatherError(
            _(
                "rows are {minutes:g} minutes apart; make hours of them: "
                "data.resample('1h').mean(), but .sum() for rain",
                minutes=60 * usual,
            )
        )
    if usual > 1.001:
        apart = f"{usual:g} hours" if usual < 24 else f"{usual / 24:g} days"
        raise WeatherError(
            _(
                "rows are {apart} apart; hours or months are needed "
                "(read_weather makes hours of daily files)",
                apart=apart,
            )
        )
    return _require_hours(stamps, gaps)


def _require_hours(stamps: TimeArray, gaps: Any) -> str:
    hours = stamps.astype("datetime64[h]")
    off = stamps != hours
    if off.any():
        raise WeatherError(
            _(
                "the time {time} is not on the hour; a row is of the hour "
                "that begins at its time: use data.index.floor('h')",
                time=_minute(stamps[off][0]),
            )
        )
    left_out = int((gaps / np.timedelta64(1, "h")).sum()) - gaps.size
    if left_out:
        first = stamps[:-1][gaps > np.timedelta64(1, "h")][0]
        raise WeatherError(
            _(
                "hours are left out ({left_out}, the first after {time}); "
                "put them in, empty: data.asfreq('h') or "
                "data.resample(time='1h').asfreq()",
                left_out=left_out,
                time=_minute(first),
            )
        )
    return "hour"


def _require_months(stamps: TimeArray) -> str:
    months = stamps.astype("datetime64[M]")
    if (months.astype(stamps.dtype) != stamps).any():
        raise WeatherError(
            _(
                "months must be stamped on their first day, not {time}: "
                "data.index.to_period('M').to_timestamp()",
                time=_minute(stamps[0]),
            )
        )
    steps = np.diff(months).astype(np.int64)
    if (steps != 1).any():
        raise WeatherError(
            _(
                "the month after {months} is left out; put it in",
                months=months[:-1][steps != 1][0],
            )
        )
    return "month"


def _minute(stamp: Any) -> str:
    return str(np.datetime64(stamp, "m")).replace("T", " ")


def require_possible(
    parsed: Parsed, step: str, dataset: xr.Dataset, chosen: Mapping[str, str]
) -> None:
    """Refuse values that no weather has, and variables that no unit fits."""
    limits = {
        **bounds.WEATHER,
        "relative_humidity": (0.0, bounds.WEATHER["relative_humidity"][1]),
        "precipitation": (0.0, bounds.MOST_RAIN[step]),
        **dict.fromkeys(("dew_point", "wet_bulb"), bounds.WEATHER["air_temperature"]),
        **dict.fromkeys(("specific_humidity", "mixing_ratio"), (0.0, MOST_SPECIFIC)),
        "vapour_pressure": (0.0, 15000.0),
        "pressure": (40000.0, 110000.0),
    }
    for quantity, values in parsed.quantities.items():
        name = chosen.get(quantity, quantity)
        unit = dataset[name].attrs["units"] if name in dataset else "m/s"
        if np.isnan(values).all() and name in dataset and dataset[name].count():
            raise WeatherError(
                _(
                    "{name} has the unit '{unit}', which is not known for it; "
                    "give it in {allowed}, or leave it out",
                    name=name,
                    unit=unit,
                    allowed=UNITS_ASKED[quantity],
                )
            )
        low, high = limits[quantity]
        bad = (values < low) | (values > high)
        if bad.any():
            raise WeatherError(
                _(
                    "{name} in '{unit}' comes to {value:g} {unit2}, which is "
                    "outside {low:g} to {high:g}; check its unit",
                    name=name,
                    unit=unit,
                    value=values[bad][0],
                    unit2=IN_SERIES[quantity],
                    low=low,
                    high=high,
                )
            )
    _require_percent(parsed.quantities.get("relative_humidity"), dataset, chosen)


def _require_percent(
    humidity: FloatArray | None, dataset: xr.Dataset, chosen: Mapping[str, str]
) -> None:
    """Refuse per cent that are called a fraction."""
    if humidity is None:
        return
    given = dataset[chosen["relative_humidity"]]
    if str(given.attrs["units"]).strip() in ("%", "percent", "pct"):
        return
    most = float(np.nanmax(given.to_numpy()))
    if most > 1.5:
        raise WeatherError(
            _(
                "{given} is said to be a fraction ('{units}') but reaches "
                "{most:g}; give its unit as '%'",
                given=given.name,
                units=given.attrs["units"],
                most=most,
            )
        )


def require_kept(parsed: Parsed, series: xr.Dataset) -> None:
    """Refuse humidities that cannot belong to their temperatures."""
    known = np.isfinite(parsed.quantities["air_temperature"])
    told = np.zeros(known.shape, dtype=bool)
    for name in HUMIDITY_MEASURES:
        if name in parsed.quantities:
            told |= np.isfinite(parsed.quantities[name])
    lost = known & told & np.isnan(series["relative_humidity"].to_numpy())
    if lost.any():
        row = int(np.flatnonzero(lost)[0])
        raise WeatherError(
            _(
                "{count} rows have a humidity that cannot be at their "
                "temperature, the first {time} at {air_temperature:g} °C; "
                "check the units of both",
                count=int(lost.sum()),
                time=_minute(parsed.time[row]),
                air_temperature=parsed.quantities["air_temperature"][row],
            )
        )


def require_point(
    main: xr.DataArray, time: str, where: Mapping[str, float | None]
) -> None:
    """Refuse a grid of which no point is named."""
    wide = [str(dim) for dim in main.dims if dim != time and main.sizes[dim] > 1]
    if wide and None in (where["latitude"], where["longitude"]):
        raise WeatherError(
            _(
                "the data hold many places (along {wide}); give latitude= "
                "and longitude=, or choose one with data.sel(…)",
                wide=", ".join(wide),
            )
        )
