"""Program messages at random, legal, nearly legal and not: the firmware's parser ends none of them but in its queue.

The firmware's modules are run as they are flashed, in a process of their own, on a board of empty sockets.
"""

from pathlib import Path

from tests.firmware_sim.processes import run_program, tables

PROGRAM = """
import random
import commands, dialogue, queries, safety, scpi
safety.begin()
status = scpi.Status()
parser = commands.parser(status)
chance = random.Random(SEED)
HEADS = ("*ESE", "*ESE?", "*SRE", "*STB?", "*CLS", "*RST", "*IDN?", "*OPC", "*OPC?", "*WAI", "*TST?", "SYST:ERR?",
         "SYSTem:ERRor:NEXT?", "SYST:VERS?", "TEST:FEAT?", "TEST:CONT?", "MEAS:ARR:RES?", "MEAS:ARR:CAP?", "MEAS:ECHO?",
         "FETC:EVEN?", "WATC:STOP?", "NEXT?", "?", "", ":", "::", "*", "*?", ":SYST", "SYST:")
VALUES = ("1", "0", "-1", "#H1", "#HFF", "#B101", "#Q17", "#", "#H", "#H12345678", "1e1", "1E+2", "1e999", "1e-999",
          ".5", "5.", ".", "1.5", "1e", "e", "+", "-", "", " ", "PAIR", "'a;b'", '"', "'", "9" * 40, "0" * 40, "1" * 12)
LETTERS = "".join(chr(code) for code in range(256))


def line():
    kind = chance.random()
    if kind < 0.1:
        return "".join(chance.choice(LETTERS) for _ in range(chance.randrange(40)))
    units = []
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        unit = chance.choice(HEADS)
        count = chance.choice((0, 0, 1, 1, 2, 5))
        if count:
            unit += chance.choice((" ", " ", "\\t", "  ", "")) + ",".join(chance.choice(VALUES) for _ in range(count))
        units.append(unit)
    text = ";".join(units)
    if kind < 0.3 and text:
        at = chance.randrange(len(text))
        text = text[:at] + chance.choice(LETTERS) + text[at + chance.randrange(2):]
    return text


errors = set()
answered = 0
for _ in range(COUNT):
    text = line()
    try:
        answered += bool(parser.obey(text))
    except Exception as error:
        print("ENDED BY", repr(text), repr(error))
        break
    assert len(status.queue) <= scpi.LONGEST_QUEUE
    errors.update(number for number, _ in status.queue)
    if chance.random() < 0.5:
        status.clear()
    while queries.busy():
        parser.obey("WATC:STOP? 1")
else:
    print(answered, sorted(errors))
"""


def lines_end_in_the_queue(folder: Path, seed: int, count: int) -> str:
    """Send so many lines, assert that none ends the firmware, and return how many it answered and what it queued."""
    program = PROGRAM.replace("SEED", str(seed)).replace("COUNT", str(count))
    done = run_program(folder, program, tables({}), "cpython", timeout_s=1200)
    said = done.stdout.strip()
    assert done.returncode == 0, done.stderr
    assert said
    assert not said.startswith("ENDED"), said
    return f"{count} lines, {said.partition(' ')[0]} answered, errors {said.partition(' ')[2]}"
