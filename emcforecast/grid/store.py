"""A map written block by block into a zarr store, or gathered into a NetCDF file."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from zarr import consolidate_metadata

from emcforecast import __version__
from emcforecast.errors import InputError
from emcforecast.files import exists
from emcforecast.grid.blocks import Plan, Region
from emcforecast.grid.ledger import (
    Ledger,
    begin_ledger,
    ledger_of,
    resume_ledger,
)
from emcforecast.grid.written import ENDINGS
from emcforecast.language import _

"""What a map may be written as."""


@dataclass
class MapStore:
    """Where a map goes.

    Parameters
    ----------
    output : Path
        As named: a zarr store or a NetCDF file.
    store : Path
        The zarr store that is written block by block.
    ledger : Ledger
        The blocks written so far.
    names : tuple of str
        The variables, in order.
    """

    output: Path
    store: Path
    ledger: Ledger
    names: tuple[str, ...]

    def write(self, number: int, region: Region, part: xr.Dataset) -> None:
        """Write one computed block, and note it."""
        coordinates = [name for name in part.coords if name not in part.dims]
        bare = part.drop_vars([*coordinates, *part.indexes]).drop_attrs()
        rows, columns = region
        held = [n for n, v in bare.data_vars.items() if rows in v.dims]
        bare[held].to_zarr(
            self.store, region={str(rows): region[rows], str(columns): region[columns]},
            consolidated=False,
        )  # fmt: skip
        self.ledger.add(number)

    def finish(self) -> xr.Dataset:
        """Close the ledger and return the map as it is on the disk, lazily."""
        consolidate_metadata(self.store)
        self.ledger.close()
        whole: xr.Dataset = xr.open_zarr(self.store, decode_timedelta=False)[
            list(self.names)
        ]
        if self.output == self.store:
            return whole
        part = self.output.with_name(f".{self.output.name}.part")
        whole.to_netcdf(part, engine="h5netcdf")
        part.replace(self.output)
        shutil.rmtree(self.store)
        return xr.open_dataset(
            self.output, chunks={}, engine="h5netcdf", decode_timedelta=False
        )[list(self.names)]


def require_output(path: Path, *, resume: bool) -> None:
    """Refuse an output that is no map's, or is there already.

    Raises
    ------
    InputError
        With what to do.
    """
    if path.suffix not in ENDINGS:
        raise InputError(
            _(
                "{path}: a map ends in {endings}; name it so",
                path=path,
                endings=" or ".join(ENDINGS),
            )
        )
    begun = exists(_store_of(path)) and exists(ledger_of(_store_of(path)))
    if begun and not resume:
        raise InputError(
            _(
                "{path}: an interrupted map; add --resume to go on with it, "
                "or remove {store}",
                path=path,
                store=_store_of(path),
            )
        )
    if exists(path) and not begun:
        raise InputError(
            _("{path}: is there already; remove it or name another", path=path)
        )


def prepare_store(
    path: Path,
    lazy: xr.Dataset,
    plan: Plan,
    question: Mapping[str, Any],
    *,
    resume: bool,
) -> MapStore:
    """Lay out the store of a map, or find what an interrupted run left.

    Parameters
    ----------
    path : Path
        As named.
    lazy : Dataset
        The whole map, not computed.
    plan : Plan
        Its blocks, which become the chunks of the store.
    question : mapping
        Everything that the numbers depend on.
    resume : bool
        Go on with an interrupted run.

    Raises
    ------
    InputError
        For a wrong output, and when there is nothing to go on with.
    """
    require_output(path, resume=resume)
    store = _store_of(path)
    names = tuple(map(str, lazy.data_vars))
    if resume:
        return MapStore(path, store, resume_ledger(store, question), names)
    if exists(store):
        # Laid out by a run that was killed before its ledger began.
        shutil.rmtree(store)
    block = dict(zip((plan.rows, plan.columns), plan.block, strict=True))
    encoding = {
        str(name): {
            "chunks": tuple(min(block.get(d, v.sizes[d]), v.sizes[d]) for d in v.dims),
            "_FillValue": np.nan,
        }
        for name, v in lazy.data_vars.items()
    }
    # Other chunks than the store's would have two blocks write to one file.
    lazy = lazy.chunk(dict.fromkeys(lazy.dims, -1) | block)
    lazy = lazy.assign_attrs(history=_history(lazy))
    lazy = lazy.assign_coords({k: v.compute() for k, v in lazy.coords.items()})
    # Format 2 can be read by every library, and has texts.
    lazy.to_zarr(
        store, mode="w", compute=False, encoding=encoding, consolidated=False,
        zarr_format=2,
    )  # fmt: skip
    return MapStore(path, store, begin_ledger(store, question), names)


def _history(lazy: xr.Dataset) -> str:
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    line = f"{now} emcforecast {__version__} map"
    before = str(lazy.attrs.get("history", ""))
    return f"{before}\n{line}" if before else line


def _store_of(path: Path) -> Path:
    return path if path.suffix == ".zarr" else path.with_name(f".{path.name}.zarr")
