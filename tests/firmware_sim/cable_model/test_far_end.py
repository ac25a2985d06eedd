import numpy as np
import pytest

from firmware_sim.cable_model.laid_out.states import State
from firmware_sim.cable_model.tables import tables, terminal_resistance
from firmware_sim.cable_model.written.remotes import remote_ohm
from tests.firmware_sim.cable_model.random_cables import cable
from tests.firmware_sim.parsed import parse_description

PAIRS = ((0, 1), (2, 5), (3, 4), (6, 7))


def near(far: str, more: str = "", kind: str = "UTP") -> np.ndarray:
    """Return what the near contacts of a sound 10 m cable show."""
    description = parse_description(cable(kind, 10.0, far=far) + more)
    return terminal_resistance(State(description, frozenset()))[:9, :9]


def test_hanging_plug_joins_nothing() -> None:
    """With the far plug in the air no two near contacts are joined."""
    assert np.isinf(near("open")[~np.eye(9, dtype=bool)]).all()


def test_joining_plug_shows_loops() -> None:
    """A joining plug shows each pair's loop: twice 10 m of 24 AWG with its twist, and the contacts."""
    ohms = near("joined")
    for a, b in PAIRS:
        assert 2 * 0.0842 * 10 < ohms[a, b] < 2 * 0.0842 * 10 * 1.03 + 0.2


@pytest.mark.parametrize("letter", ["A", "B", "C", "D"])
def test_remote_shows_sums_of_its_resistors(letter: str) -> None:
    """Between any two contacts a remote shows the sum of their two resistors and of the run."""
    ohms = near(f"remote-{letter}", kind="F/UTP")
    values = list(remote_ohm(letter).values())
    for a in range(9):
        for b in range(a):
            assert 0 < ohms[a, b] - values[a] - values[b] < 2.0


def test_remote_at_another_plug_has_that_plugs_contacts() -> None:
    """A remote made for M12 D has its second resistor at the plug's contact 2, which the run joins to near 3."""
    text = (
        'format = 1\nconnectors = ["m12d", "m12d"]\nnear = "industrial"\nfar = "industrial"\n'
        '[[segment]]\ncable = "2-pair"\nlength_m = 5\n[attached]\nfar = "remote-A"\n'
    )
    ohms = terminal_resistance(State(parse_description(text), frozenset()))
    values = remote_ohm("A")
    assert ohms[0, 2] == pytest.approx(values["1"] + values["2"], abs=1.0)
    assert ohms[1, 5] == pytest.approx(values["3"] + values["4"], abs=1.0)


@pytest.mark.parametrize(
    ("port", "loops", "between"),
    [("four-pair", PAIRS, None), ("two-pair", PAIRS[:2], None), ("tied", PAIRS, 150.0)],
)
def test_ports_show_their_windings(port: str, loops: tuple[tuple[int, int], ...], between: float | None) -> None:
    """An unpowered port shows a low loop at each pair it uses, and 150 ohm between unused pairs that are tied."""
    ohms = near("equipment", f'port = "{port}"\n')
    for pair in PAIRS:
        assert (ohms[pair] < 5.0) == (pair in loops)
    if between is None:
        assert np.isinf(ohms[3, 6])
    else:
        assert ohms[3, 6] == pytest.approx(between, abs=3.0)
    assert np.isinf(ohms[0, 2])


def voltages(more: str, far: str = "equipment") -> set[tuple[int, int | None, int, str]]:
    """Return the foreign voltages of a sound cable as (contact, other, millivolts, kind), numbered from 1."""
    made = tables(parse_description(cable("UTP", 10.0, far=far) + more), echo="none")["foreign"]
    number = {None: None} | {contact: contact + 1 for contact in range(18)}
    return {(v["contact"] + 1, number[v["other"]], v["millivolts"], v["kind"]) for v in made}


def test_injector_stands_between_all_contacts_of_two_pairs() -> None:
    """A 48 V injector into a port without windings there stands between 4, 5 and 7, 8, and nowhere else."""
    found = voltages('port = "two-pair"\nkind = "injector"\n')
    assert found == {(a, b, 48_000, "dc") for a in (4, 5) for b in (7, 8)}


@pytest.mark.parametrize("contact", ["1", "4", "8"])
@pytest.mark.parametrize("volt", [12, 24, 48, -48])
def test_battery_reaches_the_contact_it_is_on(contact: str, volt: int) -> None:
    """A battery on one far contact stands between the near contact of that conductor and the ground."""
    found = voltages(f'port = "two-pair"\nkind = "dc"\ncontact = "{contact}"\nvolt = {volt}\n', far="open")
    assert found == {(int(contact), None, volt * 1000, "dc")}


def test_probing_and_link_name_their_pairs() -> None:
    """A probing power source stands between pairs 3-6 and 1-2, a live link across its pair."""
    probe = voltages('kind = "poe-probe"\n')
    assert probe == {(a, b, 10_000, "probe") for a in (3, 6) for b in (1, 2)}
    assert voltages('kind = "link"\n', far="open") == {(1, 2, 1000, "link")}


def test_salt_water_is_a_cell_behind_its_resistance() -> None:
    """A wet plug is a cell of its own voltage, between the two conductors it wets, at near and at far contacts."""
    leak = '[[fault]]\nkind = "leak"\nconductors = ["blue", "orange"]\nohm = 30000\nvolt = 0.5\n'
    found = voltages(leak, far="tester")
    assert found == {(a, b, 500, "cell") for a in (4, 13) for b in (2, 11)}
