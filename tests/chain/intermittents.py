"""Cables of which a contact opens now and then while they are tested, at moments drawn at random."""

import random
import tempfile
from collections import Counter
from pathlib import Path

from tests.firmware_sim.simulators import simulator
from wiremap.judge.case import JobNames, judge_case, requirements
from wiremap.reading.reading import Reading
from wiremap.report.words.cases import sentences, what_next
from wiremap.tester.measure import measure, open_tester

CABLE = """format = 1
title = "{conductor} opens for {for_s} s every 1.7 s, {length_m} m"
board = "{board}"
near = "T568B"
far = "T568B"

[[segment]]
cable = "{kind}"
length_m = {length_m}

[[fault]]
kind = "open"
conductors = ["{conductor}"]
end = "{end}"
from_s = {from_s}
for_s = {for_s}
every_s = 1.7
"""


OPENS = {"open", "intermittent"}
AT_LOW_LEVEL = "contact-film"  # before more current went through there is one reading only: open then is a film too
ALLOWED = {"reference": {*OPENS, AT_LOW_LEVEL}, "bench": {*OPENS, AT_LOW_LEVEL, "high-resistance", "leakage"}}


def read_once(**cable: object) -> Reading:
    """Return what a test of a cable gives: the board, its kind, length, conductor, end, and when it opens."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "cable.toml"
        file.write_text(CABLE.format(**cable))
        with simulator(cable=file) as (address, _), open_tester(address) as tester:
            return measure(tester)


def never_said_of_the_run(seed: int, count: int) -> str:
    """Test so many; assert that each is sound, open at that conductor, or comes and goes, and that no run is blamed.

    The bench board takes a mean over 200 ms, and another one before: a contact that opened meanwhile may
    have too much resistance to it, a film, or be open and leak.
    """
    chance = random.Random(seed)
    contacts = {"white-brown": "7", "blue": "4", "green": "6"}
    seen: Counter[str] = Counter()
    for _ in range(count):
        conductor = chance.choice(list(contacts))
        cable = {
            "board": chance.choice(("bench", "reference")),
            "kind": chance.choice(("UTP", "F/UTP")),
            "length_m": chance.choice((0.6, 2.0, 6.0, 40.0)),
            "conductor": conductor,
            "end": chance.choice(("near", "far")),
            "from_s": round(chance.uniform(0.0, 1.7), 3),
            "for_s": chance.choice((0.002, 0.04, 0.2, 0.6)),
        }
        case = judge_case(read_once(**cable), requirements("straight"), JobNames())
        found = case.diagnosis.findings
        assert {one.fault for one in found} <= ALLOWED[str(cable["board"])], (cable, found)
        assert {name for one in found for name in one.near} <= {contacts[conductor]}, (cable, found)
        assert len(found) <= (1 if cable["board"] == "reference" else 2), (cable, found)
        assert all(one.end != "run" for one in found), (cable, found)
        said = " ".join((*sentences(case), what_next(case)))
        assert "split" not in said, (cable, said)
        assert not what_next(case).startswith("Replace"), (cable, said)
        seen[" and ".join(f"{one.fault} {one.certainty}" for one in found) or "nothing"] += 1
    return ", ".join(f"{number} {what}" for what, number in seen.most_common())
