"""What the forms offer to choose from."""

from functools import lru_cache
from typing import Any

from emcforecast.errors import harmless
from emcforecast.forecast.targets import uses
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.web.serving import LONGEST_FIELD
from emcforecast.web.site import Site
from emcforecast.yard.schema import regions


def choices(site: Site) -> dict[str, Any]:
    """Return the lists that forms offer."""
    return {
        "woods": woods(),
        "uses": list(uses()),
        "regions": list(regions()),
        "archives": [(one.id, one.title) for one in ARCHIVES.values()],
        "files": site.sources.files(),
    }


def typed(text: str | None) -> str:
    """Return what was typed, short and without signs that steer a screen."""
    return harmless(text or "").strip()[:LONGEST_FIELD]


@lru_cache(maxsize=1)
def woods() -> list[str]:
    """Return the names of all woods, to complete what is typed."""
    from emcforecast.wood.species import all_species

    return sorted(one.name for one in all_species())
