"""The weather series: the one shape of weather every reader must deliver."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast import bounds
from emcforecast._types import FloatArray
from emcforecast.errors import ContractError
from emcforecast.language import _
from emcforecast.weather.repairs import Repair, repairs_of, repairs_to_text

#: Name, unit and long name of every variable a series may hold.
VARIABLES: dict[str, tuple[str, str]] = {
    "air_temperature": ("degC", "air temperature"),
    "relative_humidity": ("%", "relative humidity over liquid water"),
    "precipitation": ("mm", "precipitation within the step"),
    "wind_speed": ("m s-1", "wind speed at 10 m"),
    "shortwave": ("W m-2", "sun on the horizontal, mean over the step"),
}
#: CF standard names. Rain is a depth here: CF counts "precipitation_amount" in kg m-2.
STANDARD_NAMES: dict[str, str] = {
    "air_temperature": "air_temperature",
    "relative_humidity": "relative_humidity",
    "precipitation": "lwe_thickness_of_precipitation_amount",
    "wind_speed": "wind_speed",
    "shortwave": "surface_downwelling_shortwave_flux_in_air",
}
CONVENTIONS = "CF-1.11"
MARK = "emcforecast_series"
"""Global attribute of a written file that holds all others, exactly."""
TIME_ATTRS = {"standard_name": "time", "long_name": "start of interval, UTC"}
REQUIRED = ("air_temperature", "relative_humidity")
STEPS = ("hour", "month")
KINDS = (
    "observed",
    "reanalysis",
    "typical year",
    "normals",
    "logger",
    "demonstration",
    "forecast",
)
#: Kinds that are one artificial year: no year-to-year range may be read off them.
ONE_YEAR_KINDS = ("typical year", "normals")
#: The nominal year given to a typical year and to monthly normals.
NOMINAL_YEAR = 2001

_HOUR_NS = 3_600_000_000_000
_RANGES = {"relative_humidity": (0.0, 100.0), "precipitation": (0.0, np.inf)}
_PLACE = {**bounds.PLACE, "longitude": (-180, 180)}


def _quiet(values: npt.ArrayLike) -> FloatArray:
    """Return numbers whose missing ones are plain NaN.

    A damaged file may hold one of the signalling kind, which warns at every use.
    """
    found = np.ascontiguousarray(values, dtype=np.float64)
    return np.where(np.isnan(found), np.nan, found)


def make_series(
    time: npt.ArrayLike,
    variables: Mapping[str, npt.ArrayLike],
    *,
    step: str,
    kind: str,
    source: str,
    repairs: Iterable[Repair] | str = (),
    licence: str = "",
    attribution: str = "",
    retrieved: str = "",
    latitude: float | None = None,
    longitude: float | None = None,
    elevation: float | None = None,
    utc_offset: float | None = None,
    **extra: Any,
) -> xr.Dataset:
    """Build a weather series and hold it to the contract.

    Parameters
    ----------
    time : array_like of datetime64, shape (n,)
        Start of each interval, UTC; sorted, unique, regular.
    variables : mapping of str to array_like, shape (n,)
        ``air_temperature`` (°C) and ``relative_humidity`` (% over liquid water);
        optionally ``precipitation`` (mm per step), ``wind_speed`` (m/s at 10 m)
        and ``shortwave`` (W/m² on the horizontal).
    step : {"hour", "month"}
        Length of an interval.
    kind : str
        One of `KINDS`.
    source : str
        Where the numbers come from, in words.
    repairs : iterable of Repair, or the text that another series holds
        What was repaired on the way; `emcforecast.weather.repairs.repairs_of` gives
        them back.
    licence, attribution, retrieved : str
        Terms of use, the line to show with every result, and when it was fetched.
    latitude, longitude : float, optional
        Place (degrees north and east); left out when unknown.
    elevation : float, optional
        Height above the sea (m).
    utc_offset : float, optional
        Local standard time minus UTC (h).
    **extra
        Further plain attributes, kept as they are.

    Returns
    -------
    xarray.Dataset
        The series.

    Raises
    ------
    ContractError
        When anything breaks the contract.

    Examples
    --------
    >>> ds = make_series(
    ...     ["2001-01-01T00", "2001-01-01T01"],
    ...     {"air_temperature": [1.0, 2.0], "relative_humidity": [80.0, 75.0]},
    ...     step="hour",
    ...     kind="observed",
    ...     source="a notebook",
    ... )
    >>> ds["air_temperature"].attrs["units"]
    'degC'
    """
    unknown = sorted(set(variables) - set(VARIABLES))
    if unknown:
        raise ContractError(
            _(
                "variable '{unknown}' is not part of a weather series; "
                "allowed: {known}",
                unknown=unknown[0],
                known=", ".join(VARIABLES),
            )
        )
    stamps = np.asarray(time, dtype="datetime64[ns]")
    data = {
        name: (
            "time",
            _quiet(variables[name]),
            cf_attributes(name, step),
        )
        for name in VARIABLES
        if name in variables
    }
    place = {
        "latitude": latitude,
        "longitude": longitude,
        "elevation": elevation,
        "utc_offset": utc_offset,
    }
    attrs: dict[str, Any] = {
        "Conventions": CONVENTIONS,
        "step": step,
        "kind": kind,
        "source": source,
        "licence": licence,
        "attribution": attribution,
        "retrieved": retrieved,
        "repairs": repairs if isinstance(repairs, str) else repairs_to_text(repairs),
        **{name: float(value) for name, value in place.items() if value is not None},
        **extra,
    }
    try:
        ds = xr.Dataset(data, coords={"time": stamps}, attrs=attrs)
    except ValueError as error:
        raise ContractError(
            _(
                "the variables do not match the {count} times: {error}",
                count=stamps.size,
                error=error,
            )
        ) from error
    ds["time"].attrs = dict(TIME_ATTRS)
    check_contract(ds)
    return ds


def cf_attributes(name: str, step: str) -> dict[str, str]:
    """Return the CF attributes of a variable: units, names and cell methods.

    Examples
    --------
    >>> cf_attributes("shortwave", "hour")["cell_methods"]
    'time: mean'
    """
    units, long_name = VARIABLES[name]
    attrs = {
        "units": units,
        "long_name": long_name,
        "standard_name": STANDARD_NAMES[name],
    }
    # An hour's temperature may be a mean or a reading within it: nothing is claimed.
    if name == "precipitation":
        attrs["cell_methods"] = "time: sum"
    elif name == "shortwave" or step == "month":
        attrs["cell_methods"] = "time: mean"
    return attrs


def check_contract(ds: xr.Dataset) -> None:
    """Refuse a dataset that is not a weather series.

    Raises `ContractError`, naming the first broken rule.
    """
    _check_attrs(ds)
    check_time(ds, ds.attrs["step"])
    if ds.attrs["kind"] in ONE_YEAR_KINDS:
        _check_nominal_year(ds)
    for key in ds.data_vars:
        if key not in VARIABLES:
            raise ContractError(
                _("variable '{key}' is not part of a weather series", key=key)
            )
    check_variables(ds)


def check_variables(ds: xr.Dataset, rounding: float = 0.0) -> None:
    """Refuse series variables without their units, or with values that cannot be.

    `rounding` is how far beyond its range a value may lie.
    """
    for name in REQUIRED:
        if name not in ds.variables:
            raise ContractError(
                _(
                    "the series has no {name}; temperature and humidity are both "
                    "needed",
                    name=name,
                )
            )
    for name, (units, _words) in VARIABLES.items():
        variable = ds.variables.get(name)
        if variable is None:
            continue
        require_units(name, variable, units)
        if variable.dims != ("time",) or variable.dtype != np.float64:
            raise ContractError(_("{name} must be float64 along time alone", name=name))
        low, high = _RANGES.get(name, (-np.inf, np.inf))
        values = variable.to_numpy()
        least, most = np.fmin.reduce(values), np.fmax.reduce(values)
        if least < low - rounding or most > high + rounding:
            raise ContractError(
                _(
                    "{name} leaves {low:g} to {high:g} {units}",
                    name=name,
                    low=low,
                    high=high,
                    units=units,
                )
            )
        if np.isinf(least) or np.isinf(most):
            raise ContractError(_("{name} is infinite somewhere", name=name))


def require_units(name: str, variable: xr.Variable | xr.DataArray, units: str) -> None:
    """Refuse a variable in other units than its own; raises `ContractError`."""
    if variable.attrs.get("units") != units:
        raise ContractError(
            _(
                "{name} has units {given!r}; it must be {units}",
                name=name,
                given=variable.attrs.get("units"),
                units=units,
            )
        )


def require_attr(ds: xr.Dataset, name: str, allowed: Sequence[str]) -> None:
    """Refuse an attribute that is none of the words; raises `ContractError`."""
    if ds.attrs.get(name) not in allowed:
        raise ContractError(
            _(
                "{name} {given!r} is not allowed; one of {allowed}",
                name=name,
                given=ds.attrs.get(name),
                allowed=", ".join(allowed),
            )
        )


def _check_attrs(ds: xr.Dataset) -> None:
    for name, allowed in (("step", STEPS), ("kind", KINDS)):
        require_attr(ds, name, allowed)
    if not ds.attrs.get("source"):
        raise ContractError(_("the series does not say its source"))
    try:
        if "repairs" not in ds.attrs:
            raise ValueError("no repairs")
        repairs_of(ds)
    except ValueError as error:
        raise ContractError(
            _("repairs must be the text of a list of repairs, empty if none")
        ) from error
    for name, (low, high) in _PLACE.items():
        value = ds.attrs.get(name)
        if value is not None and not low <= float(value) <= high:
            raise ContractError(
                _(
                    "{name} {value:g} is not within {low:g} to {high:g}",
                    name=name,
                    value=value,
                    low=low,
                    high=high,
                )
            )


def check_time(ds: xr.Dataset, step: str) -> None:
    """Refuse times that are not the starts of all hours, or months, in a row."""
    time = ds.variables.get("time")
    if time is None or "time" not in ds.coords or time.dims != ("time",):
        raise ContractError(_("the series has no time axis"))
    stamps = time.to_numpy()
    if stamps.dtype != np.dtype("datetime64[ns]"):
        raise ContractError(
            _("time is {dtype}; it must be datetime64[ns]", dtype=stamps.dtype)
        )
    if stamps.size == 0:
        raise ContractError(_("the series holds no times"))
    if step == "hour":
        regular = bool((np.diff(stamps.view(np.int64)) == _HOUR_NS).all())
        if regular and stamps.view(np.int64)[0] % _HOUR_NS == 0:
            return
        whole = stamps.astype("datetime64[h]")
    else:
        whole = stamps.astype("datetime64[M]")
        regular = bool((np.diff(whole) == np.timedelta64(1, "M")).all())
    if bool((whole.astype(stamps.dtype) != stamps).any()):
        raise ContractError(_("times must start on the {step}", step=step))
    if step == "month" and (np.diff(whole) > np.timedelta64(0, "M")).all():
        every = np.arange(whole[0], whole[-1] + np.timedelta64(1, "M"))
        lost = every[~np.isin(every, whole)]
        if lost.size:
            raise ContractError(
                _(
                    "{month} is missing between the months; add it, or cut the weather "
                    "there",
                    month=lost[0],
                )
            )
    if not regular:
        raise ContractError(
            _("time must be sorted and unique with no {step} left out", step=step)
        )


def _check_nominal_year(ds: xr.Dataset) -> None:
    stamps = ds.variables["time"].to_numpy()
    first = np.datetime64(f"{NOMINAL_YEAR}-01-01", "ns")
    count = 8760 if ds.attrs["step"] == "hour" else 12
    if stamps[0] != first or stamps.size != count:
        raise ContractError(
            _(
                "a {kind} must be the whole nominal year {year}",
                kind=ds.attrs["kind"],
                year=NOMINAL_YEAR,
            )
        )


def origin_of(series: xr.Dataset) -> dict[str, str]:
    """Where the weather of a series or an air is from, and its terms of use."""
    names = ("source", "licence", "attribution")
    return {name: str(series.attrs[name]) for name in names if series.attrs.get(name)}
