"""Plugs and the orders of conductors in them, as the simulator knows them.

Every contact number and colour here is written down from the standards anew: ANSI/TIA-568 (T568A, T568B),
IEC 61076-2-101 (M12 D and A), IEC 61076-2-109 (M12 X), IEC 61918 (yellow, orange, white, blue), IEC 61162-3
(device bus), RJ61X (USOC).
"""

SCREEN = "screen"
EMPTY = "-"

RJ45 = ("1", "2", "3", "4", "5", "6", "7", "8", "S")
CONTACTS: dict[str, tuple[str, ...]] = {
    "rj45": RJ45,
    "m12d": ("1", "2", "3", "4", "S"),
    "m12x": ("1", "2", "3", "4", "5", "6", "7", "8", "S"),
    "m12a": ("1", "2", "3", "4", "5"),
}

# The tester has RJ45 sockets; other plugs reach it through an adapter: contact of the plug -> contact of RJ45.
ADAPTERS: dict[str, dict[str, str]] = {
    "rj45": {name: name for name in RJ45},
    "m12d": {"1": "1", "2": "3", "3": "2", "4": "6", "S": "S"},
    "m12x": {"1": "1", "2": "2", "3": "3", "4": "6", "5": "7", "6": "8", "7": "5", "8": "4", "S": "S"},
    "m12a": {"1": "S", "2": "2", "3": "3", "4": "4", "5": "5"},
}

_RJ45_ORDERS: dict[str, str] = {
    "T568A": "white-green green white-orange blue white-blue orange white-brown brown",
    "T568B": "white-orange orange white-green blue white-blue green white-brown brown",
    "USOC": "white-brown white-green white-orange blue white-blue orange green brown",
    "in-sequence": "white-orange orange white-green green white-blue blue white-brown brown",
    "industrial": "yellow orange white - - blue - -",
    "device-bus": "- red black white blue - - -",
}
TERMINATIONS = tuple(_RJ45_ORDERS)


def order_named(name: str, connector: str) -> tuple[str, ...]:
    """Return the colours of termination `name` in contact order of `connector`, without the screen's contact.

    M12 plugs take the conductors of the RJ45 contacts that carry the same signals; "-" is an empty contact.
    """
    at_rj45 = dict(zip(RJ45, _RJ45_ORDERS[name].split(), strict=False))
    through = ADAPTERS[connector]
    return tuple(at_rj45[through[contact]] for contact in conductor_contacts(connector))


def conductor_contacts(connector: str) -> tuple[str, ...]:
    """Return the contacts of `connector` that do not carry the screen, in order."""
    return tuple(contact for contact in CONTACTS[connector] if ADAPTERS[connector][contact] != "S")
