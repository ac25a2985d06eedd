"""A lot on a phone whose program is killed at random moments while verdicts come and a thumb notes: nothing is lost."""

import http.client
import random
import signal
import threading
from pathlib import Path

from tests.bench.world import Cable
from tests.cli.benches import Bench, plugged_in
from tests.phone.aboard import free_port
from tests.phone.lots import LotPocket, Swept, Verdict, buttons, large, last_test, let_in, on_phones
from wiremap.records.captures.files import load
from wiremap.records.lots.ledger import LEDGER, read_ledger
from wiremap.records.lots.ledger_entry import Entry

FAULTS = ("none", "exchanged", "short", "open-middle", "none")
LIFE_S = (0.1, 1.6)  # from the first page until it is killed: a cable or two
AHEAD = 3  # cables that wait, so that no life has none


class Seen:
    """What a phone saw: verdicts by number, with the cable that was in; the notes it asked for, and the answers."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.verdicts: dict[str, tuple[Verdict, int]] = {}
        self.notes: dict[str, bool] = {}  # by number of the test: whether it was said to be noted

    def note(self, pocket: LotPocket, number: str) -> None:
        """Note something on a test, with the same mark whenever it is asked for again."""
        said = pocket.answer("note", [f"rack: {number}", f"seen {number}"], mark=f"note-{number:>04}")
        if said is not None:
            self.notes[number] = said["ok"]

    def look(self, pocket: LotPocket) -> None:
        """Look at pages until the line breaks, or the rack is done: read each verdict, note it, take the cable out."""
        for number in self.verdicts.keys() - self.notes.keys():
            self.note(pocket, number)
        for page in pocket.pages():
            verdict, number = large(page["html"]), last_test(page["html"])
            if verdict is not None and number and number not in self.verdicts:
                self.verdicts[number] = (verdict, self.bench.seen())
                self.note(pocket, number)
            if not self.bench.todo and "Put the next cable" in page["html"]:
                pocket.answer("stop", [buttons(page["html"])["stop"], ""])
                return


def lot_loses_nothing(folder: Path, seed: int, cables: int, kills: int) -> str:
    """Sweep a lot from a phone, the program killed (SIGKILL) so often; hold the ledger against what the phone saw."""
    draw = random.Random(seed)
    bench = Bench([draw.choice(FAULTS)])
    seen, port, killed = Seen(bench), free_port(), 0
    pocket: LotPocket | None = None
    with plugged_in(bench) as address:
        while bench.todo:
            while (killed < kills and len(bench.todo) < AHEAD) or len(bench.rack) < cables:
                bench.add(draw.choice(FAULTS))
            words = ("--expect", "straight", "--prefix", "R-", "--idle", "5", *on_phones(port))
            swept = Swept(folder, address, *words)
            swept.until_served()
            pocket = pocket or let_in(swept, port)
            timer = threading.Timer(draw.uniform(*LIFE_S), swept.process.kill)
            if killed < kills:
                timer.start()
            try:
                seen.look(pocket)
            except (OSError, http.client.HTTPException):
                assert killed < kills, swept.talk
            timer.cancel()
            code = swept.end(signal.SIGKILL if bench.todo else None)
            killed += code == -signal.SIGKILL
            bench.take_out()
    return _held(folder / "lots" / "rack", seen, bench.rack, killed)


def _held(folder: Path, seen: Seen, rack: list[Cable], killed: int) -> str:
    entries = read_ledger(folder / LEDGER)
    tests = {str(entry.number): entry for entry in entries if entry.kind == "test"}
    for number, ((label, verdict), cable) in seen.verdicts.items():
        entry = tests[number]
        assert (entry.label, entry.verdict) == (label, verdict) == (label, rack[cable].verdict)
        kept = load(folder / "captures" / str(entry.file)).record
        assert kept is not None
        assert (kept.job.cable, kept.diagnosis["verdict"]) == (label, verdict)
    assert {cable for _, cable in seen.verdicts.values()} == set(range(len(rack)))
    labels = [entry.label for entry in tests.values()]
    assert len(labels) == len(set(labels)), "no label is given to two cables"
    _noted(entries, seen)
    return (
        f"{killed} kills: {len(seen.verdicts)} verdicts of {len(rack)} cables seen on the phone, each in the ledger"
        f" once and its own cable's; {len(tests) - len(seen.verdicts)} kept and not seen; {sum(seen.notes.values())}"
        " notes once each"
    )


def _noted(entries: list[Entry], seen: Seen) -> None:
    """Hold the notes: what was said to be noted is there once, what was not is there at most once."""
    notes = [entry for entry in entries if entry.kind == "note"]
    assert len({(note.of, note.text) for note in notes}) == len(notes)
    assert {number for number, is_noted in seen.notes.items() if is_noted} <= {str(note.of) for note in notes}
    assert all(note.text == f"seen {note.of}" for note in notes)
