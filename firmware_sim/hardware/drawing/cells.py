"""What each of the 18 contacts has, drawn once for the first, with a table of the parts of every contact."""

from firmware_sim.hardware.bench import CONTACTS
from firmware_sim.hardware.drawing.sheet import Sheet
from firmware_sim.hardware.part import GROUND, Board, Part, Pin

Pinned = tuple[Part, Pin]
BENCH_HEAD = ("contact", "jack", "drive", "clamp", "network, clamp", "network, port", "port", "sense", "multiplexer")
BARE_HEAD = ("contact", "jack", "resistor", "clamp", "Pico")


def _pinned(board: Board, net: str, name: str) -> Pinned:
    """Return the part of a kind's name on a net, and its pin there; ValueError unless there is just one."""
    (found,) = (pinned for pinned in board.nets()[net] if pinned[0].kind.name == name)
    return found


def _said(found: Pinned) -> str:
    part, pin = found
    return f"{part.reference}.{pin.number}" + ("" if pin.name == pin.number else f" {pin.name}")


def _bench_pins(board: Board, contact: str) -> tuple[Pinned, ...]:
    """Return the pins that a contact's cell has: jack, clamp, network twice, port, multiplexer."""
    at_clamp, at_port = f"{contact}_K", f"{contact}_P"
    return (
        _pinned(board, contact, "jack"),
        _pinned(board, at_clamp, "dual diode"),
        _pinned(board, at_clamp, "resistor network"),
        _pinned(board, at_port, "resistor network"),
        _pinned(board, at_port, "port"),
        _pinned(board, f"{contact}_S", "multiplexer"),
    )


def bench_cell(sheet: Sheet, y: float) -> None:
    """Draw the cell of the first contact, its line at y, and the table of all below."""
    board, contact = sheet.board, CONTACTS[0]
    jack, clamp, inner, outer, port, channel = _bench_pins(board, contact)
    drive = board.between(contact, f"{contact}_K", "resistor")
    sense = board.between(contact, f"{contact}_S", "resistor")
    sheet.one_pin(port[0].reference, port[1].number, 170, y, "left")
    sheet.wire((170, y), (220, y))
    sheet.net(f"{contact}_P", 195, y, "above")
    sheet.section(outer[0].reference, outer[1].number, 220, y)
    assert outer[0] is inner[0]
    sheet.wire((300, y), (360, y), (400, y))
    sheet.net(f"{contact}_K", 330, y, "above")
    sheet.dot(360, y)
    sheet.clamp(clamp[0].reference, 360, y - 60)
    sheet.net("VC", 360, y - 60, "above")
    sheet.net(GROUND, 360, y + 60, "below")
    sheet.two(drive.reference, 400, y, turned=True)
    sheet.wire((480, y), (540, y), (600, y))
    sheet.net(contact, 510, y, "above")
    sheet.dot(540, y)
    sheet.one_pin(jack[0].reference, jack[1].number, 600, y, "right")
    sheet.wire((540, y), (540, y + 70), (580, y + 70))
    sheet.two(sense.reference, 580, y + 70)
    sheet.wire((660, y + 70), (720, y + 70))
    sheet.net(f"{contact}_S", 690, y + 70, "above")
    sheet.one_pin(channel[0].reference, channel[1].number, 720, y + 70, "right")
    rows = [BENCH_HEAD]
    for contact in CONTACTS:
        jack, clamp, inner, outer, port, channel = _bench_pins(board, contact)
        drive = board.between(contact, f"{contact}_K", "resistor")
        sense = board.between(contact, f"{contact}_S", "resistor")
        middle = (drive.reference, clamp[0].reference, _said(inner), _said(outer), _said(port), sense.reference)
        rows.append((contact, _said(jack), *middle, _said(channel)))
    sheet.table(70, y + 150, rows, (80, 80, 80, 80, 140, 130, 140, 90, 140), "cells")


def bare_cell(sheet: Sheet, x: float, y: float) -> None:
    """Draw the bare board's cell of the first contact, its line at y, and the table of all below."""
    board, clamped = sheet.board, sheet.board.stands_57v
    contact = CONTACTS[0]
    chip, jack = _pinned(board, f"{contact}_P", "controller"), _pinned(board, contact, "jack")
    sheet.one_pin(chip[0].reference, chip[1].number, x + 80, y, "left")
    sheet.wire((x + 80, y), (x + 150, y), (x + 200, y))
    sheet.net(f"{contact}_P", x + 115, y, "above")
    if clamped:
        clamp = _pinned(board, f"{contact}_P", "dual diode")
        sheet.dot(x + 150, y)
        sheet.clamp(clamp[0].reference, x + 150, y - 60)
        sheet.net("3V3", x + 150, y - 60, "above")
        sheet.net(GROUND, x + 150, y + 60, "below")
    sheet.two(board.between(contact, f"{contact}_P", "resistor").reference, x + 200, y, turned=True)
    sheet.wire((x + 280, y), (x + 340, y))
    sheet.net(contact, x + 310, y, "above")
    sheet.one_pin(jack[0].reference, jack[1].number, x + 340, y, "right")
    rows = [BARE_HEAD]
    for contact in CONTACTS:
        resistor = board.between(contact, f"{contact}_P", "resistor")
        clamp_said = _pinned(board, f"{contact}_P", "dual diode")[0].reference if clamped else "none"
        chip, jack = _pinned(board, f"{contact}_P", "controller"), _pinned(board, contact, "jack")
        rows.append((contact, _said(jack), resistor.reference, clamp_said, _said(chip)))
    sheet.table(x, y + 150, rows, (90, 80, 90, 80, 120), "cells")
