"""The drawing, read back as a reader's eyes would: what its wires, names and tables join is the netlist."""

import re
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import CONTACTS, bench
from firmware_sim.hardware.command import board_command
from firmware_sim.hardware.drawing.sheets import sheets
from firmware_sim.hardware.part import FREE, Board

BOARDS = (bench(), bare(), bare(clamped=False))
Point = tuple[float, float]
SVG = "{http://www.w3.org/2000/svg}"


@dataclass
class Drawn:
    """What one sheet shows: pins, names of nets, wires, dots, cells of its table; each where it stands."""

    pins: list[tuple[str, str, Point]] = field(default_factory=list)
    names: list[tuple[str, Point]] = field(default_factory=list)
    wires: list[list[Point]] = field(default_factory=list)
    dots: set[Point] = field(default_factory=set)
    cells: defaultdict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    words: list[tuple[str, float, float]] = field(default_factory=list)


def read(text: str) -> Drawn:
    """Read a sheet with another library's parser."""
    found = Drawn()
    for one in ElementTree.fromstring(text).iter():
        kind = one.get("class")
        if one.tag == f"{SVG}circle":
            at = (float(one.attrib["cx"]), float(one.attrib["cy"]))
            if kind == "pin":
                found.pins.append((one.attrib["data-part"], one.attrib["data-pin"], at))
            elif kind == "net":
                found.names.append((one.attrib["data-net"], at))
            else:
                found.dots.add(at)
        elif one.tag == f"{SVG}polyline" and kind == "wire":
            points = [tuple(map(float, pair.split(","))) for pair in one.attrib["points"].split()]
            found.wires.append([(x, y) for x, y in points])
        elif one.tag == f"{SVG}text":
            if kind != "cell":
                found.words.append((one.text or "", float(one.attrib["x"]), float(one.attrib["y"])))
            else:
                found.cells[int(one.attrib["data-row"])].append(one.text or "")
    return found


def on(point: Point, wire: list[Point]) -> bool:
    """Return whether a point lies on a wire, whose pieces run across or down."""
    for (x1, y1), (x2, y2) in pairwise(wire):
        assert x1 == x2 or y1 == y2, wire
        if min(x1, x2) <= point[0] <= max(x1, x2) and min(y1, y2) <= point[1] <= max(y1, y2):
            return True
    return False


class Joined:
    """Which things are joined: a forest whose roots are nets."""

    def __init__(self) -> None:
        """Begin with nothing joined."""
        self.above: dict[object, object] = {}

    def root(self, one: object) -> object:
        """Return what stands for all that is joined with a thing."""
        while self.above.setdefault(one, one) != one:
            one = self.above[one]
        return one

    def join(self, a: object, b: object) -> None:
        """Join two things."""
        self.above[self.root(a)] = self.root(b)


def nets_drawn(drawings: list[Drawn]) -> tuple[Joined, set[tuple[str, str]]]:
    """Return what all sheets join, things being ("pin", part, number) and ("net", name), and the pins drawn."""
    joined, pins = Joined(), set()
    for number, sheet in enumerate(drawings):
        things: list[tuple[object, Point]] = [(("pin", part, pin), at) for part, pin, at in sheet.pins]
        things += [(("net", name), at) for name, at in sheet.names]
        pins |= {(part, pin) for part, pin, _ in sheet.pins}
        for place, wire in enumerate(sheet.wires):
            for thing, at in things:
                if on(at, wire):
                    joined.join(thing, ("wire", number, place))
            for other, second in enumerate(sheet.wires):
                if any(on(end, second) for end in (wire[0], wire[-1])):
                    joined.join(("wire", number, place), ("wire", number, other))
        for thing, at in things:
            for other_thing, where in things:
                if at == where:
                    joined.join(thing, other_thing)
    return joined, pins


def template(board: Board, contact: str) -> dict[str, str]:
    """Return the name that stands in the table for each name of the first contact's cell, "R1" and "U2.21" alike."""
    rows = [sheet.cells for sheet in map(read, sheets(board).values()) if sheet.cells]
    (cells,) = rows
    (first,) = [row for row in cells.values() if row[0] == CONTACTS[0]]
    (own,) = [row for row in cells.values() if row[0] == contact]
    return {a.split(" ")[0]: b.split(" ")[0] for a, b in zip(first[1:], own[1:], strict=True)}


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_the_drawing_is_the_netlist(board: Board) -> None:
    """Wires and names join what the netlist joins, no more, no less; the table makes the other cells of the first."""
    joined, pins = nets_drawn([read(text) for text in sheets(board).values()])
    nets = {
        (part.reference, pin.number): net
        for part in board.parts
        for pin, net in zip(part.kind.pins, part.nets, strict=True)
        if net != FREE
    }
    for one in pins:
        assert joined.root(("pin", *one)) == joined.root(("net", nets[one])), one
    roots = [joined.root(("net", net)) for net in {nets[one] for one in pins}]
    assert len(set(roots)) == len(roots), "two nets are one in the drawing"
    missing = set(nets) - pins
    cell = {one for one in pins if nets[one].split("_")[0] == CONTACTS[0]}
    for contact in CONTACTS[1:]:
        swap = template(board, contact)
        for part, pin in cell:
            whole = swap.get(f"{part}.{pin}", f"{swap.get(part, part)}.{pin}").split(".")
            other = (whole[0], whole[1])
            first = nets[part, pin]
            wanted = re.sub(rf"^{CONTACTS[0]}(?=$|_)", contact, first)
            if part.startswith("D") and first in ("VC", "3V3", "GND"):
                wanted = first
            assert nets.get(other) == wanted, (contact, part, pin, other)
            missing.discard(other)
        clamp = swap.get("D1")
        missing -= {(clamp, pin) for pin in ("1", "2")} if clamp else set()
    assert missing == set()


