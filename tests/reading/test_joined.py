import ast
import itertools
import math
from pathlib import Path

import numpy as np
import pytest

import wiremap
from tests.long.judge import closure
from wiremap.reading.joined import is_joined, joined_pairs, nets, ohms
from wiremap.reading.reading import Ohm

ROOM = Path(wiremap.__file__).parent
OWNER = ROOM / "reading" / "joined.py"
LIMITS = ("joined_ohm", "high_resistance_ohm", "terminated_joined_ohm", "equipment_loop_ohm", "WATCHED_OHM")


@pytest.mark.parametrize(
    ("value", "so"),
    [
        (0.0, True),
        (0, True),
        (199.9, True),
        (200.0, True),
        (math.nextafter(200.0, 300.0), False),
        (math.inf, False),
        (math.nan, False),
        (None, False),
        ("open", False),
        ("joined", True),
    ],
)
def test_two_contacts_are_joined_up_to_a_limit(value: Ohm, so: bool) -> None:
    """The limit itself joins; so does the word; nothing that is open or was not measured does."""
    assert is_joined(value, 200.0) is so


def test_pairs_are_joined_themselves() -> None:
    """Of three contacts in a row two pairs are joined; the diagonal is none."""
    rows: tuple[tuple[Ohm, ...], ...] = ((0.0, 1.0, "open"), (1.0, 0.0, "joined"), ("open", "joined", 0.0))
    assert joined_pairs(rows, 200.0) == {(0, 1), (1, 2)}


def test_words_of_a_reading_as_numbers() -> None:
    """Open is infinite, joined is nothing, not measured is no number."""
    found = ohms([[0.0, "open", None], ["open", 0.0, "joined"], [None, "joined", 0.0]])
    assert found[0][1] == math.inf
    assert found[1][2] == 0
    assert math.isnan(found[0][2])


def test_nets_are_the_connected_components() -> None:
    """Nets of random matrices with shorts and opens are the components that networkx finds."""
    assert closure(7, 4000)


def test_a_joint_seen_in_one_direction_only_counts() -> None:
    """One direction of a joint is enough, and a contact joined to itself does not matter."""
    assert nets(4, [(3, 1), (0, 3), (2, 2)]) == [0, 0, 2, 0]


def test_a_chain_of_joints_is_one_net_however_long() -> None:
    """64 contacts joined one after the other, in any order, are one net."""
    order = np.random.default_rng(3).permutation(64).tolist()
    assert nets(64, itertools.pairwise(order)) == [0] * 64


def decides(tree: ast.Module) -> list[str]:
    """Return the limits up to which contacts count as joined that something is compared with outright."""
    compared = [node for node in ast.walk(tree) if isinstance(node, ast.Compare)]
    parts = [part for node in compared for side in (node.left, *node.comparators) for part in ast.walk(side)]
    names = [getattr(part, "attr", None) or getattr(part, "id", None) for part in parts]
    return [name for name in names if name in LIMITS]


def test_one_module_decides_what_is_joined() -> None:
    """Nothing but `is_joined` is asked whether contacts count as joined: no limit of that is compared elsewhere."""
    for path in ROOM.rglob("*.py"):
        if path != OWNER:
            assert decides(ast.parse(path.read_text(encoding="utf-8"))) == [], path


def test_a_comparison_elsewhere_is_seen() -> None:
    """A limit compared outright is found, as a field, times a number, and as a constant; handed on it is not."""
    tree = ast.parse("a = x <= limits.joined_ohm\nb = 2 * used.joined_ohm > y\nc = WATCHED_OHM < z\nd = f(joined_ohm)")
    assert decides(tree) == ["joined_ohm", "joined_ohm", "WATCHED_OHM"]
