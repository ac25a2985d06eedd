"""Ways to forge a lot, and whether each is seen: by its own ledger, captures, signatures and signed end.

What cannot be seen is stated here, with why, and tried as well: a statement that is true no more fails.
"""

import functools
import itertools
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import msgspec

from tests.records.samples import content, lot, published_key
from wiremap.errors import FileError
from wiremap.records.canonical import encode
from wiremap.records.captures.chain import BREAKS, chain
from wiremap.records.captures.check import check
from wiremap.records.captures.seal import digest, seal
from wiremap.records.lots.ends import close
from wiremap.records.lots.held import held
from wiremap.records.lots.ledger import LEDGER, open_ledger, read_ledger
from wiremap.records.lots.ledger_entry import FORMAT, Entry, line_digest, line_of
from wiremap.records.lots.rebuild import CAPTURES, capture_name
from wiremap.report.words.lots import end_problem

KNOWN = {published_key().public: "test"}
COUNT = 6
NOW = "2026-03-02T08:00:00Z"


@dataclass
class Forged:
    """A lot as files, to be changed: ledger entries, captures as records, and what is done about it afterwards.

    is_rechained: the ledger's lines follow one another again. is_resealed: changed captures get a seal that fits, and
    those after them name them. end: the file of the signed end, None = the lot was not closed.
    """

    entries: list[Entry]
    captures: dict[str, bytes]
    end: bytes | None
    is_rechained: bool
    is_resealed: bool
    chance: random.Random
    changed: set[str] = field(default_factory=set)

    def test_at(self) -> int:
        """Return the place of some test in the ledger."""
        return self.chance.choice([at for at, entry in enumerate(self.entries) if entry.capture])

    def replace(self, at: int, **values: Any) -> None:
        """Change a line."""
        self.entries[at] = msgspec.structs.replace(self.entries[at], **values)

    def record(self, name: str) -> dict[str, Any]:
        """Return a capture's record."""
        plain: dict[str, Any] = msgspec.json.decode(self.captures[name].partition(b"\n")[0])
        return plain

    def write_record(self, name: str, plain: dict[str, Any]) -> None:
        """Change a capture's record; its seal stays, unless captures are sealed again."""
        line = encode(plain) + b"\n"
        self.captures[name] = line + (seal(line) if self.is_resealed else self.captures[name].partition(b"\n")[2])
        self.changed.add(name)


Attack = Callable[[Forged], None]


def _verdict(lot_: Forged) -> None:
    at = lot_.test_at()
    lot_.replace(at, verdict="fail" if lot_.entries[at].verdict == "pass" else "pass")


def _label(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), label="OTHER")


def _time(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), made_utc="2025-01-01T00:00:00Z")


def _ohms(lot_: Forged) -> None:
    at = lot_.test_at()
    lot_.replace(at, contact_ohm=(lot_.entries[at].contact_ohm or 0) + 0.05)


def _length(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), length_m=12.5)


def _origin(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), origin="eyes")


def _tester(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), tester="0008")


def _reference(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), kind="reference")


def _repeats(lot_: Forged) -> None:
    at = lot_.chance.choice([at for at, entry in enumerate(lot_.entries) if entry.capture and at > 0])
    lot_.replace(at, of=lot_.chance.randrange(1, at + 1))


def _no_capture(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), capture=None, file=None)


def _line_gone(lot_: Forged) -> None:
    del lot_.entries[lot_.chance.choice([at for at, entry in enumerate(lot_.entries[:-1]) if entry.capture])]


def _line_twice(lot_: Forged) -> None:
    at = lot_.test_at()
    lot_.entries.insert(at, lot_.entries[at])


def _lines_swapped(lot_: Forged) -> None:
    tests = [at for at, entry in enumerate(lot_.entries) if entry.capture]
    a, b = lot_.chance.sample(tests, 2)
    lot_.entries[a], lot_.entries[b] = lot_.entries[b], lot_.entries[a]


def _test_put_in(lot_: Forged) -> None:
    lot_.entries.insert(lot_.test_at(), Entry(FORMAT, "test", 0, NOW, label="NEW", verdict="pass"))


def _ledger_tail(lot_: Forged) -> None:
    del lot_.entries[-lot_.chance.randrange(2, 4) :]


