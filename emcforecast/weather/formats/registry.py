"""Every weather file format, the most particular first."""

from __future__ import annotations

import importlib

from emcforecast.weather.formats.format import Format


def all_formats() -> tuple[Format, ...]:
    """Return every known format, the most particular first.

    Returns
    -------
    tuple of Format
        Typical-year files, then replies of archives, then the general readers.
    """
    return (*_particular(), *_replies(), *_general())


def _replies() -> tuple[Format, ...]:
    # Imported by name and late: the archives import this module.
    door = "emcforecast.weather.archives.registry"
    try:
        module = importlib.import_module(door)
    except ModuleNotFoundError as error:
        if error.name != door:
            raise
        return ()
    formats: tuple[Format, ...] = module.FORMATS
    return formats


def _particular() -> tuple[Format, ...]:
    from emcforecast.weather.formats.typical import FORMATS

    return FORMATS


def _general() -> tuple[Format, ...]:
    from emcforecast.weather.formats import csv as csv_file
    from emcforecast.weather.formats import netcdf

    return netcdf.FORMAT, csv_file.FORMAT


def recognise(head: bytes, name: str) -> Format | None:
    """Return the first format that recognises the beginning of a file.

    Parameters
    ----------
    head : bytes
        The first `HEAD` bytes of the content, unpacked.
    name : str
        Name of the file.

    Returns
    -------
    Format or None
        None when nothing recognises it.
    """
    return next((fmt for fmt in all_formats() if fmt.sniff(head, name)), None)
