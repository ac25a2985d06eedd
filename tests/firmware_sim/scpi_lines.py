"""Program messages at random, legal, nearly legal and not: the firmware's parser ends none of them but in its queue.

The firmware's modules are run as they are flashed, in a process of their own: on a board of empty sockets, and on a
bench board and a bare board with a cable. A measurement takes up to seconds of processor time, a line a ten-thousandth;
so of the lines that ask for one a few are measured, spread over the whole run, and the others are refused where the
firmware itself refuses, before anything is driven. Every line is read in full, with all its parameters.
"""

from collections.abc import Callable
from pathlib import Path

from tests.firmware_sim.bare_boards import bare_tables
from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import Tables, run_program, tables

BOARDS: dict[str, tuple[Callable[[], Tables], int]] = {  # and how many of 100 000 lines may measure
    "reference": (lambda: tables({}), 100),
    "bench": (bench_tables, 4),
    "bare": (bare_tables, 20),
}

PROGRAM = """
import random, sys
import answer, commands, dialogue, queries, safety, scpi, selftest
DOORS = (("guard", "pass_all"), ("guard", "pass_gently"), ("guard", "pass_quickly"), ("guard", "voltages"),
         ("own", "groups"), ("look", "refuse_if_any"), ("look", "voltages"), ("selftest", "weigh"))
draw = random.Random(SEED).random
sent = measured = 0
through = within = False  # whether the measurement at hand may be made; whether one is at hand


def measures(measure):
    def one(given):
        global through, within
        through, within = measured <= sent * MEASURED // COUNT, True
        try:
            return measure(given)
        finally:
            within = counted[0] = False
    return one


def door(real):
    def one(*given):
        global measured
        if not through:
            raise answer.Refused("SELFTEST", ["0"])
        measured += not counted[0]
        counted[0] = True
        return real(*given)
    return one


def tested():
    if within:
        return selftest_run()
    try:
        return measures(lambda _given: door(selftest_run)())([])
    except answer.Refused:
        return 0


counted = [False]
for module, name in DOORS:
    known = sys.modules.get(module)
    if hasattr(known, name):
        setattr(known, name, door(getattr(known, name)))
if "eyes" in sys.modules:
    eyes = sys.modules["eyes"].Eyes
    eyes.begin = door(eyes.begin)
selftest_run, selftest.run = selftest.run, tested
queries.COMMANDS = tuple((pattern, measures(run) if drives else run, least, most, drives)
                         for pattern, run, least, most, drives in queries.COMMANDS)
safety.begin()
status = scpi.Status()
parser = commands.parser(status)
HEADS = ("*ESE", "*ESE?", "*SRE", "*STB?", "*CLS", "*RST", "*IDN?", "*OPC", "*OPC?", "*WAI", "*TST?", "SYST:ERR?",
         "SYSTem:ERRor:NEXT?", "SYST:VERS?", "TEST:FEAT?", "TEST:CONT?", "TEST:RES?", "MEAS:ARR:RES?",
         "MEASure:ARRay:RESistance:LOW?", "MEAS:ARR:CONT?", "MEAS:ARR:CAP?", "MEAS:VOLT?", "MEAS:ECHO?", "MEAS:TRAC?",
         "DIAG:FIG?", "FETC:EVEN?", "WATC:STAR?", "WATC:STOP?", "LOW?", "NEXT?", "?", "", ":", "::", "*", "*?", ":SYST",
         "SYST:")
VALUES = ("1", "0", "-1", "#H1", "#HFF", "#B101", "#Q17", "#", "#H", "#H12345678", "1e1", "1E+2", "1e999", "1e-999",
          ".5", "5.", ".", "1.5", "1e", "e", "+", "-", "", " ", "PAIR", "sing", "'a;b'", '"', "'", "9" * 40, "0" * 40,
          "1" * 12)
LETTERS = "".join(chr(code) for code in range(256))


def pick(of):
    return of[int(draw() * len(of))]


def line():
    kind = draw()
    if kind < 0.1:
        return "".join(pick(LETTERS) for _ in range(int(40 * draw())))
    units = []
    for _ in range(pick((1, 1, 1, 2, 3, 6))):
        unit = pick(HEADS)
        count = pick((0, 0, 1, 1, 2, 5))
        if count:
            unit += pick((" ", " ", "\\t", "  ", "")) + ",".join(pick(VALUES) for _ in range(count))
        units.append(unit)
    text = ";".join(units)
    if kind < 0.3 and text:
        at = int(draw() * len(text))
        text = text[:at] + pick(LETTERS) + text[at + int(2 * draw()):]
    return text


errors = set()
answered = 0
for sent in range(COUNT):
    text = line()
    try:
        answered += bool(parser.obey(text))
    except Exception as error:
        print("ENDED BY", repr(text), repr(error))
        break
    assert len(status.queue) <= scpi.LONGEST_QUEUE
    errors.update(number for number, _ in status.queue)
    if draw() < 0.5:
        status.clear()
    while queries.busy():
        parser.obey("WATC:STOP? 1")
else:
    print(answered, measured, sorted(errors))
"""


def lines_end_in_the_queue(folder: Path, seed: int, count: int) -> str:
    """Send so many lines to the boards, assert that none ends the firmware; say how many were answered and measured."""
    said = []
    for name, (made, share) in BOARDS.items():
        part = count // len(BOARDS)
        program = PROGRAM.replace("SEED", str(seed)).replace("COUNT", str(part))
        program = program.replace("MEASURED", str(part * share // 100_000))
        done = run_program(folder, program, made(), "cpython", timeout_s=1200)
        assert done.returncode == 0, done.stderr
        assert done.stdout, done.stderr
        assert not done.stdout.startswith("ENDED"), done.stdout
        answered, measured, errors = done.stdout.strip().split(" ", 2)
        assert int(measured) >= part * share // 100_000, done.stdout
        assert {-101, -104, -108, -109, -113, -222} <= set(map(int, errors.strip("[]").split(", "))), errors
        said.append(f"{name} {part} lines, {answered} answered, {measured} measured, errors {errors}")
    return "; ".join(said)
