"""Terminations against the published pin tables."""

from pathlib import Path

import pytest

from wiremap.cable.colours import colour_set
from wiremap.cable.connectors import connector
from wiremap.cable.patterns import pattern, pattern_names
from wiremap.cable.terminations import carried, known_as, read_termination, termination, terminations, usual_termination
from wiremap.errors import FileError, UsageError

# Contacts 1 to 8, ANSI/TIA-568 pin and pair tables.
T568A = ("white-green", "green", "white-orange", "blue", "white-blue", "orange", "white-brown", "brown")
T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
# Contact pairs, ANSI/TIA-568 (T568A, T568B) and RJ61X (USOC).
PAIRS = {
    "T568A": {"45": "blue", "36": "orange", "12": "green", "78": "brown"},
    "T568B": {"45": "blue", "12": "orange", "36": "green", "78": "brown"},
    "USOC": {"45": "blue", "36": "orange", "27": "green", "18": "brown"},
}
MINE = """
format = 1
name = "mine"
title = "my order"
connector = "m12d"
colours = "iec61918"
[conductors]
1 = "blue"
2 = "white"
"""


def test_t568a_and_t568b_are_as_published() -> None:
    """T568A and T568B have the conductors that ANSI/TIA-568 puts at contacts 1 to 8."""
    for name, order in (("T568A", T568A), ("T568B", T568B)):
        assert termination(name).conductors == tuple(zip("12345678", order, strict=True))


@pytest.mark.parametrize("name", PAIRS)
def test_pairs_sit_at_the_published_contacts(name: str) -> None:
    """The pairs of T568A, T568B and USOC sit at the contacts of the published tables (ANSI/TIA-568, RJ61X)."""
    order = termination(name)
    for contacts, colour in PAIRS[name].items():
        assert {order.conductor_at(contact) for contact in contacts} == {colour, f"white-{colour}"}


def test_in_sequence_puts_pairs_side_by_side() -> None:
    """In sequence, the pairs are at 1-2, 3-4, 5-6 and 7-8: the classic split (common practice, no source)."""
    order = termination("in-sequence")
    mates = colour_set("tia").pairs
    for contacts in ("12", "34", "56", "78"):
        assert tuple(sorted(filter(None, map(order.conductor_at, contacts)))) in {tuple(sorted(pair)) for pair in mates}


def test_m12d_follows_the_signals() -> None:
    """M12 D contacts 1 to 4 are yellow, white, orange, blue: TD+, RD+, TD-, RD- (IEC 61076-2-101, IEC 61918)."""
    order = termination("m12d-industrial")
    assert order.conductors == tuple(zip("1234", ("yellow", "white", "orange", "blue"), strict=True))


def test_m12d_to_rj45_keeps_colours() -> None:
    """Through m12d-rj45 the industrial colours arrive at RJ45 1, 2, 3, 6 (IEC 61076-2-101: 1-1, 2-3, 3-2, 4-6)."""
    far = carried(termination("m12d-industrial"), pattern("m12d-rj45"))
    assert far == (("1", "yellow"), ("2", "orange"), ("3", "white"), ("6", "blue"))
    assert known_as(connector("rj45"), far) == termination("industrial-2pair")


def test_m12x_to_rj45_is_t568b_at_the_far_end() -> None:
    """M12 X made as T568B arrives as T568B on RJ45: contacts 7 and 8 go to 5 and 4 (IEC 61076-2-109)."""
    far = carried(termination("m12x-T568B"), pattern("m12x-rj45"))
    assert known_as(connector("rj45"), far) == termination("T568B")


def test_crossover_is_t568a_at_one_end_and_t568b_at_the_other() -> None:
    """A 10/100 crossover is T568A at one end and T568B at the other (ANSI/TIA-568 pin tables)."""
    rj45 = connector("rj45")
    assert known_as(rj45, carried(termination("T568B"), pattern("crossover"))) == termination("T568A")
    assert known_as(rj45, carried(termination("T568A"), pattern("crossover"))) == termination("T568B")
    assert known_as(rj45, carried(termination("T568B"), pattern("straight"))) == termination("T568B")
    assert known_as(rj45, carried(termination("T568B"), pattern("rollover"))) is None


