"""A board as a netlist file that free editors of circuit boards import: KiCad's netlist, an S-expression.

Form: KiCad's documentation of its intermediate netlist, and what its reader (kicad_netlist_reader.cpp) asks for: each
component has a reference, a value, a footprint and a path of time stamps; each net a code from 1, a name, and nodes.
"""

import uuid

from firmware_sim.hardware.part import Board, Part

VERSION = "E"
STAMPS = uuid.UUID("5e0f2b5c-62f1-5d0b-9a34-1f0f6cf0a7d1")  # every part's stamp is made of it, so files are alike


def netlist_text(board: Board) -> str:
    """Return the file's text."""
    lines = [f"(export (version {_quoted(VERSION)})"]
    lines.append(f"  (design (source {_quoted(board.name)}) (tool {_quoted('netlist of the tester')}))")
    lines.append("  (components")
    lines += [_component(board, part) for part in board.parts]
    lines.append("  )")
    lines.append("  (nets")
    for code, (net, pins) in enumerate(board.nets().items(), 1):
        lines.append(f"    (net (code {_quoted(str(code))}) (name {_quoted(net)})")
        for part, pin in pins:
            lines.append(
                f"      (node (ref {_quoted(part.reference)}) (pin {_quoted(pin.number)}) "
                f"(pinfunction {_quoted(pin.name)}) (pintype {_quoted(pin.use)}))"
            )
        lines.append("    )")
    lines.append("  )\n)\n")
    return "\n".join(lines)


def _component(board: Board, part: Part) -> str:
    kind = part.kind
    value = kind.value + ("" if kind.tolerance is None else f" {kind.tolerance * 100:g}%")
    value += "" if kind.watt is None or kind.watt < 1 else f" {kind.watt:g}W"
    library = (
        f"(libsource (lib {_quoted(board.name)}) (part {_quoted(kind.name)}) (description {_quoted(kind.ask_for)}))"
    )
    stamp = uuid.uuid5(STAMPS, f"{board.name} {part.reference}")
    return (
        f"    (comp (ref {_quoted(part.reference)}) (value {_quoted(value)}) (footprint {_quoted(kind.footprint)})\n"
        f"      {library}\n"
        f"      (property (name {_quoted('Purpose')}) (value {_quoted(part.purpose)}))\n"
        f'      (sheetpath (names "/") (tstamps "/")) (tstamps {_quoted(str(stamp))}))'
    )


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
