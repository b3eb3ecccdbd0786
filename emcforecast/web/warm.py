"""What a server does before anybody asks: the first answers, worked out ahead."""

from datetime import date

from emcforecast.errors import InputError
from emcforecast.web.questions import question
from emcforecast.web.site import Site


def warm(site: Site) -> None:
    """Begin the answers a visitor sees first; refusals are told when they ask.

    Parameters
    ----------
    site : Site
        Of a server that is about to listen.
    """
    found = question(
        "floor", {"weather": "demo"}, site.sources, site.serving.units, date.today()
    )
    site.begin(found.key, found.answer, "server")
    served = site.yard
    if served is None:
        return
    try:
        yard = served.read()
    except InputError:
        return
    if yard.stacks:
        system, today = served.system(yard), date.today()
        key = served.key(yard, today, system)
        site.begin(key, served.answer(yard, today, system), "server")
