"""Where everything stands on the sheets of each board."""

from collections.abc import Callable
from itertools import count

from firmware_sim.hardware.drawing.cells import bare_cell, bench_cell
from firmware_sim.hardware.drawing.sheet import LARGE, SMALL, Sheet
from firmware_sim.hardware.part import GROUND, Board

FOR_ALL = "Drawn for contact N1; the table names the parts of all eighteen. Pin 1 of each resistor is at the contact."


def sheets(board: Board) -> dict[str, str]:
    """Return the sheets of a board as SVG by the names of their files."""
    plans = BENCH if board.name == "bench" else BARE
    found = {}
    for number, (name, title, draw) in enumerate(plans, 1):
        sheet = Sheet(board, title, number, len(plans))
        draw(sheet)
        found[f"{board.name}-{number}-{name}.svg"] = sheet.text()
    return found


def _numbers(first: int, last: int) -> list[str]:
    step = 1 if last > first else -1
    return [str(number) for number in range(first, last + step, step)]


def _controller(sheet: Sheet, x: float, y: float) -> None:
    sheet.chip("U1", x, y, 150, _numbers(1, 20), _numbers(40, 21))
    sheet.write(x + 75, y + 430, "seen from above, USB at the top", SMALL, "middle")


def _supply(sheet: Sheet) -> None:
    _controller(sheet, 140, 100)
    sheet.two("R59", 560, 90, upright=True, turned=True)
    sheet.net("3V3", 560, 90, "above")
    sheet.wire((520, 170), (560, 170), (640, 170))
    sheet.dot(560, 170)
    sheet.net("GATE", 520, 170, "left")
    sheet.switch("Q1", 680, 130)
    sheet.wire((680, 130), (680, 90))
    sheet.net("3V3", 680, 90, "above")
    sheet.wire((680, 210), (680, 230))
    sheet.net("VC", 680, 230, "right")
    sheet.net("VC", 540, 290, "left")
    sheet.wire((540, 290), (600, 290), (760, 290), (860, 290), (980, 290))
    sheet.two("R60", 600, 290, upright=True)
    sheet.two("R61", 600, 370, upright=True)
    sheet.net(GROUND, 600, 450, "below")
    sheet.wire((600, 370), (720, 370))
    sheet.net("SHUNT_REF", 672, 370, "above")
    sheet.wire((760, 290), (760, 330))
    sheet.shunt("U8", 760, 330)
    sheet.net(GROUND, 760, 410, "below")
    sheet.two("R62", 860, 290, upright=True)
    sheet.net(GROUND, 860, 370, "below")
    sheet.two("C11", 980, 290, upright=True)
    sheet.net(GROUND, 980, 370, "below")
    for x, y in ((600, 290), (760, 290), (860, 290), (600, 370)):
        sheet.dot(x, y)
    sheet.write(520, 540, "Beside the supply pins of each chip:")
    for place, number in enumerate(range(5, 11)):
        x, part = 560 + 90 * place, sheet.board.part(f"C{number}")
        sheet.two(part.reference, x, 580, upright=True)
        sheet.net("VC", x, 580, "above")
        sheet.net(part.nets[1], x, 660, "below")
        sheet.write(x + 18, 648, part.purpose.rpartition(" ")[2])


def _cells(sheet: Sheet) -> None:
    sheet.write(70, 66, FOR_ALL)
    bench_cell(sheet, 170)


def _ports(sheet: Sheet) -> None:
    for reference, x in (("U2", 200), ("U3", 720)):
        sheet.chip(reference, x, 120, 170, _numbers(1, 14), _numbers(28, 15))
        sheet.write(x + 85, 425, "seen from above, notch at the top", SMALL, "middle")
        sheet.write(x + 85, 445, sheet.board.part(reference).purpose, SMALL, "middle")
    sheet.write(200, 520, "The near port's ground, which LIFT raises by some 13 mV:")
    sheet.net("LIFT", 240, 580, "left")
    sheet.two("R42", 240, 580)
    sheet.wire((320, 580), (380, 580), (440, 580))
    sheet.net("NGND", 380, 580, "above")
    sheet.two("R41", 440, 580)
    sheet.wire((520, 580), (560, 580), (560, 590))
    sheet.net(GROUND, 560, 590, "below")


