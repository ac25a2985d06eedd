"""`python -m firmware_sim board`: what a builder needs of a board, each made from its netlist."""

import argparse
import errno
import sys
from pathlib import Path

from firmware_sim.hardware.bare import bare
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.deck import deck, idle
from firmware_sim.hardware.drawing.sheets import sheets
from firmware_sim.hardware.lists import Rows, comma_separated, free_pins, markdown, parts_rows, wiring_rows
from firmware_sim.hardware.netlist_file import netlist_text
from firmware_sim.hardware.part import Board
from firmware_sim.hardware.rules import broken_rules
from firmware_sim.hardware.values import values_rows

BOARDS = {board.name: board for board in (bench(), bare(clamped=False), bare())}
AT_REST = ".control\nop\nprint all\n.endc"
UNBUILT = "Nobody has built this board; prices (*) are estimates, pins and ratings from memory of data sheets."


def board_command(arguments: list[str]) -> int:
    """Print or write what was asked for; return 0, 1 if the board breaks a rule, 2 if a file cannot be written."""
    asked = _options().parse_args(arguments)
    board = BOARDS[asked.board]
    try:
        _write_all(_files(board, asked))
    except OSError as error:
        print(f"{error.filename}: {error.strerror}; nothing was written there", file=sys.stderr)
        return 2
    if asked.parts:
        _print_rows(board, parts_rows(board), asked.csv)
    elif asked.wiring:
        _print_rows(board, wiring_rows(board), asked.csv)
        print("" if asked.csv else f"Soldered to nothing: {', '.join(free_pins(board))}.\n", end="")
    elif asked.values:
        _print_rows(board, values_rows(board), asked.csv)
    elif not (asked.netlist or asked.deck or asked.drawing):
        return _print_check(board)
    return 0


def _options() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m firmware_sim board",
        description=f"What a builder needs of a board. {UNBUILT}",
        epilog="Without an option the board is held against the rules of its netlist.",
    )
    parser.add_argument("board", choices=tuple(BOARDS))
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--parts", action="store_true", help="print the list of parts")
    what.add_argument("--wiring", action="store_true", help="print the table of wires")
    what.add_argument("--values", action="store_true", help="print what the simulator takes from the parts")
    what.add_argument("--drawing", metavar="FOLDER", help="write the drawing into a folder, a sheet a file, SVG")
    what.add_argument("--netlist", metavar="FILE", help="write a netlist file that KiCad imports")
    what.add_argument("--deck", metavar="FILE", help="write the idle board as a deck for ngspice")
    parser.add_argument("--csv", action="store_true", help="print CSV instead of Markdown")
    return parser


def _print_rows(board: Board, rows: Rows, as_csv: bool) -> None:
    if as_csv:
        print(comma_separated(rows), end="")
        return
    print(f"{board.title}. {UNBUILT}\n")
    print(markdown(rows))


def _print_check(board: Board) -> int:
    broken = broken_rules(board)
    for sentence in broken:
        print(sentence)
    print(f"{board.name}: {len(board.parts)} parts, {len(board.nets())} nets, {len(broken)} rules broken. {UNBUILT}")
    return 1 if broken else 0


def _files(board: Board, asked: argparse.Namespace) -> dict[Path, str]:
    """Return the files that were asked for, with what goes into them."""
    if asked.netlist:
        return {Path(asked.netlist): netlist_text(board)}
    if asked.deck:
        return {Path(asked.deck): deck(board, idle(board), analysis=AT_REST)}
    if asked.drawing:
        return {Path(asked.drawing) / name: text for name, text in sheets(board).items()}
    return {}


def _write_all(files: dict[Path, str]) -> None:
    """Write files that are not there yet, all or none; a folder is made where its parent is there."""
    for path in files:
        if path.exists():
            raise FileExistsError(errno.EEXIST, "File exists", str(path))
    written = []
    try:
        for path, text in files.items():
            path.parent.mkdir(exist_ok=True)
            with path.open("x", encoding="utf-8") as file:
                written.append(path)
                file.write(text)
    except OSError:
        for path in written:
            path.unlink()
        raise
    for path in written:
        print(path)
