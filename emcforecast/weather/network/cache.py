"""Where replies are kept, for how long, and how they are written."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from platformdirs import user_cache_path
from requests_cache.backends.filesystem import FileDict

from emcforecast.weather.archives.record import Request

#: Environment variable that moves the cache.
CACHE_VARIABLE = "EMCFORECAST_CACHE"
#: A span that ended longer ago than this no longer changes.
SETTLED = timedelta(days=30)


def is_settled(request: Request, on: date | None = None) -> bool:
    """Tell whether what a request brings no longer changes.

    Parameters
    ----------
    request : Request
        What is asked.
    on : datetime.date, optional
        As of this day; today when left out.

    Returns
    -------
    bool
        True when it covers a span that ended more than 30 days before.
    """
    day = date.today() if on is None else on
    return request.last is not None and request.last + SETTLED < day


def is_fresh(kept: Path, request: Request) -> bool:
    """Tell whether a kept reply need not be asked for again.

    Parameters
    ----------
    kept : pathlib.Path
        The file that holds it.
    request : Request
        What was asked.

    Returns
    -------
    bool
        True when it was final as it was written, or is less than a day old; False
        too when there is none.
    """
    if not kept.exists():
        return False
    written = datetime.fromtimestamp(kept.stat().st_mtime)
    young = datetime.now() - written < timedelta(days=1)
    return young or is_settled(request, written.date())


def cache_folder() -> Path:
    """Return where replies are kept.

    Returns
    -------
    pathlib.Path
        The folder named by ``EMCFORECAST_CACHE``, else the user's cache folder.
    """
    named = os.environ.get(CACHE_VARIABLE)
    return Path(named) if named else user_cache_path("emcforecast") / "archives"


class Files(FileDict):
    """Replies as files, written whole or not at all, whoever else writes them."""

    broken: Callable[[OSError], None]

    def __setitem__(self, key: str, value: Any) -> None:
        """Keep a reply; a folder that cannot be written is told, not fatal."""
        target = self._key2path(key)
        try:
            number, name = tempfile.mkstemp(dir=self.cache_dir, suffix=".part")
            with os.fdopen(number, "w", encoding="utf-8") as file:
                file.write(self.serialize(value))
            Path(name).replace(target)
        except OSError as error:
            self.broken(error)
