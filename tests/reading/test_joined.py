import ast
import math
from pathlib import Path

import pytest

import wiremap
from wiremap.reading.joined import is_joined, joined_pairs
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
