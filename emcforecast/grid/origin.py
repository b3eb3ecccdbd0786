"""Where gridded weather comes from and what it is, as its files say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import xarray as xr

from emcforecast.errors import WeatherError
from emcforecast.grid.series import GRID_KINDS
from emcforecast.grid.times import is_forecast
from emcforecast.language import _, did_you_mean
from emcforecast.weather.archives import era5
from emcforecast.weather.series import CONVENTIONS

_MODEL = (
    "mip_era",
    "experiment_id",
    "experiment",
    "parent_experiment_id",
    "driving_model_id",
)
LONGEST = 120


def origin_of_files(
    files: Sequence[xr.Dataset], shown: Sequence[str], step: str, kind: str | None
) -> dict[str, Any]:
    """Return the attributes of origin of a grid series: source, kind, terms of use."""
    if kind is not None and kind not in GRID_KINDS:
        raise WeatherError(
            _(
                "kind '{kind}' is not known.{near} One of {known}",
                kind=kind,
                near=did_you_mean(kind, GRID_KINDS),
                known=", ".join(GRID_KINDS),
            )
        )
    attrs = [ds.attrs for ds in files]
    model = _said(attrs, "source_id", "model_id")
    title = model or _said(attrs, "title", "institution", "source")
    if model:
        title = " ".join(dict.fromkeys([model, *_all(attrs, "experiment_id")]))
    names = ", ".join(dict.fromkeys(shown))
    source = f"{title}: {names}" if title else names
    licence, attribution = _said(attrs, "license", "licence", "rights"), ""
    if _is_era5(attrs):
        licence = licence or era5.ORIGIN.licence
        attribution = era5.ORIGIN.attribution
    return {
        "Conventions": CONVENTIONS,
        "kind": kind or _kind(files, attrs, step),
        "source": _cut(source),
        "licence": licence[:300],
        "attribution": attribution or _said(attrs, "attribution", "acknowledgment"),
    }


def _kind(
    files: Sequence[xr.Dataset], attrs: Sequence[dict[Any, Any]], step: str
) -> str:
    if step == "climatology":
        return "normals"
    if any(key in held for held in attrs for key in _MODEL):
        return "climate model"
    return "forecast" if any(is_forecast(ds) for ds in files) else "reanalysis"


def _said(attrs: Sequence[dict[Any, Any]], *names: str) -> str:
    for name in names:
        for held in attrs:
            for key, value in held.items():
                if str(key).lower() == name and str(value).strip():
                    return " ".join(str(value).split())[:300]
    return ""


def _all(attrs: Sequence[dict[Any, Any]], name: str) -> list[str]:
    return [str(held[name])[:40] for held in attrs if held.get(name)]


def _is_era5(attrs: Sequence[dict[Any, Any]]) -> bool:
    return any(
        held.get("GRIB_centre") == "ecmf"
        or "grib_to_netcdf" in str(held.get("history", ""))
        for held in attrs
    )


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"
