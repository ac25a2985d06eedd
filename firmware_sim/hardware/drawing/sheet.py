"""A sheet of a drawing: symbols, wires, names of nets, tables, as SVG elements that a test can read back.

Lengths are pixels of a page of A4 across. Each pin of a part is an element of class "pin" with the part's reference and
the pin's number; each wire a polyline of class "wire"; each name of a net an element of class "net" where it holds.
"""

from collections.abc import Sequence
from html import escape

from firmware_sim.hardware.part import FREE, GROUND, Board, Part

WIDTH, HEIGHT = 1122, 794
PITCH, STUB = 20, 20
RAILS = ("VC", "3V3")
USUAL = "Resistors 1 %, 0.25 W, unless said."
SMALL, NORMAL, LARGE = 10, 12, 18
STYLE = (
    "text{font-family:'DejaVu Sans',Arial,sans-serif;fill:#000}"
    ".wire,.symbol{fill:none;stroke:#000;stroke-width:1.4}.body{fill:#fff;stroke:#000;stroke-width:1.4}"
    ".solid{fill:#000}.thin{stroke:#999;stroke-width:0.6}"
)
FINE, STRONG_W, STRONG_V = 0.005, 1.0, 200.0  # a tolerance below, a rating above, stands beside the value
Point = tuple[float, float]


def value_said(part: Part) -> str:
    """Return a part's value with what is not usual of it: 100k 0.1 %, 3k 2 W 250 V."""
    kind = part.kind
    fine = f" {kind.tolerance * 100:g} %" if kind.tolerance is not None and kind.tolerance < FINE else ""
    watt = f" {kind.watt:g} W" if kind.watt is not None and kind.watt > STRONG_W else ""
    volt = f" {kind.volt:g} V" if kind.volt is not None and kind.volt > STRONG_V else ""
    return kind.value + fine + watt + volt