def test_device_bus_contacts() -> None:
    """The device bus has red, black, white, blue at contacts 2 to 5, the screen on 1 (IEC 61162-3)."""
    assert termination("device-bus").conductors == (("2", "red"), ("3", "black"), ("4", "white"), ("5", "blue"))
    assert connector("m12a").screen == "1"


@pytest.mark.parametrize("name", [name for name in pattern_names() if name != "rj45-m12a"])  # the adapter turned round
def test_every_pattern_has_a_usual_termination(name: str) -> None:
    """For every pattern the usual near plug carries a conductor to every far contact that the pattern uses."""
    wanted = pattern(name)
    order = usual_termination(wanted.near_connector, wanted.far_connector)
    assert order is not None
    assert order.connector == wanted.near_connector
    filled = {contact for contact, _ in order.conductors}
    assert {near for near, _ in wanted.conductors} <= filled
    assert {far for far, _ in carried(order, wanted)} == {far for _, far in wanted.conductors}


def test_shipped_terminations_have_unique_names() -> None:
    """Every shipped termination is found by its name in any case, and no two hold the same."""
    for known in terminations():
        assert termination(known.name.lower()) == known
        assert known_as(known.connector, known.conductors) == known
        assert {conductor for _, conductor in known.conductors} <= set(colour_set(known.colours).names)


def test_a_contact_holds_its_conductor_or_none() -> None:
    """A contact has the conductor that the order puts there; a contact the order leaves empty has none."""
    order = termination("T568B-2pair")
    for contact, conductor in order.conductors:
        assert order.conductor_at(contact) == conductor
    assert order.conductor_at("4") is None


def test_own_file_with_own_colours(tmp_path: Path) -> None:
    """A user's termination may name a colour file of the user's that lies beside it."""
    (tmp_path / "two.toml").write_text(
        'format = 1\nname = "two"\ntitle = "two"\n[conductor.pink]\nletters = "P"\nbody = "#ff80a0"\n', encoding="utf-8"
    )
    file = tmp_path / "mine.toml"
    file.write_text(
        'format = 1\nname = "mine"\ntitle = "t"\nconnector = "rj45"\ncolours = "two.toml"\n[conductors]\n3 = "pink"\n',
        encoding="utf-8",
    )
    mine = termination(str(file))
    assert mine.conductors == (("3", "pink"),)
    assert colour_set(mine.colours).names == ("pink",)


@pytest.mark.parametrize(
    ("old", "new", "key", "allowed"),
    [
        ('connector = "m12d"', 'connector = "m13"', "connector", "m12d"),
        ('colours = "iec61918"', 'colours = "rainbow"', "colours", "tia"),
        ('1 = "blue"', '1 = "pink"', "conductors.1", "yellow, orange, white, blue"),
        ('1 = "blue"', '9 = "blue"', "conductors.9", "contacts 1, 2, 3, 4"),
        ('1 = "blue"', '1 = "white"', "conductors", "each in one contact"),
        ('title = "my order"', 'title = "my order"\npins = 4', "pins", "connector, colours, conductors"),
    ],
)
def test_wrong_file_names_file_key_and_what_is_allowed(
    tmp_path: Path, old: str, new: str, key: str, allowed: str
) -> None:
    """A wrong termination file is told file, key and what is allowed there."""
    file = tmp_path / "mine.toml"
    assert old in MINE
    file.write_text(MINE.replace(old, new), encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_termination(file)
    assert str(file) in caught.value.what
    assert f"'{key}'" in caught.value.what
    assert allowed in caught.value.hint


def test_unknown_termination_lists_the_known() -> None:
    """An unknown termination is answered with those that are known."""
    with pytest.raises(UsageError) as caught:
        termination("T568C")
    assert "T568B" in caught.value.hint