def _looking(sheet: Sheet) -> None:
    for side, chip, x, first, capacitor in (("A", "U4", 60, 43, 1), ("B", "U5", 600, 48, 3)):
        sheet.chip(chip, x + 130, 90, 160, _numbers(1, 12), _numbers(24, 13))
        sheet.write(x + 210, 350, "seen from above, notch at the top", SMALL, "middle")
        up, down, step, pedestal = (f"R{number}" for number in range(first, first + 4))
        bus = x + 340
        for y, resistor, net, farad in (
            (420, step, f"STEP_{side}", f"C{capacitor}"),
            (510, pedestal, f"PED_{side}", f"C{capacitor + 1}"),
        ):
            sheet.net(net, x + 80, y, "left")
            sheet.two(resistor, x + 80, y)
            sheet.wire((x + 160, y), (x + 220, y))
            sheet.net(f"{net}_C", x + 190, y, "below")
            sheet.two(farad, x + 220, y)
            sheet.wire((x + 300, y), (bus, y))
        for y, resistor, net in ((600, up, f"UP_{side}"), (690, down, f"DN_{side}")):
            sheet.net(net, x + 220, y, "left")
            sheet.two(resistor, x + 220, y)
            sheet.wire((x + 300, y), (bus, y))
        sheet.wire((bus, 420), (bus, 510), (bus, 600), (bus, 690))
        sheet.wire((bus, 420), (bus + 40, 420))
        sheet.net(f"COM_{side}", bus + 40, 420, "right")
        for y in (420, 510, 600):
            sheet.dot(bus, y)


def _buffer(sheet: Sheet, number: int, side: str, y: float, series: str) -> None:
    sheet.net(f"COM_{side}", 160, y, "left")
    sheet.amplifier("U6", number, 160, y)
    sheet.wire((160, y + 40), (160, y + 80), (300, y + 80), (300, y + 20))
    sheet.wire((260, y + 20), (300, y + 20), (360, y + 20))
    sheet.dot(300, y + 20)
    sheet.net(f"BUF_{side}", 330, y + 20, "above")
    sheet.two(series, 360, y + 20)
    sheet.net(f"ADC_{side}", 440, y + 20, "right")


def _difference(sheet: Sheet) -> None:
    sheet.net("COM_A", 700, 120, "left")
    sheet.amplifier("U6", 3, 700, 120)
    sheet.wire((700, 160), (660, 160), (660, 220), (700, 220))
    sheet.two("R53", 700, 220, turned=True)
    sheet.wire((780, 220), (860, 220), (860, 140))
    sheet.wire((800, 140), (860, 140), (900, 140))
    sheet.net("X11_A", 900, 140, "right")
    sheet.net("GAIN_A", 660, 200, "left")
    sheet.two("R55", 660, 220, upright=True)
    sheet.wire((660, 300), (700, 300))
    sheet.two("R54", 700, 300, turned=True)
    sheet.wire((780, 300), (860, 300), (860, 380))
    sheet.net("COM_B", 700, 360, "left")
    sheet.amplifier("U6", 4, 700, 360)
    sheet.wire((700, 400), (620, 400), (620, 300), (660, 300))
    sheet.net("GAIN_B", 620, 320, "left")
    sheet.wire((800, 380), (860, 380), (900, 380))
    sheet.net("X11_B", 900, 380, "right")
    for x, y in ((660, 220), (860, 140), (660, 300), (860, 380)):
        sheet.dot(x, y)


def _amplifiers(sheet: Sheet) -> None:
    _buffer(sheet, 1, "A", 120, "R47")
    _buffer(sheet, 2, "B", 280, "R52")
    _difference(sheet)
    sheet.net("VC", 160, 460, "above")
    below = count(460, 80)
    for reference in ("R56", "R57", "R58"):
        sheet.two(reference, 160, next(below), upright=True)
    for net, y in (("KNOWN_HI", 540), ("KNOWN_LO", 620)):
        sheet.net(net, 160, y, "left")
    sheet.net(GROUND, 160, 700, "below")
    sheet.write(190, 456, "the known divider")
    sheet.chip("U7", 760, 480, 120, [], _numbers(1, 10))
    sheet.one_pin("U6", "4", 480, 520, "left")
    sheet.wire((480, 520), (510, 520))
    sheet.net("VC", 510, 520, "right")
    sheet.one_pin("U6", "11", 480, 560, "left")
    sheet.wire((480, 560), (510, 560), (510, 570))
    sheet.net(GROUND, 510, 570, "below")


def _whole_bare(sheet: Sheet) -> None:
    _controller(sheet, 140, 100)
    kept = "Stands 57 V, should it meet them." if sheet.board.stands_57v else "NEVER NEAR POWER OVER THE CABLE."
    sheet.write(560, 70, kept, LARGE)
    sheet.write(560, 92, FOR_ALL, SMALL)
    bare_cell(sheet, 560, 190)


Plan = tuple[str, str, Callable[[Sheet], None]]
BENCH: tuple[Plan, ...] = (
    ("contacts", "What each contact has", _cells),
    ("controller", "Controller, and the rail that it switches", _supply),
    ("ports", "Ports: what drives the contacts", _ports),
    ("multiplexers", "Multiplexers: what looks, and what hangs on the commons", _looking),
    ("amplifiers", "Buffers, the difference times eleven, the converter", _amplifiers),
)
BARE: tuple[Plan, ...] = (("whole", "The bare board", _whole_bare),)