def test_a_wrong_wire_is_seen() -> None:
    """Move one name or one end of a wire: the drawing is no longer the netlist."""
    text = sheets(bench())["bench-5-amplifiers.svg"]
    for before, after in (
        ('data-net="BUF_A" cx="330"', 'data-net="BUF_B" cx="330"'),
        ('points="660,300 700,300"', 'points="660,300 690,300"'),
    ):
        spoilt = text.replace(before, after)
        assert spoilt != text
        joined, pins = nets_drawn([read(spoilt)])
        nets = {
            (part.reference, pin.number): net
            for part in bench().parts
            for pin, net in zip(part.kind.pins, part.nets, strict=True)
        }
        right = all(joined.root(("pin", *one)) == joined.root(("net", nets[one])) for one in pins)
        roots = [joined.root(("net", net)) for net in {nets[one] for one in pins}]
        assert not (right and len(set(roots)) == len(roots))


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_wires_that_meet_have_a_dot(board: Board) -> None:
    """Where three ends meet there is a dot; where two wires only cross there is none."""
    for text in sheets(board).values():
        drawn = read(text)
        ends = Counter(at for _, _, at in drawn.pins)
        for wire in drawn.wires:
            ends.update((wire[0], wire[-1]))
        for at in {at for wire in drawn.wires for at in (wire[0], wire[-1])} | {at for _, _, at in drawn.pins}:
            through = sum(2 for wire in drawn.wires if on(at, wire) and at not in (wire[0], wire[-1]))
            if ends[at] + through > 2:
                assert at in drawn.dots, at
        for dot in drawn.dots:
            assert sum(on(dot, wire) for wire in drawn.wires) + ends[dot] > 1, dot


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_every_sheet_says_what_it_is(board: Board) -> None:
    """Each says that nobody built it; the bare board without clamps warns in capitals; words stay on the page."""
    for text in sheets(board).values():
        words = read(text).words
        assert any("Nobody has built this board" in word for word, _, _ in words)
        assert any("Resistors 1 %, 0.25 W, unless said" in word for word, _, _ in words)
        assert all(0 < x < 1122 and 0 < y < 794 for _, x, y in words)
    said = " ".join(word for text in sheets(board).values() for word, _, _ in read(text).words)
    assert ("NEVER NEAR POWER OVER THE CABLE" in said) == (not board.stands_57v)


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_values_stand_beside_their_parts(board: Board) -> None:
    """The word after a reference is its value, with what is not usual of it: its tolerance, its watts."""
    after: dict[str, str] = {}
    for text in sheets(board).values():
        words = [word for word, _, _ in read(text).words]
        after |= {first: second for first, second in pairwise(words) if re.fullmatch(r"(R|C|RN)\d+", first)}
    drawn = {part.reference: part.kind for part in board.parts if part.kind.name in ("resistor", "capacitor")}
    alone = {one: word for one, word in after.items() if one in drawn and word[0].isdigit()}
    assert alone
    for reference, word in alone.items():
        assert word.split(" ")[0] == drawn[reference].value, reference
    if board.name == "bench":
        assert len(alone) == 2 + 22 + 11  # R1 and R21 of the cell, R41 to R62, C1 to C11
        assert [alone[one] for one in ("R1", "R21", "R43", "R44")] == [
            "3k 2 W 250 V",
            "22k 250 V",
            "100k 0.1 %",
            "100k",
        ]


def test_the_command_writes_all_sheets_or_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where one of the files is there already nothing is written."""
    folder = tmp_path / "drawing"
    assert board_command(["bench", "--drawing", str(folder)]) == 0
    assert len(capsys.readouterr().out.splitlines()) == len(list(folder.iterdir())) == 5
    (folder / "bench-1-contacts.svg").unlink()
    assert board_command(["bench", "--drawing", str(folder)]) == 2
    assert "bench-2-controller.svg: File exists" in capsys.readouterr().err
    assert not (folder / "bench-1-contacts.svg").exists()
    assert board_command(["bench", "--drawing", str(tmp_path / "a" / "b")]) == 2
    assert "No such file" in capsys.readouterr().err
