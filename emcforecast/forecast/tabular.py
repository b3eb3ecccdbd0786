"""Results as labelled arrays, as tables and as a few lines of text."""

from collections.abc import Mapping, Sequence
from html import escape
from typing import TYPE_CHECKING, Any

from emcforecast._types import FloatArray
from emcforecast.weather.series import CONVENTIONS

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

PERCENT = "% of oven-dry mass"

Variable = tuple[str | tuple[str, ...], FloatArray, dict[str, str]]
"""Dimensions, values, attributes: what `xarray.Dataset` takes."""


class Tabular:
    """A result that turns into a Dataset, a DataFrame and short text.

    A subclass says its `_variables`, `_coordinates`, `_attributes` and `_summary`.
    """

    def _variables(self) -> dict[str, Variable]:
        raise NotImplementedError

    def _coordinates(self) -> dict[str, Any]:
        raise NotImplementedError

    def _attributes(self) -> Mapping[str, Any]:
        raise NotImplementedError

    def _summary(self) -> tuple[str, Sequence[tuple[str, str]]]:
        """Return a head, and rows of a name and a value."""
        raise NotImplementedError

    def to_dataset(self) -> "xr.Dataset":
        """Return the result as an xarray Dataset with CF attributes.

        Returns
        -------
        Dataset
            Units and long names on every variable; source, licence and attribution of
            the weather among the attributes. `to_netcdf` keeps all of it.
        """
        import xarray as xr

        said = {k: v for k, v in self._attributes().items() if v is not None}
        return xr.Dataset(
            self._variables(),
            coords=self._coordinates(),
            attrs={"Conventions": CONVENTIONS, **said},
        )

    def to_dataframe(self) -> "pd.DataFrame":
        """Return the variables of all dimensions as a table, one row a point.

        Returns
        -------
        DataFrame
            ``attrs["units"]`` maps each column to its unit.
        """
        dataset = self.to_dataset()
        whole = [
            k for k, v in dataset.data_vars.items() if len(v.dims) == len(dataset.sizes)
        ]
        frame = dataset[whole].to_dataframe().reset_index()
        frame.attrs = {"units": {str(k): dataset[k].attrs["units"] for k in whole}}
        return frame

    def __repr__(self) -> str:
        """Return a head and a line for each row of the summary."""
        head, rows = self._summary()
        lines = [f"  {name}: {value}" for name, value in rows]
        return "\n".join([f"<{type(self).__name__}: {head}>", *lines])

    def _repr_html_(self) -> str:
        """Return the same as a small table, for notebooks."""
        head, rows = self._summary()
        cells = "".join(
            f"<tr><th>{escape(name)}</th><td>{escape(value)}</td></tr>"
            for name, value in rows
        )
        title = f"{type(self).__name__}: {head}"
        return f"<table><caption>{escape(title)}</caption>{cells}</table>"


def of_wood(title: str) -> dict[str, str]:
    """Attributes of a moisture content of wood, for which CF has no standard name."""
    return {"units": "%", "long_name": f"{title}, {PERCENT}"}


def spoken_range(
    low: float | None, middle: float, high: float | None, unit: str = "%"
) -> str:
    """Write a middle value with its range, where there is one.

    Examples
    --------
    >>> spoken_range(14.6, 15.1, 15.8), spoken_range(None, 7.2, None)
    ('15.1 % (14.6 to 15.8)', '7.2 %')
    """
    if low is None or high is None:
        return f"{middle:.1f} {unit}"
    return f"{middle:.1f} {unit} ({low:.1f} to {high:.1f})"
