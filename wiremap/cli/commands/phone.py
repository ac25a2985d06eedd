"""`wiremap phone`: the tester in the hand, on a phone's browser."""

from importlib.util import find_spec
from typing import Annotated

import typer

from wiremap.cli import options

NEEDED = ("starlette", "uvicorn", "ifaddr")
PORT = 8712  # fixed, so that cookies and the page outlive a restart


@options.with_cable_options
def command(
    tester: options.TesterAddress = None,
    far: options.Far = "tester",
    talks: options.Talks = None,
    *,
    cable: options.CableOptions,
    address: Annotated[
        str | None, typer.Option("--address", metavar="IP", help="The address to serve, where the machine has several.")
    ] = None,
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="The port to serve.")] = PORT,
    name: Annotated[
        str | None, typer.Option("--name", metavar="HOST", help="A name of this machine on that network.")
    ] = None,
    tls: Annotated[bool, typer.Option("--tls", help="Serve https, with a certificate of our own.")] = False,
) -> None:
    """Serve a page for phones: each cable that is put in is tested; keep, photograph and mend it from the phone.

    Scan the code with the phone's camera. Ctrl-C ends it. --save names the folder of the captures.
    """
    phone_needs()
    from wiremap.cli.phone_desk import serve_tester

    serve_tester(cable, tester, far, talks, (address, port, name, tls))


def phone_needs() -> None:
    """Refuse to serve phones where the libraries for it are not installed: UsageError says how to get them."""
    from wiremap.errors import UsageError

    missing = [name for name in NEEDED if find_spec(name) is None]
    if missing:
        raise UsageError(
            f"for phones {', '.join(missing)} must be installed", "Install them with: pip install 'wiremap[phone]'"
        )