def _capture_gone(lot_: Forged) -> None:
    del lot_.captures[lot_.chance.choice(sorted(lot_.captures))]


def _capture_copied(lot_: Forged) -> None:
    lot_.captures[capture_name(len(lot_.captures) + 1, "copy")] = lot_.captures[
        lot_.chance.choice(sorted(lot_.captures))
    ]


def _captures_swapped(lot_: Forged) -> None:
    a, b = lot_.chance.sample(sorted(lot_.captures), 2)
    lot_.captures[a], lot_.captures[b] = lot_.captures[b], lot_.captures[a]


def _capture_of_another_lot(lot_: Forged) -> None:
    lot_.captures[lot_.chance.choice(sorted(lot_.captures))] = content(key=published_key())


def _record_edited(lot_: Forged) -> None:
    name = lot_.chance.choice(sorted(lot_.captures))
    plain = lot_.record(name)
    plain["job"]["cable"] = "OTHER"
    lot_.write_record(name, plain)
    lot_.replace(next(at for at, entry in enumerate(lot_.entries) if entry.file == name), label="OTHER")


def _end_edited(lot_: Forged) -> None:
    if lot_.end is None:
        _verdict(lot_)
    else:
        lot_.end = lot_.end.replace(b'"captures":6', b'"captures":5')


def _both_tails(lot_: Forged) -> None:
    for _ in range(lot_.chance.randrange(1, 3)):
        gone = lot_.entries.pop()
        if gone.file:
            del lot_.captures[gone.file]


def _undo_put_in(lot_: Forged) -> None:
    lot_.entries.append(Entry(FORMAT, "undo", 0, NOW, label=lot_.entries[0].label, of=1))


def _note_edited(lot_: Forged) -> None:
    at = next(at for at, entry in enumerate(lot_.entries) if entry.kind == "note")
    lot_.replace(at, text="all is well")


def _note_gone(lot_: Forged) -> None:
    lot_.entries.pop()


def _insertions(lot_: Forged) -> None:
    lot_.replace(lot_.test_at(), insertion=3)


ATTACKS: dict[str, Attack] = {
    "verdict of a line": _verdict,
    "label of a line": _label,
    "time of a line": _time,
    "ohms of a line": _ohms,
    "length of a line": _length,
    "origin of a line": _origin,
    "tester of a line": _tester,
    "a test called a reference": _reference,
    "a line that repeats": _repeats,
    "a line without its capture": _no_capture,
    "a line gone": _line_gone,
    "a line twice": _line_twice,
    "lines swapped": _lines_swapped,
    "a test put in": _test_put_in,
    "tail of the ledger": _ledger_tail,
    "a capture gone": _capture_gone,
    "a capture copied": _capture_copied,
    "captures swapped": _captures_swapped,
    "a capture of another lot": _capture_of_another_lot,
    "a record edited": _record_edited,
    "end edited": _end_edited,
    "both tails": _both_tails,
    "an undo put in": _undo_put_in,
    "a note edited": _note_edited,
    "a note gone": _note_gone,
    "insertions edited": _insertions,
}
IN_THE_LEDGER_ALONE = {"an undo put in", "a note edited", "a note gone", "insertions edited"}
THE_LAST_LINE = {"a note edited", "a note gone"}


def why_unseen(attack: str, made: Forged, is_signed: bool) -> str:
    """Return why a forgery cannot be seen, "" = it can."""
    if made.end is not None:
        is_after = attack == "an undo put in" and made.is_rechained
        return "it came after the lot's end, and the lot is said to have gone on" if is_after else ""
    if attack in IN_THE_LEDGER_ALONE and (made.is_rechained or attack in THE_LAST_LINE):
        return "it stands in the ledger alone, which anyone can write, and the lot was not closed"
    if attack == "both tails":
        return "what is left is a whole lot, as it was before those tests, and it was not closed"
    if attack == "a record edited" and made.is_resealed and made.is_rechained:
        if not is_signed:
            return "nothing in it was made with a secret"
        if len(made.changed) == COUNT:
            return "every signature was taken off, which --require-signature refuses"
    return ""


