"""`wiremap phone`: the tester in the hand, on a phone's browser."""

from importlib.util import find_spec

from wiremap.cli import options

NEEDED = ("starlette", "uvicorn", "ifaddr")


@options.with_cable_options
def command(
    tester: options.TesterAddress = None,
    far: options.Far = "tester",
    talks: options.Talks = None,
    *,
    cable: options.CableOptions,
    address: options.Address = None,
    port: options.ServedPort = options.PHONE_PORT,
    name: options.HostName = None,
    tls: options.Tls = False,
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
