"""The signed end of a lot: how many lines and captures it had, which was the last, and what they said.

A tail that is cut off a ledger and its captures alike leaves a shorter lot that is whole in itself. Only something that
was written, and signed, while the tail was there can show it. The end also holds what stands in the ledger alone.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal

import msgspec

from wiremap.errors import FileError, UsageError
from wiremap.files import is_there, read_at_most
from wiremap.records.canonical import decode, encode
from wiremap.records.captures.check import SignatureState
from wiremap.records.captures.seal import digest, read_seal, seal, signature_holds
from wiremap.records.keys import Key
from wiremap.records.lots.ledger_entry import Entry, line_digest, line_of
from wiremap.records.new_file import write_new_file

FORMAT = 1
END_NAME = "end-{number}.jsonl"
LARGEST_BYTES = 10_000
HINT = "The end of a lot is written by `wiremap lots --close` and never edited."

EndState = Literal["holds", "goes-on", "cut-off", "not-the-one", "changed"]


class LotEnd(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a lot was when it was closed.

    made_utc: "YYYY-MM-DDTHH:MM:SSZ". software: what wrote it. lines: of the ledger; last_line: digest of the last one,
    LF included, which holds all those before it. captures: how many; last_capture: digest of the last, None = there is
    none. verdicts: tests by verdict, those that were repeated or taken back too.
    """

    format: int
    lot: str
    made_utc: str
    software: str
    lines: int
    last_line: str
    captures: int
    last_capture: str | None
    verdicts: dict[str, int]


class EndSeen(msgspec.Struct, frozen=True):
    """The end of a lot as it was found.

    state: "holds", nothing came after it; "goes-on", `after` lines did; "cut-off", the ledger has fewer lines than
    then; "not-the-one", that line is another one now; "changed", the file is not what its seal says. key: who signed,
    hex, None = nobody.
    """

    file: str
    end: LotEnd
    state: EndState
    signature: SignatureState
    key: str | None
    signer: str | None
    after: int = 0


def close(folder: Path, entries: Sequence[Entry], key: Key | None, now: str, software: str) -> Path:
    """Write the end of a lot beside its ledger, signed when a key is given; return its file.

    entries: of its ledger, held against its captures before. now: "YYYY-MM-DDTHH:MM:SSZ".
    UsageError where the lot has no line.
    """
    if not entries:
        raise UsageError(f"the lot '{folder.name}' has no test yet", "Close a lot when its cables have been tested.")
    kept = [entry.capture for entry in entries if entry.capture is not None]
    verdicts: Counter[str] = Counter(
        entry.verdict for entry in entries if entry.kind in ("test", "unshown") and entry.verdict
    )
    end = LotEnd(
        FORMAT,
        folder.name,
        now,
        software,
        len(entries),
        line_digest(line_of(entries[-1])),
        len(kept),
        kept[-1] if kept else None,
        dict(verdicts),
    )
    line = encode(msgspec.to_builtins(end)) + b"\n"
    number = 1
    while is_there(path := folder / END_NAME.format(number=number)):
        number += 1
    write_new_file(path, line + seal(line, key))
    return path


def ends(folder: Path, entries: Sequence[Entry], known: Mapping[str, str]) -> tuple[EndSeen, ...]:
    """Return the ends that a lot has, oldest first, held against its ledger's lines.

    known: public keys, hex, and what the user calls them. FileError names a file that is no end of a lot.
    """
    found = []
    number = 1
    while is_there(path := folder / END_NAME.format(number=number)):
        found.append(_seen(path, entries, known))
        number += 1
    return tuple(found)


def _seen(path: Path, entries: Sequence[Entry], known: Mapping[str, str]) -> EndSeen:
    content = read_at_most(path, LARGEST_BYTES, HINT)
    line, feed, rest = content.partition(b"\n")
    end = _end(line, str(path))
    mark = read_seal(rest.rstrip(b"\n"), f"{path}: line 2")
    signature: SignatureState = "none"
    if mark.key is not None:
        holds = signature_holds(line + feed, mark)
        signature = "wrong" if not holds else "known" if mark.key in known else "unknown"
    if digest(line + feed) != mark.digest:
        return EndSeen(path.name, end, "changed", signature, mark.key, None)
    state, after = _state(end, path.parent.name, entries)
    return EndSeen(path.name, end, state, signature, mark.key, known.get(mark.key or ""), after)


def _end(line: bytes, source: str) -> LotEnd:
    plain = decode(line, f"{source}: line 1")
    try:
        end = msgspec.convert(plain, LotEnd)
    except msgspec.ValidationError as error:
        raise FileError(f"{source}: no end of a lot ({error})", HINT) from error
    if end.format != FORMAT:
        raise FileError(f"{source}: format is {end.format}", f"This version reads format {FORMAT}.")
    return end


def _state(end: LotEnd, lot: str, entries: Sequence[Entry]) -> tuple[EndState, int]:
    """Return how a lot's lines stand to an end of it, and how many came after it."""
    if end.lines > len(entries):
        return "cut-off", 0
    after = len(entries) - end.lines
    there = entries[end.lines].before if after else line_digest(line_of(entries[-1])) if entries else None
    kept = [entry.capture for entry in entries[: end.lines] if entry.capture is not None]
    is_it = end.lines > 0 and there == end.last_line and end.lot == lot and len(kept) == end.captures
    if not is_it:
        return "not-the-one", 0
    return ("goes-on", after) if after else ("holds", 0)