@functools.cache
def _captures(is_signed: bool) -> tuple[bytes, ...]:
    return tuple(lot(COUNT, published_key() if is_signed else None))


def make_lot(folder: Path, is_signed: bool, is_closed: bool) -> None:
    """Write a lot of six tests and a note, signed or not, closed with a signed end or not."""
    key = published_key()
    (folder / CAPTURES).mkdir(parents=True)
    for number, made in enumerate(_captures(is_signed), 1):
        (folder / CAPTURES / capture_name(number, f"rack-{number:02}")).write_bytes(made)
    with open_ledger(folder) as ledger:
        ledger.append(Entry(FORMAT, "note", 0, NOW, label="rack-06", of=COUNT, text="new strain relief"))
        if is_closed:
            close(folder, ledger.entries, key, NOW, "wiremap")


def forge(folder: Path, attack: str, chance: random.Random, is_rechained: bool, is_resealed: bool) -> Forged:
    """Change a lot on the disk, and return what was done."""
    end = folder / "end-1.jsonl"
    made = Forged(
        read_ledger(folder / LEDGER),
        {path.name: path.read_bytes() for path in (folder / CAPTURES).iterdir()},
        end.read_bytes() if end.exists() else None,
        is_rechained,
        is_resealed,
        chance,
    )
    ATTACKS[attack](made)
    if made.changed and made.is_resealed:
        _follow_again(made)
    for path in (folder / CAPTURES).iterdir():
        path.unlink()
    for name, whole in made.captures.items():
        (folder / CAPTURES / name).write_bytes(whole)
    (folder / LEDGER).write_bytes(b"".join(_lines(made)))
    if made.end is not None:
        end.write_bytes(made.end)
    return made


def _follow_again(made: Forged) -> None:
    """Let every capture name the one before it as it is now, and every line its capture."""
    before = None
    for name in sorted(made.captures):
        plain = made.record(name)
        if plain["before"] != before:
            made.write_record(name, plain | {"before": before})
        before = digest(made.captures[name].partition(b"\n")[0] + b"\n")
        at = next(at for at, entry in enumerate(made.entries) if entry.file == name)
        made.replace(at, capture=before)


def _lines(made: Forged) -> list[bytes]:
    lines: list[bytes] = []
    for number, entry in enumerate(made.entries, 1):
        before = line_digest(lines[-1]) if lines else None
        again = msgspec.structs.replace(entry, number=number, before=before) if made.is_rechained else entry
        lines.append(line_of(again))
    return lines


def is_seen(folder: Path) -> bool:
    """Whether what `wiremap verify` and `wiremap lots` look at shows that a lot is not as it was written."""
    try:
        found = held(folder, KNOWN)
        checked = [check(path.read_bytes(), path.name, KNOWN) for path in sorted((folder / CAPTURES).iterdir())]
    except FileError:
        return True
    links = [link for each in checked if (link := each.link())]
    return (
        bool(found.differences)
        or any(end_problem(end) for end in found.ends)
        or any(not each.digest_holds or each.signature == "wrong" or each.verdict != "same" for each in checked)
        or bool({*chain(links)} & {*BREAKS})
    )


def forgeries_are_seen(folder: Path, seed: int, count: int) -> str:
    """Forge so many lots; assert that each is seen or stated as unseen, and that those stated are not; say how many."""
    chance = random.Random(seed)
    seen: Counter[str] = Counter()
    for is_signed, is_closed in itertools.product((False, True), repeat=2):
        honest = folder / f"{is_signed}-{is_closed}" / "rack"
        make_lot(honest, is_signed, is_closed)
        assert not is_seen(honest)
    for number in range(count):
        attack = list(ATTACKS)[number % len(ATTACKS)]
        is_signed, is_closed, is_rechained, is_resealed = (chance.random() < 0.5 for _ in range(4))
        place = folder / f"{number}" / "rack"
        make_lot(place, is_signed, is_closed)
        made = forge(place, attack, chance, is_rechained, is_resealed)
        why = why_unseen(attack, made, is_signed)
        assert is_seen(place) != bool(why), (attack, is_signed, is_closed, is_rechained, is_resealed, why)
        seen[why or "seen"] += 1
    return ", ".join(f"{number} {why}" for why, number in seen.most_common())
