"""Captures, ledgers and lots that are full of hostile texts, wherever a reader takes them."""

import contextlib
import json
import pickle
from functools import cache
from pathlib import Path
from typing import Any

from tests.gate.texts import places_of_texts, put_at
from tests.report.proofs import REVERSED_AND_OPEN, proof
from wiremap.cable.colours import colour_set
from wiremap.errors import WiremapError
from wiremap.records.canonical import encode
from wiremap.records.captures.capture import read_capture
from wiremap.records.captures.seal import seal
from wiremap.records.lots.ledger_entry import line_digest


@cache
def plain_capture() -> dict[str, Any]:
    """Return the record of a cable with faults and all that a job can say."""
    plain: dict[str, Any] = json.loads(proof(REVERSED_AND_OPEN).capture.line)
    plain["lot"], plain["before"] = {"name": "rack", "number": 1}, None
    return plain


def sealed(plain: Any) -> bytes:
    """Return a record with a digest that fits."""
    line = encode(plain) + b"\n"
    return line + seal(line)


# The order and the pattern must have the same near plug, the order and the colours the same conductors.
TOGETHER = (("near_order",), ("expect", "near_connector"))


def full_of(text: str, diagnosis: bool = False) -> tuple[dict[str, Any], int]:
    """Return a record with this text in every place that takes it, and how many places there are.

    A number behind the text keeps names different. diagnosis: also in what it says of the reading, which then does
    not follow from it.
    """
    plain, count = plain_capture(), 0
    for number, trail in enumerate(places_of_texts(plain)):
        if trail[:1] in TOGETHER or trail[:2] in TOGETHER or (trail[0] == "diagnosis" and not diagnosis):
            continue
        tried = pickle.loads(pickle.dumps(plain))
        put_at(tried, trail, f"{text}{number}")
        with contextlib.suppress(WiremapError):
            read_capture(sealed(tried), "x")
            plain, count = tried, count + 1
    return plain, count


def lot_of(folder: Path, text: str) -> Path:
    """Make the folder of a lot with one line a kind, this text in all that takes one, chained as they should be."""
    (folder / "captures").mkdir(parents=True)
    fault = {"fault": f"{text}1", "near": [f"{text}2", "3"], "far": [f"{text}3"], "end": "near"}
    test = {
        "format": 1, "kind": "test", "made_utc": "2026-03-01T09:30:00Z", "label": f"{text}4", "verdict": "fail",
        "faults": [fault], "tester": f"{text}5", "insertion": 1, "reference_due": 100, "contact_ohm": 0.4,
        "length_m": 2.0, "origin": "tester",
    }  # fmt: skip
    lines = [
        test,
        test | {"label": "R-2", "verdict": "pass", "faults": [], "file": f"{text}6", "capture": f"{text}7"},
        {"format": 1, "kind": "note", "made_utc": "2026-03-01T09:31:00Z", "of": 1, "text": f"{text}8"},
        {"format": 1, "kind": "skip", "made_utc": "2026-03-01T09:32:00Z", "label": f"{text}10"},
    ]
    before, written = None, b""
    for number, line in enumerate(lines, 1):
        content = encode(line | {"number": number} | ({"before": before} if before else {})) + b"\n"
        before, written = line_digest(content), written + content
    (folder / "ledger.jsonl").write_bytes(written)
    return folder


def colours_named(text: str) -> str:
    """Return a colour file, as TOML, with this text for what each conductor is called and looks like."""
    lines = ["format = 1", f"name = {json.dumps(text)}", f"title = {json.dumps(text)}"]
    for number, colour in enumerate(colour_set("tia").conductors):
        lines += [f"[conductor.{json.dumps(f'{text}{number}')}]", f"looks = {json.dumps(f'{text}{number}')}"]
        lines += [f'letters = "{number}"', f'body = "{colour.body}"']
    return "\n".join(lines) + "\n"
