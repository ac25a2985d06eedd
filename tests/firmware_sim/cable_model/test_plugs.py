import pytest

from firmware_sim.cable_model.written.plugs import ADAPTERS, CONTACTS, conductor_contacts, order_named
from firmware_sim.cable_model.written.remotes import remote_ohm
from wiremap.cable.connectors import connector
from wiremap.cable.remotes import remote_set
from wiremap.cable.terminations import termination


def test_t568_orders_are_those_of_the_standard() -> None:
    """T568A and T568B have the conductors of ANSI/TIA-568 at contacts 1 to 8."""
    same = {4: "blue", 5: "white-blue", 7: "white-brown", 8: "brown"}
    t568a = same | {1: "white-green", 2: "green", 3: "white-orange", 6: "orange"}
    t568b = same | {1: "white-orange", 2: "orange", 3: "white-green", 6: "green"}
    for name, order in (("T568A", t568a), ("T568B", t568b)):
        assert dict(enumerate(order_named(name, "rj45"), 1)) == order


def test_m12_contacts_carry_the_signals_of_rj45() -> None:
    """M12 D 1-4 are RJ45 1 3 2 6 (IEC 61076-2-101), M12 X 1-8 are RJ45 1 2 3 6 7 8 5 4 (IEC 61076-2-109)."""
    assert [ADAPTERS["m12d"][contact] for contact in "1234"] == ["1", "3", "2", "6"]
    assert [ADAPTERS["m12x"][contact] for contact in "12345678"] == ["1", "2", "3", "6", "7", "8", "5", "4"]
    assert order_named("industrial", "m12d") == ("yellow", "white", "orange", "blue")  # IEC 61918


def test_device_bus_contacts() -> None:
    """The device bus has red, black, white, blue on 2 to 5 and the screen on 1 (IEC 61162-3)."""
    assert conductor_contacts("m12a") == ("2", "3", "4", "5")
    assert order_named("device-bus", "m12a") == ("red", "black", "white", "blue")


@pytest.mark.parametrize("name", ["rj45", "m12d", "m12x", "m12a"])
def test_connectors_are_those_of_the_product(name: str) -> None:
    """Simulator and product, written apart, know the same contacts of every plug."""
    assert CONTACTS[name] == connector(name).contacts


@pytest.mark.parametrize("name", ["T568A", "T568B", "USOC", "in-sequence", "device-bus"])
def test_orders_are_those_of_the_product(name: str) -> None:
    """Simulator and product, written apart, crimp the same colours."""
    made = termination(name)
    plug = made.connector.name
    assert dict(zip(conductor_contacts(plug), order_named(name, plug), strict=True)) == dict(made.conductors)


@pytest.mark.parametrize("name", ["A", "B", "C", "D"])
def test_remotes_are_those_of_the_product(name: str) -> None:
    """The simulator's passive remotes have the resistors that the product decodes."""
    assert remote_ohm(name) == dict(remote_set().remote(name).resistors)
