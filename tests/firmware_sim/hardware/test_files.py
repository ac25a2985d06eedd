"""What a builder gets is the netlist: lists, wires, and the file for board editors, read back by other means."""

import csv
import io
import re
from collections import Counter
from pathlib import Path

import pyparsing
import pytest

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.command import board_command
from firmware_sim.hardware.lists import parts_rows, price_eur, ranges, wiring_rows
from firmware_sim.hardware.netlist_file import netlist_text
from firmware_sim.hardware.part import FREE, Board

BOARDS = (bench(), bare(), bare(clamped=False))


def _read(text: str) -> list[list[object]]:
    """Read S-expressions with a grammar of another library."""
    word = pyparsing.dbl_quoted_string | pyparsing.Word(pyparsing.printables, exclude_chars='()"')
    read: list[list[object]] = pyparsing.nested_expr(content=word).parse_string(text, parse_all=True).as_list()
    return read


def _child(node: list[object], name: str) -> list[object]:
    found = [one for one in node if isinstance(one, list) and one[0] == name]
    assert len(found) == 1, (name, node)
    return found[0]


def _text(node: list[object], name: str) -> str:
    value = _child(node, name)[1]
    assert isinstance(value, str)
    return value.strip('"')


def _lists(node: list[object]) -> list[list[object]]:
    return [one for one in node if isinstance(one, list)]


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_the_netlist_file_is_the_netlist(board: Board) -> None:
    """Every part and every wire, as the importing editor's reader asks for them; each stamp and code is there once.

    Source of the form: KiCad's documentation, "intermediate netlist structure", and its reader's comments: a component
    needs a reference, a value, a footprint "library:name" and a full path of stamps; nets count from 1.
    """
    (export,) = _read(netlist_text(board))
    assert export[0] == "export"
    assert _text(export, "version") == "E"
    components = _lists(_child(export, "components"))
    parts = {_text(one, "ref"): one for one in components}
    assert list(parts) == [part.reference for part in board.parts]
    for part in board.parts:
        assert re.fullmatch(r"[A-Za-z_0-9.]+:[A-Za-z_0-9.-]+", _text(parts[part.reference], "footprint"))
        assert _text(parts[part.reference], "value").startswith(part.kind.value)
        assert _text(_child(parts[part.reference], "sheetpath"), "tstamps") == "/"
    stamps = [_text(one, "tstamps") for one in components]
    assert len(set(stamps)) == len(stamps)
    nets = _lists(_child(export, "nets"))
    assert [_text(net, "code") for net in nets] == [str(code) for code in range(1, len(nets) + 1)]
    read = {
        (_text(node, "ref"), _text(node, "pin"), _text(net, "name"))
        for net in nets
        for node in _lists(net)
        if node[0] == "node"
    }
    assert read == {
        (part.reference, pin.number, net)
        for part in board.parts
        for pin, net in zip(part.kind.pins, part.nets, strict=True)
        if net != FREE
    }


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_the_list_of_parts_counts_every_part(board: Board) -> None:
    """Each reference stands in one row, rows add up to the last one, counts and prices alike."""
    head, *rows, last = parts_rows(board)
    assert set(map(len, [head, *rows, last])) == {len(head)}
    listed: Counter[str] = Counter()
    for row in rows:
        for one in filter(None, row[-1].split(", ")):
            first, _, end = one.partition("-")
            letter = re.sub(r"\d", "", first)
            numbers = range(int(first[len(letter) :]), int((end or first)[len(letter) :]) + 1)
            listed.update(f"{letter}{number}" for number in numbers)
    assert listed == Counter(part.reference for part in board.parts)
    assert int(last[0]) == len(board.parts) == sum(int(row[0]) for row in rows if row[-1])
    assert float(last[-2]) == pytest.approx(sum(float(row[-2]) for row in rows), abs=0.02)
    assert float(last[-2]) == pytest.approx(price_eur(board), abs=0.005)


def test_prices_of_the_boards() -> None:
    """An estimate that was made before the netlist: about 10 EUR bare, 40 to 50 EUR bench with its circuit board."""
    assert 8 <= price_eur(bare(clamped=False)) <= 12
    assert 38 <= price_eur(bench()) <= 50


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_the_table_of_wires_has_every_pin(board: Board) -> None:
    """Each soldered pin once, in the row of its net."""
    for net, count, joined in wiring_rows(board)[1:]:
        pins = [one.split(" ")[0] for one in joined.split(", ")]
        assert len(pins) == int(count)
        assert Counter(pins) == Counter(
            f"{part.reference}.{pin.number}"
            for part in board.parts
            for pin, other in zip(part.kind.pins, part.nets, strict=True)
            if other == net
        )


def test_ranges_of_references() -> None:
    """Runs are said in short, whatever their order."""
    assert ranges(["R2", "R1", "R3", "R5", "C1"]) == "C1, R1-R3, R5"


@pytest.mark.parametrize("name", ["bench", "bare", "bare-clamped"])
def test_the_command_says_that_nobody_built_it(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """On every list and on the check; as CSV each row is a row."""
    for option in ([], ["--parts"], ["--wiring"], ["--values"]):
        assert board_command([name, *option]) == 0
        assert "Nobody has built this board" in capsys.readouterr().out
    assert board_command([name, "--parts", "--csv"]) == 0
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    assert {len(row) for row in rows} == {10}


def test_a_file_is_written_whole_and_never_over_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second time it says why not, and the first file stays."""
    file = tmp_path / "bench.net"
    assert board_command(["bench", "--netlist", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == netlist_text(bench())
    assert board_command(["bare", "--netlist", str(file)]) == 2
    assert f"{file}: File exists" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == netlist_text(bench())
