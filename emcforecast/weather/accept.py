"""Weather held in memory, in any units -> a weather series, or one line why not."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeAlias

import xarray as xr

from emcforecast.errors import ContractError, WeatherError
from emcforecast.language import _
from emcforecast.weather.repairs import add_repairs, repairs_of
from emcforecast.weather.series import (
    KINDS,
    MARK,
    VARIABLES,
    check_contract,
    check_time,
    check_variables,
)

if TYPE_CHECKING:
    import pandas as pd

WeatherLike: TypeAlias = "xr.Dataset | pd.DataFrame"
"""What `weather_series` takes."""
KEPT = (
    *("source", "licence", "attribution", "retrieved", "utc_offset", "daily_range"),
    "forecast_from",
)
"""Attributes of a dataset that its series keeps."""
ROUNDING = 1e-6
"""How far the humidity of worked-out air may lie beyond 100 %."""
AT_THE_WOOD = ("surface_transfer", "rain_film", "setting", "title", "written")
"""Attributes of air at the wood that it keeps as well."""


def weather_series(
    data: WeatherLike,
    *,
    units: Mapping[str, str] | None = None,
    columns: Mapping[str, str] | None = None,
    kind: str | None = None,
    source: str | None = None,
    licence: str | None = None,
    attribution: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
    elevation: float | None = None,
    utc_offset: float | None = None,
) -> xr.Dataset:
    """Make a weather series of a Dataset or a DataFrame; refuse what cannot be one.

    Parameters
    ----------
    data : xarray.Dataset or pandas.DataFrame
        Hours or months in a row, stamped with their start, UTC: along the dimension of
        time, or the DatetimeIndex, which is UTC where it has no time zone. Air
        temperature and any one measure of humidity, optionally rain of the step, wind
        at 10 m and sun on the horizontal; other columns are left aside.
    units : mapping of str to str, optional
        Unit of a column or variable, by its name or its quantity. Where left out:
        the attribute ``units`` of the variable, the mapping ``data.attrs["units"]``,
        or the ending of the column's name ("temperature_F", "rh_percent").
        K, degC or degF; % or 1; Pa, hPa or kPa; mm, m or in; m/s, km/h, kn or mph;
        W/m2 or J/m2 a step.
    columns : mapping of str to str, optional
        Column of a quantity where the names leave it open:
        ``{"air_temperature": "T_out"}``.
    kind : str, optional
        One of `emcforecast.weather.series.KINDS`; "observed" of a table.
    source, licence, attribution : str, optional
        Where the numbers are from, the terms of use, and the line to show with results.
    latitude, longitude, elevation : float, optional
        Degrees north and east, m above the sea; of a grid the nearest point is taken.
    utc_offset : float, optional
        Local standard time minus UTC, h; it does not shift the times.

    Returns
    -------
    xarray.Dataset
        The weather series. One that is in the contract already, and of which nothing
        is to be changed, is returned itself.

    Raises
    ------
    WeatherError
        In one line, with what to do: for a unit that is not given or not known, values
        that cannot be in that unit, times that are not all hours or months in a row,
        and data without temperature or humidity.

    Notes
    -----
    Nothing is mended but humidity from 100 to 105 %, which is held at 100; what is
    missing stays missing (NaN). A Dataset in the words of an archive or of CF is read
    by the rules of `read_weather`: ERA5's sums in m and J/m2 are of the hour before
    their stamp, those under our own names of the hour after.

    Examples
    --------
    >>> import pandas as pd
    >>> hours = pd.date_range("2024-01-01", periods=3, freq="h", tz="UTC")
    >>> frame = pd.DataFrame({"temp_F": [32, 41, 50], "rh": [0.8, 0.7, 0.6]}, hours)
    >>> series = weather_series(frame, units={"rh": "1"}, source="notes")
    >>> series["air_temperature"].values.round(1).tolist()
    [0.0, 5.0, 10.0]
    """
    about = {
        "source": source,
        "licence": licence,
        "attribution": attribution,
        "utc_offset": utc_offset,
    }
    place = {"latitude": latitude, "longitude": longitude, "elevation": elevation}
    given = {k: v for k, v in {"kind": kind, **about, **place}.items() if v is not None}
    if isinstance(data, xr.Dataset):
        data = _with_own_attrs(data)
    if isinstance(data, xr.Dataset) and not units and not columns:
        try:
            check_contract(data)
        except ContractError:
            pass
        else:
            return _restated(data, given) if given else data
    from emcforecast.weather.accept_checks import quantities_of

    dataset, chosen = quantities_of(data, units or {}, columns or {})
    stated = {name: value for name, value in given.items() if name not in place}
    return _restated(_converted(dataset, chosen, place, kind), stated)


def air_series(data: WeatherLike) -> xr.Dataset:
    """Return hourly air at the wood, from `air_in` or made of other data.

    Hours in a row with their units are enough: no source or kind is asked for. Raises
    `WeatherError` as `weather_series`.
    """
    if isinstance(data, xr.Dataset):
        try:
            check_time(data, "hour")
            check_variables(data, ROUNDING)
        except ContractError:
            pass
        else:
            return data
    series = weather_series(data)
    kept = {k: v for k, v in data.attrs.items() if k in AT_THE_WOOD}
    return series.assign_attrs(kept) if kept and series is not data else series


def _with_own_attrs(data: xr.Dataset) -> xr.Dataset:
    """Return a Dataset; of a written series, with the series' own attributes."""
    if MARK not in data.attrs:
        return data
    own = data.copy(deep=False)
    own.attrs = json.loads(data.attrs[MARK])
    return own


