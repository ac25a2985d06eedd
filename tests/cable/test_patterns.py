"""Patterns against published pin tables, and what a wrong file of the user's is told."""

from pathlib import Path

import pytest

from wiremap.cable.connectors import connector, connectors
from wiremap.cable.patterns import FOLDER, pattern, pattern_names, read_pattern, reversed_name
from wiremap.errors import FileError, UsageError

# ANSI/TIA-568 pin tables, contacts 1 to 8.
T568A = ("white-green", "green", "white-orange", "blue", "white-blue", "orange", "white-brown", "brown")
T568B = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
# IEEE 802.3 Table 40-12, contacts 1 to 8.
MDI = ("A+", "A-", "B+", "C+", "C-", "B-", "D+", "D-")
MDI_X = ("B+", "B-", "A+", "D+", "D-", "A-", "C+", "C-")
# IEC 61076-2-109 and IEC 61076-2-101.
M12X = ("A+", "A-", "B+", "B-", "D+", "D-", "C-", "C+")
M12D = ("A+", "B+", "A-", "B-")  # TD+, RD+, TD-, RD-

MINE = """
format = 1
name = "mine"
title = "mine"
use = "serial"
near = "rj45"
far = "m12d"
pairs = [["1", "2"]]
[conductors]
1 = "1"
2 = "3"
"""


def _route(name: str) -> dict[str, str]:
    return dict(pattern(name).conductors)


def test_crossover_is_what_t568a_to_t568b_gives() -> None:
    """Joining equal colours of T568A and T568B gives the crossover pattern (ANSI/TIA-568 pin tables)."""
    expected = {str(a + 1): str(T568A.index(colour) + 1) for a, colour in enumerate(T568B)}
    assert _route("crossover") == expected


def test_only_orange_and_green_change_places_in_a_crossover() -> None:
    """In a 10/100 crossover only the orange and green pairs change places (common practice, no source)."""
    moved = {T568B[int(near) - 1] for near, far in pattern("crossover").conductors if near != far}
    assert moved == {"orange", "white-orange", "green", "white-green"}


def test_crossover_all_is_mdi_to_mdi_x() -> None:
    """Every signal of MDI meets the same signal of MDI-X through crossover-all (IEEE 802.3 Table 40-12)."""
    for near, far in pattern("crossover-all").conductors:
        assert MDI[int(near) - 1] == MDI_X[int(far) - 1]


@pytest.mark.parametrize(
    ("name", "near", "far"),
    [("straight", MDI, MDI), ("m12d-rj45", M12D, MDI), ("m12x-rj45", M12X, MDI), ("m12x-m12x", M12X, M12X)],
)
def test_straight_patterns_join_equal_signals(name: str, near: tuple[str, ...], far: tuple[str, ...]) -> None:
    """A straight pattern joins equal signals of its two plugs (IEEE 802.3 Table 40-12, IEC 61076-2-101 and -109)."""
    wanted = pattern(name)
    for here, there in wanted.conductors:
        assert near[int(here) - 1] == far[int(there) - 1]
    for plus, minus in wanted.near_pairs:
        assert (near[int(plus) - 1], near[int(minus) - 1]) == (
            f"{near[int(plus) - 1][0]}+",
            f"{near[int(plus) - 1][0]}-",
        )


@pytest.mark.parametrize(
    ("name", "crossing"),
    [
        ("crossover-2pair", {"1": "3", "2": "6", "3": "1", "6": "2"}),
        ("t1-crossover", {"1": "4", "2": "5", "4": "1", "5": "2"}),
        ("rollover", {str(n): str(9 - n) for n in range(1, 9)}),
        ("straight-2pair", {n: n for n in "1236"}),
        ("m12d-rj45-crossover", {"1": "3", "2": "1", "3": "6", "4": "2"}),
        ("m12d-m12d", {n: n for n in "1234"}),
        ("m12a-5pole", {n: n for n in "2345"}),
    ],
)
def test_pin_tables(name: str, crossing: dict[str, str]) -> None:
    """Two-pair, T1, rollover, M12 and bus patterns are as their pin tables say (trade texts; IEC 61076-2-101)."""
    assert _route(name) == crossing


def test_loopbacks_join_transmit_with_receive() -> None:
    """A loopback plug joins 1-3 and 2-6; for all pairs also 4-7 and 5-8 (trade texts; consistent with MDI-X)."""
    assert [group for _, group in pattern("loopback-100").joins] == [("1", "3"), ("2", "6")]
    for _, (a, b) in pattern("loopback-all").joins:
        assert MDI[int(a) - 1] == MDI_X[int(b) - 1]


def test_terminators_of_the_bus_are_no_short() -> None:
    """Between 4 and 5 of the device bus 120 ohm belong at each end of a backbone (ISO 11898-2), none on a lead."""
    known = pattern("m12a-5pole").terminators
    assert known is not None
    assert (known.near, known.far, known.ohm, known.right) == (("4", "5"), ("4", "5"), 120.0, (0, 2))


