"""`emcforecast serve`: the pages live, for this computer or for the house."""

import socket
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import click

from emcforecast.cli import common
from emcforecast.cli.command import Command
from emcforecast.cli.terminal import say
from emcforecast.cli.values import OneOf, WholeRange
from emcforecast.errors import InputError
from emcforecast.files import is_folder
from emcforecast.language import _

if TYPE_CHECKING:
    from emcforecast.web.serving import Serving

DEMO = "demo"


@click.command(
    "serve", cls=Command, short_help="The same as live pages, for phone and PC."
)
@click.argument("yard", metavar="[YARD|demo]", required=False)
@click.option(
    "--lan", is_flag=True, help="Answer other devices of the house too, with a token."
)
@click.option("--port", type=WholeRange(0, 65535), default=8477, show_default=True)
@click.option(
    "--folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Weather files to choose from. [default: the yard's folder]",
)
@click.option(
    "--address",
    metavar="HTTPS",
    help="What it is called from outside: https://wood.example, through a proxy.",
)
@click.option("--renew", is_flag=True, help="Make every device show a new token.")
@click.option(
    "--keep",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Where answers and uploads are kept. [default: this account's data folder]",
)
@click.option("--units", type=OneOf(["us", "si"]), help="°F and inches, or °C and mm.")
def command(
    yard: str | None,
    lan: bool,
    port: int,
    folder: Path | None,
    address: str | None,
    renew: bool,
    keep: Path | None,
    units: str | None,
) -> None:
    """Serve the answers as pages: floor, dry, plan, and the yard of the file YARD.

    Only this computer can open them, unless --lan is given. The word demo stands for
    a yard to try things on. Stop it with Ctrl-C; nothing is lost.
    """
    app, serving, keys_renewed = _application(
        yard, lan=lan, folder=folder, address=address, renew=renew, keep=keep,
        units=units,
    )  # fmt: skip
    from emcforecast.web.listen import server_of
    from emcforecast.web.warm import warm

    try:
        server = server_of(app, "0.0.0.0" if lan else "127.0.0.1", port)
    except OSError as error:
        raise InputError(
            _(
                "port {port} cannot be used ({reason}); name another: --port 8478",
                port=port,
                reason=error.strerror,
            )
        ) from error
    _tell(serving, server.effective_port, address, lan=lan)
    if keys_renewed:
        say(_("Every device must show the token again."))
    site = app.extensions["emcforecast"]
    warm(site)
    try:
        server.run()
    finally:
        site.pool.close()


def _application(
    yard: str | None,
    *,
    lan: bool,
    folder: Path | None,
    address: str | None,
    renew: bool,
    keep: Path | None,
    units: str | None,
) -> "tuple[Any, Serving, bool]":
    from platformdirs import user_data_path

    try:
        import_module("segno")
        from emcforecast.web.app import create_app
    except ModuleNotFoundError as error:
        if error.name not in ("flask", "waitress", "segno", "werkzeug", "jinja2"):
            raise
        raise InputError(
            _(
                "serve needs {lacking}: pip install 'emcforecast[web]'",
                lacking=error.name,
            )
        ) from error
    from emcforecast.web.demo_yard import demo_yard
    from emcforecast.web.keys import keys_kept_in, new_token
    from emcforecast.web.listen import addresses_of_this_computer
    from emcforecast.web.serving import Serving
    from emcforecast.yard.file import read_yard

    system = common.units_or_default(units)
    kept = keep or user_data_path("emcforecast") / "serve"
    try:
        kept.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            _("{kept}: cannot be made; name another --keep", kept=kept)
        ) from error
    path = None
    if yard == DEMO:
        path = demo_yard(kept / "demo-yard", system)
    elif yard is not None:
        path = read_yard(Path(yard)).path
    if folder is not None and not is_folder(folder):
        raise InputError(
            _("{folder}: there is no such folder; name another --folder", folder=folder)
        )
    if folder is None and path is not None and yard != DEMO:
        folder = path.absolute().parent
    hosts = ["127.0.0.1", "localhost", "::1"]
    if lan:
        name = socket.gethostname().lower()
        hosts += [*addresses_of_this_computer(), name, f"{name}.local"]
    if address is not None:
        outside = urlsplit(address)
        if outside.scheme != "https" or not outside.hostname:
            raise InputError(
                _("--address {address!r}: write https://NAME", address=address)
            )
        hosts.append(outside.hostname)
    is_open = lan or address is not None
    serving = Serving(
        keep=kept,
        yard=None if path is None else path.absolute(),
        folder=folder,
        hosts=tuple(hosts),
        token=new_token() if is_open else None,
        secure=address is not None and not lan,
        units=system,
    )
    return create_app(serving, keys_kept_in(kept, renew=renew)), serving, renew


def _tell(serving: "Serving", port: int, address: str | None, *, lan: bool) -> None:
    """Print where it is, and for other devices the token and a code to photograph."""
    from emcforecast.web.listen import addresses_of_this_computer

    if serving.token is None:
        say(
            _(
                "Open http://127.0.0.1:{port} on this computer. Stop with Ctrl-C.",
                port=str(port),
            )
        )
        return
    import segno

    found = [address.rstrip("/")] if address else []
    if lan:
        found += [f"http://{one}:{port}" for one in addresses_of_this_computer()]
    found = found or [f"http://127.0.0.1:{port}"]
    for one in found:
        say(
            _(
                "Open {address}/enter and type the token {token}",
                address=one,
                token=serving.token,
            )
        )
    say(_("Or photograph this code; it holds the token, so show it to nobody else."))
    code = segno.make(f"{found[0]}/enter?token={serving.token}", error="m")
    code.terminal(compact=True)
    if not address:
        say(
            _(
                "Others in the same network could listen: the pages travel "
                "unencrypted. Stop with Ctrl-C."
            )
        )
