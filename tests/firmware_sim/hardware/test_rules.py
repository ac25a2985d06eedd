"""The netlists keep the rules, and whatever is taken away or spoilt is noticed."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.kinds import CLAMP, capacitor, resistor
from firmware_sim.hardware.part import FREE, GROUND, Board, Kind, Part
from firmware_sim.hardware.rules import broken_rules

BOARDS = (bench(), bare(), bare(clamped=False))


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_a_board_keeps_every_rule(board: Board) -> None:
    """Nothing is said of a board as it is."""
    assert broken_rules(board) == ()


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_every_part_is_missed(board: Board) -> None:
    """Take any one part away: a rule is broken."""
    for part in board.parts:
        without = replace(board, parts=tuple(other for other in board.parts if other is not part))
        assert broken_rules(without), f"{board.name} without {part.reference}, {part.purpose}"


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_every_wire_is_missed(board: Board) -> None:
    """Leave any pin unsoldered that is soldered: a rule is broken; but for one of several grounds of a part."""
    for part in board.parts:
        for place, net in enumerate(part.nets):
            if net == FREE or part.nets.count(net) > 1:
                continue
            nets = (*part.nets[:place], FREE, *part.nets[place + 1 :])
            if part.kind.name == "multiplexer" and net == GROUND and part.kind.pins[place].name == "Y11":
                continue  # the zero that the self-test looks at: a free channel is no broken rule
            assert broken_rules(_with(board, part.reference, nets=nets)), f"{part.reference} pin {place + 1}, {net}"


def _with(board: Board, reference: str, nets: tuple[str, ...] | None = None, kind: Kind | None = None) -> Board:
    changed = board.part(reference)
    changed = replace(changed, nets=nets or changed.nets, kind=kind or changed.kind)
    parts = tuple(changed if part.reference == reference else part for part in board.parts)
    assert parts != board.parts
    return replace(board, parts=parts)


def _kind(reference: str, changed: Callable[[Kind], Kind]) -> Callable[[Board], Board]:
    return lambda board: _with(board, reference, kind=changed(board.part(reference).kind))


def _added(*parts: Part) -> Callable[[Board], Board]:
    return lambda board: replace(board, parts=(*board.parts, *parts))


SPOILT: dict[str, tuple[Callable[[Board], Board], str]] = {
    "a drive resistor of 1 W": (_kind("R1", lambda kind: replace(kind, watt=1.0)), "R1 on contact N1 takes 1.09 W"),
    "a sense resistor for 50 V": (_kind("R21", lambda kind: replace(kind, volt=50)), "R21 on contact N1"),
    "a clamp the wrong way round": (
        lambda board: _with(board, "D1", nets=("VC", GROUND, "N1_K")),
        "no clamp behind R1 of contact N1",
    ),
    "a diode on a contact": (_added(Part("D99", CLAMP, (GROUND, "VC", "N1"), "")), "D99 is on contact N1"),
    "a resistor between a net and itself": (_added(Part("R99", resistor(10), ("VC", "VC"), "")), "R99 does nothing"),
    "a resistor in series with an input": (
        lambda board: _with(_added(Part("R99", resistor(10), ("CS", "CS2"), ""))(board), "U2", nets=_renamed(board)),
        "R99 does nothing: no current can flow from CS to CS2",
    ),
    "two outputs on one net": (
        lambda board: _with(board, "U6", nets=("X11_A", *board.part("U6").nets[1:])),
        "net X11_A has two outputs",
    ),
    "a small capacitor for a supply pin": (
        _kind("C6", lambda kind: replace(kind, quantity=10e-9)),
        "decouple U3 U4 U5 U6 U7",
    ),
    "a capacitor for 6 V": (_kind("C11", lambda kind: replace(kind, volt=6)), "C11 is good for 6 V only"),
    "two parts of one name": (_added(Part("R1", resistor(10), ("VC", GROUND), "")), "two parts are called R1"),
    "a part that nothing needs": (_added(Part("C99", capacitor(1e-9, 0.1, ""), ("X", "Y"), "")), "net X joins nothing"),
    "no bleed": (_kind("R62", lambda kind: replace(kind, quantity=10_000)), "nothing bleeds VC"),
}


def _renamed(board: Board) -> tuple[str, ...]:
    return tuple("CS2" if net == "CS" else net for net in board.part("U2").nets)


@pytest.mark.parametrize("name", SPOILT)
def test_what_is_spoilt_is_said(name: str) -> None:
    """Each of many wrong boards gets the sentence that it deserves."""
    spoil, sentence = SPOILT[name]
    assert any(sentence in said for said in broken_rules(spoil(bench()))), broken_rules(spoil(bench()))


def test_numbers_of_parts() -> None:
    """The counts that the documents name; the second board is the first with a clamp for each contact."""
    assert [len(board.parts) for board in BOARDS] == [101, 39, 21]
    clamps = [part for part in bare().parts if part.kind == CLAMP]
    assert len(clamps) == 18


def test_a_part_refuses_what_cannot_be() -> None:
    """A net too few, a pin number twice, a quantity of nothing."""
    with pytest.raises(ValueError, match="R1: 1 nets for 2 pins"):
        Part("R1", resistor(10), ("VC",), "")
    with pytest.raises(ValueError, match="two pins have one number"):
        replace(CLAMP, pins=(CLAMP.pins[0], CLAMP.pins[0], CLAMP.pins[1]))
    with pytest.raises(ValueError, match="no quantity"):
        replace(resistor(10), quantity=0.0)
    with pytest.raises(KeyError, match="no one pin"):
        bench().part("U1").net("GND2")