@pytest.mark.parametrize("name", pattern_names())
def test_every_pattern_turned_twice_is_itself(name: str) -> None:
    """A pattern seen from the other end, and again, is the same; pairs keep their polarity."""
    wanted = pattern(name)
    if wanted.far_connector is None:
        with pytest.raises(UsageError, match="one plug only"):
            wanted.swapped()
        return
    assert wanted.swapped().swapped() == wanted
    for (plus, minus), (far_plus, far_minus) in zip(wanted.near_pairs, wanted.far_pairs, strict=True):
        route = dict(wanted.conductors)
        assert (route[plus], route[minus]) == (far_plus, far_minus)


def test_patterns_between_different_plugs_exist_in_both_directions() -> None:
    """A pattern between different plugs has a second name with the ends swapped."""
    for name in ("m12d-rj45", "m12d-rj45-crossover", "m12x-rj45"):
        other = reversed_name(name)
        assert other in pattern_names()
        assert pattern(other).near_connector == pattern(name).far_connector
    assert reversed_name("m12d-m12d") is None
    assert reversed_name("straight") is None


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("*.toml")))
def test_shipped_patterns_are_named_as_their_files(name: str) -> None:
    """Each pattern that ships is called what its file is called and asks nothing of the screen."""
    assert pattern(name).name == name
    assert pattern(name).screen == "any"


def test_own_pattern_file(tmp_path: Path) -> None:
    """A user's own pattern file is read; far pairs follow from the near ones."""
    file = tmp_path / "mine.toml"
    file.write_text(MINE, encoding="utf-8")
    mine = pattern(str(file))
    assert mine.conductors == (("1", "1"), ("2", "3"))
    assert mine.far_pairs == (("1", "3"),)


@pytest.mark.parametrize(
    ("old", "new", "key", "allowed"),
    [
        ('use = "serial"', 'use = "radio"', "use", "ethernet, telephone, serial, bus, loopback"),
        ('near = "rj45"', 'near = "rj12"', "near", "rj45"),
        ('2 = "3"', '2 = "7"', "conductors.2", "1, 2, 3, 4"),
        ('2 = "3"', '9 = "3"', "conductors.9", "1, 2, 3, 4, 5, 6, 7, 8"),
        ('2 = "3"', '2 = "1"', "conductors", "each far contact once"),
        ('[["1", "2"]]', '[["1", "2", "3"]]', "pairs", "two different contacts"),
        ('[["1", "2"]]', '[["1", "2"], ["2", "3"]]', "pairs", "one pair only"),
        ('title = "mine"', 'title = "mine"\nscreen = "yes"', "screen", "any, both, near, far, none"),
        ('title = "mine"', 'title = "mine"\njoins = [["1"]]', "joins", "two or more"),
        ('title = "mine"', 'title = "mine"\nwires = 2', "wires", "conductors"),
        ('name = "mine"\n', "", "name", "a text in quotes"),
        (
            '2 = "3"',
            '2 = "3"\n[[resistance]]\nend = "far"\ncontacts = ["1", "9"]\nohm = ["60"]\ntolerance = 0.1',
            "resistance[1].contacts",
            "two of 1, 2, 3, 4, S",
        ),
        (
            '2 = "3"',
            '2 = "3"\n[[resistance]]\nend = "far"\ncontacts = ["1", "2"]\nohm = ["x"]\ntolerance = 0.1',
            "resistance[1].ohm",
            '"1000000"',
        ),
        (
            '2 = "3"',
            '2 = "3"\n[[resistance]]\nend = "far"\ncontacts = ["1", "2"]\nohm = ["60"]\ntolerance = 2',
            "resistance[1].tolerance",
            "from 0 to 0.5",
        ),
    ],
)
def test_wrong_file_names_file_key_and_what_is_allowed(
    tmp_path: Path, old: str, new: str, key: str, allowed: str
) -> None:
    """A wrong pattern file is told file, key and what is allowed there."""
    file = tmp_path / "mine.toml"
    assert old in MINE
    file.write_text(MINE.replace(old, new), encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_pattern(file)
    assert str(file) in caught.value.what
    assert f"'{key}'" in caught.value.what
    assert allowed in caught.value.hint


def test_pattern_without_conductors(tmp_path: Path) -> None:
    """A pattern that joins nothing is refused."""
    file = tmp_path / "mine.toml"
    file.write_text(MINE.split("[conductors]", maxsplit=1)[0], encoding="utf-8")
    with pytest.raises(FileError, match="conductors"):
        read_pattern(file)


def test_unknown_pattern_and_connector_list_the_known() -> None:
    """An unknown pattern or connector is answered with those that are known."""
    with pytest.raises(UsageError) as caught:
        pattern("strait")
    assert "straight" in caught.value.hint
    with pytest.raises(UsageError) as caught:
        connector("rj12")
    assert ", ".join(connectors()) in caught.value.hint
