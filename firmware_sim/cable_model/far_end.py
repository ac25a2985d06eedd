"""What the far plug is in: the tester, nothing, a plug that joins all, a passive remote, equipment."""

from itertools import combinations, pairwise

from firmware_sim.cable_model.description import Attached
from firmware_sim.cable_model.networks import Network, far_plug
from firmware_sim.cable_model.plugs import ADAPTERS, CONTACTS
from firmware_sim.cable_model.remotes import remote_ohm

JOINING_OHM = 0.02  # a contact of a joining plug (assumption)
WINDING_OHM = 0.6  # a pair's transformer winding, d.c. (assumption)
TERMINATION_OHM = 75.0  # ports that do not use 4, 5, 7, 8 tie them through 75 ohm (common practice, no source)
PORT_PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))


def attach(network: Network, attached: Attached, connector: str) -> None:
    """Add to the cable's network what its far plug is in; contact names are the far plug's own."""
    if attached.far == "joined":
        for a, b in pairwise(CONTACTS[connector]):
            network.add(far_plug(a), far_plug(b), JOINING_OHM)
    elif attached.far.startswith("remote-"):
        star = ("remote", "star")
        values = remote_ohm(attached.far.removeprefix("remote-"))
        for name, socket in ADAPTERS[connector].items():
            if socket in values:
                network.add(far_plug(name), star, values[socket])
    elif attached.far == "equipment":
        _port(network, attached.port, {socket: name for name, socket in ADAPTERS[connector].items()})


def _port(network: Network, port: str, plug: dict[str, str]) -> None:
    def add(a: str, b: str, ohm: float) -> None:
        if a in plug and b in plug:
            network.add(far_plug(plug[a]), far_plug(plug[b]), ohm)

    for a, b in PORT_PAIRS if port == "four-pair" else PORT_PAIRS[:2]:
        add(a, b, WINDING_OHM)
    if port == "tied":
        add("4", "5", 0.0)
        add("7", "8", 0.0)
        for a, b in combinations(("4", "7"), 2):
            add(a, b, 2 * TERMINATION_OHM)