class Sheet:
    """One sheet while it is drawn; `text` gives its SVG."""

    def __init__(self, board: Board, title: str, number: int, count: int) -> None:
        """Begin a sheet with its title and what must be known of every sheet."""
        self.board = board
        self.parts: list[str] = []
        self.write(30, 34, title, LARGE)
        unbuilt = "Nobody has built this board; compare pins with data sheets."
        self.write(30, HEIGHT - 18, f"{board.title}. Sheet {number} of {count}. {unbuilt} {USUAL}", SMALL)

    def text(self) -> str:
        """Return the sheet as SVG."""
        size = f'width="{WIDTH}" height="{HEIGHT}"'
        head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" {size}>'
        page = f'<rect {size} fill="#fff"/>'
        return "\n".join((head, f"<style>{STYLE}</style>", page, *self.parts, "</svg>")) + "\n"

    def write(
        self, x: float, y: float, text: str, size: int = NORMAL, anchor: str = "start", bold: bool = False
    ) -> None:
        """Write some words; y is their base line."""
        weight = ' font-weight="bold"' if bold else ""
        look = f'font-size="{size}" text-anchor="{anchor}"{weight}'
        self.parts.append(f'<text x="{x:g}" y="{y:g}" {look}>{escape(text)}</text>')

    def wire(self, *points: Point) -> None:
        """Draw a wire through some points."""
        self.parts.append(f'<polyline class="wire" points="{" ".join(f"{x:g},{y:g}" for x, y in points)}"/>')

    def dot(self, x: float, y: float) -> None:
        """Mark where wires are joined."""
        self.parts.append(f'<circle class="solid" cx="{x:g}" cy="{y:g}" r="3"/>')

    def line(self, *points: Point, body: bool = False) -> None:
        """Draw a line of a symbol, which joins nothing."""
        kind = "body" if body else "symbol"
        self.parts.append(f'<polyline class="{kind}" points="{" ".join(f"{x:g},{y:g}" for x, y in points)}"/>')

    def box(self, x: float, y: float, width: float, height: float) -> None:
        """Draw a box."""
        self.parts.append(f'<rect class="body" x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}"/>')

    def pin(self, part: Part, number: str, x: float, y: float) -> None:
        """Mark where a pin of a part is."""
        which = f'data-part="{part.reference}" data-pin="{escape(number)}"'
        self.parts.append(f'<circle class="pin" {which} cx="{x:g}" cy="{y:g}" r="0"/>')

    def net(self, net: str, x: float, y: float, side: str = "right") -> None:
        """Write a net's name at a point, to its right, left, above or below; ground and rails have their signs."""
        self.parts.append(f'<circle class="net" data-net="{escape(net)}" cx="{x:g}" cy="{y:g}" r="0"/>')
        if net == GROUND and side == "below":
            for half, drop in ((10, 6), (6, 10), (2, 14)):
                self.line((x - half, y + drop), (x + half, y + drop))
            self.line((x, y), (x, y + 6))
            return
        if side == "above":
            if net in RAILS:
                self.line((x - 12, y), (x + 12, y))
            self.write(x, y - 7, net, NORMAL, "middle", bold=True)
        elif side == "below":
            self.write(x, y + 14, net, NORMAL, "middle", bold=True)
        else:
            away, anchor = (4, "start") if side == "right" else (-4, "end")
            self.write(x + away, y + 4, net, NORMAL, anchor, bold=True)

    def two(self, reference: str, x: float, y: float, upright: bool = False, turned: bool = False) -> None:
        """Draw a resistor or capacitor, 80 long, from its first pin at (x, y) right or down; turned: its second."""
        part = self.board.part(reference)
        self._between(part, ("2", "1") if turned else ("1", "2"), x, y, upright, value_said(part))

    def section(self, reference: str, left: str, x: float, y: float) -> None:
        """Draw one resistor of a network across, from its pin `left` to the pin opposite it."""
        part = self.board.part(reference)
        right = str(len(part.nets) + 1 - int(left))
        self._between(
            part,
            (left, right),
            x,
            y,
            False,
            f"{part.kind.value.rpartition(' ')[2]} {100 * (part.kind.tolerance or 0):g} %",
        )
        self.write(x + 2, y - 5, left, SMALL)
        self.write(x + 78, y - 5, right, SMALL, "end")

    def switch(self, reference: str, x: float, y: float) -> None:
        """Draw a P-channel FET: its source at (x, y), its drain 80 below, its gate 40 to the left."""
        part = self.board.part(reference)
        for number, px, py in (("2", x, y), ("3", x, y + 80), ("1", x - 40, y + 40)):
            self.pin(part, number, px, py)
        self.line((x - 40, y + 40), (x - 22, y + 40))
        self.line((x - 22, y + 22), (x - 22, y + 58))
        self.line((x - 16, y + 20), (x - 16, y + 60))
        for rise in (24, 56):
            self.line((x - 16, y + rise), (x, y + rise), (x, y if rise == 24 else y + 80))
        self.line((x - 16, y + 40), (x, y + 40), (x, y + 24))
        self.line((x - 8, y + 36), (x, y + 40), (x - 8, y + 44))
        self.write(x + 10, y + 36, f"{reference} {part.kind.value}")
        for letter, dx, dy in (("G 1", -40, 36), ("S 2", 5, 14), ("D 3", 5, 76)):
            self.write(x + dx, y + dy, letter, SMALL)

    def shunt(self, reference: str, x: float, y: float) -> None:
        """Draw a shunt regulator: its cathode at (x, y), its anode 80 below, its reference 40 to the left."""
        part = self.board.part(reference)
        for number, px, py in (("3", x, y), ("2", x, y + 80), ("1", x - 40, y + 40)):
            self.pin(part, number, px, py)
        self.line((x, y), (x, y + 30))
        self.line((x - 16, y + 36), (x - 12, y + 30), (x + 12, y + 30), (x + 16, y + 24))
        self.line((x, y + 30), (x - 12, y + 52), (x + 12, y + 52), (x, y + 30), body=True)
        self.line((x, y + 52), (x, y + 80))
        self.line((x - 40, y + 40), (x - 8, y + 40))
        self.write(x + 20, y + 42, f"{reference} {part.kind.value}")
        for letter, dx, dy in (("R", -38, 36), ("K", 5, 14), ("A", 5, 72)):
            self.write(x + dx, y + dy, letter, SMALL)

    def _between(self, part: Part, pins: tuple[str, str], x: float, y: float, upright: bool, value: str) -> None:
        def at(along: float, across: float) -> Point:
            return (x + across, y + along) if upright else (x + along, y + across)

        for number, along in zip(pins, (0, 80), strict=True):
            self.pin(part, number, *at(along, 0))
        if part.kind.name == "capacitor":
            self.line(at(0, 0), at(36, 0))
            self.line(at(44, 0), at(80, 0))
            self.line(at(36, -14), at(36, 14))
            self.line(at(44, -14), at(44, 14))
        else:
            self.line(at(0, 0), at(20, 0))
            self.line(at(60, 0), at(80, 0))
            self.line(at(20, -8), at(60, -8), at(60, 8), at(20, 8), at(20, -8), body=True)
        if upright:
            self.write(x + 18, y + 36, part.reference)
            self.write(x + 18, y + 52, value)
        else:
            self.write(x + 40, y - 18, part.reference, anchor="middle")
            self.write(x + 40, y + 28, value, anchor="middle")

    def diode(self, x: float, y: float) -> None:
        """Draw a diode that lets current up, 60 high, its cathode at (x, y)."""
        self.line((x, y), (x, y + 20))
        self.line((x - 10, y + 20), (x + 10, y + 20))
        self.line((x, y + 20), (x - 10, y + 40), (x + 10, y + 40), (x, y + 20), body=True)
        self.line((x, y + 40), (x, y + 60))

    def clamp(self, reference: str, x: float, y: float) -> None:
        """Draw a dual diode, 120 high: its cathode at (x, y), the middle 60 below, its anode at the end."""
        part = self.board.part(reference)
        for number, drop in (("2", 0), ("3", 60), ("1", 120)):
            self.pin(part, number, x, y + drop)
        self.diode(x, y)
        self.diode(x, y + 60)
        self.write(x + 16, y + 28, f"{reference} {part.kind.value}")
        for number, drop in (("2", 12), ("3", 56), ("1", 116)):
            self.write(x + 5, y + drop, number, SMALL)

    def amplifier(self, reference: str, number: int, x: float, y: float) -> None:
        """Draw one amplifier: + at (x, y), - at (x, y + 40), its output at (x + 100, y + 20)."""
        part = self.board.part(reference)
        ends = {f"IN{number}+": (x, y), f"IN{number}-": (x, y + 40), f"OUT{number}": (x + 100, y + 20)}
        self.line((x + 20, y - 20), (x + 20, y + 60), (x + 80, y + 20), (x + 20, y - 20), body=True)
        for name, (px, py) in ends.items():
            (pin,) = (pin for pin in part.kind.pins if pin.name == name)
            self.pin(part, pin.number, px, py)
            left = px == x
            self.line((px, py), (px + 20 if left else px - 20, py))
            self.write(px + (14 if left else -14), py - 4, pin.number, SMALL, "end" if left else "start")
        self.write(x + 25, y + 5, "+")
        self.write(x + 25, y + 45, "-")
        self.write(x + 30, y + 25, reference)

    def chip(self, reference: str, x: float, y: float, width: float, left: Sequence[str], right: Sequence[str]) -> None:
        """Draw a part as a box seen from above with its pins by their numbers, and what each is soldered to."""
        part = self.board.part(reference)
        rows = max(len(left), len(right))
        self.box(x, y, width, rows * PITCH + 10)
        self.write(x + width / 2, y - 8, f"{reference}  {part.kind.value}", NORMAL, "middle", bold=True)
        for numbers, edge, step in ((left, x, -1), (right, x + width, 1)):
            for row, number in enumerate(numbers):
                (place,) = (at for at, pin in enumerate(part.kind.pins) if pin.number == number)
                py = y + 15 + row * PITCH
                self._chip_pin(part, place, edge, py, step)

    def _chip_pin(self, part: Part, place: int, edge: float, y: float, step: int) -> None:
        pin, net = part.kind.pins[place], part.nets[place]
        end = edge + step * STUB
        inward, outward = ("start", "end") if step < 0 else ("end", "start")
        if pin.name != pin.number:
            self.write(edge - step * 5, y + 4, pin.name, SMALL, inward)
        self.write(edge + step * 3, y - 3, pin.number, SMALL, outward)
        self.line((edge, y), (end, y))
        if net == FREE:
            self.line((end - 4, y - 4), (end + 4, y + 4))
            self.line((end - 4, y + 4), (end + 4, y - 4))
            return
        self.pin(part, pin.number, end, y)
        self.net(net, end, y, "left" if step < 0 else "right")

    def one_pin(self, reference: str, number: str, x: float, y: float, side: str) -> None:
        """Draw one pin of a bigger part as a flag to the left or right of a point."""
        part = self.board.part(reference)
        (pin,) = (pin for pin in part.kind.pins if pin.number == number)
        text = f"{reference}.{number}" + ("" if pin.name == number else f" {pin.name}")
        width = 12 + 7.5 * len(text)
        self.pin(part, number, x, y)
        self.box(x if side == "right" else x - width, y - 11, width, 22)
        self.write(x + width / 2 * (1 if side == "right" else -1), y + 4, text, NORMAL, "middle")

    def table(self, x: float, y: float, rows: Sequence[Sequence[str]], widths: Sequence[int], name: str) -> None:
        """Write a table, its first row the head; each cell has the class "cell" and its row and column."""
        height = 17
        for number, row in enumerate(rows):
            left = x
            for column, (cell, width) in enumerate(zip(row, widths, strict=True)):
                weight = ' font-weight="bold"' if number == 0 else ""
                self.parts.append(
                    f'<text class="cell" data-table="{name}" data-row="{number}" data-column="{column}" x="{left:g}" '
                    f'y="{y + number * height:g}" font-size="{NORMAL}"{weight}>{escape(cell)}</text>'
                )
                left += width
            below = y + number * height + 4
            self.parts.append(f'<line class="thin" x1="{x:g}" y1="{below:g}" x2="{x + sum(widths):g}" y2="{below:g}"/>')