def _restated(series: xr.Dataset, given: Mapping[str, Any]) -> xr.Dataset:
    """Return a series with other attributes, held to the contract again."""
    if not given:
        return series
    series = series.assign_attrs(given)
    check_contract(series)
    return series


def _converted(
    dataset: xr.Dataset,
    chosen: dict[str, str],
    place: Mapping[str, float | None],
    kind: str | None,
) -> xr.Dataset:
    """Return the series of a dataset whose variables say their units."""
    from emcforecast.weather import accept_checks as checks
    from emcforecast.weather.formats.netcdf import parse_dataset
    from emcforecast.weather.formats.parsed import series_of_parsed
    from emcforecast.weather.hints import make_hints

    attrs = dataset.attrs
    where = {
        name: attrs.get(name) if value is None else value
        for name, value in place.items()
    }
    hints = make_hints(
        kind=kind or (attrs["kind"] if attrs.get("kind") in KINDS else None),
        columns=chosen,
        **where,
    )
    main = dataset[chosen["air_temperature"]]
    times = checks.time_of(dataset, main)
    step = checks.require_regular(times, attrs.get("step"))
    checks.require_point(main, str(times.dims[0]), where)
    parsed = parse_dataset(
        dataset[list(chosen.values())].rename_vars(
            {} if times.name == "time" else {times.name: "time"}
        ),
        hints,
        from_start=tuple(VARIABLES),
    )
    checks.require_possible(parsed, step, dataset, chosen)
    title = str(attrs.get("title", ""))[:80]
    source = str(attrs.get("source") or title or "data without a stated source")
    series = series_of_parsed(parsed, hints, source, kind="observed")
    checks.require_kept(parsed, series)
    kept = {name: attrs[name] for name in KEPT if attrs.get(name) is not None}
    if "license" in attrs and "licence" not in kept:
        kept["licence"] = str(attrs["license"])
    try:
        series = add_repairs(series, *repairs_of(dataset), first=True)
    except ValueError as error:
        raise WeatherError(
            _(
                "the attribute repairs is {repairs!r:.40}, not that of a "
                "weather series; drop it",
                repairs=attrs["repairs"],
            )
        ) from error
    return _restated(series, kept)
