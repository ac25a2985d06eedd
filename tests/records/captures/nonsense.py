"""Records full of nonsense whose digest fits: refused or judged, never a crash."""

import copy
import pickle
import random
import tempfile
from pathlib import Path
from typing import Any

from tests.records.samples import plain_record, reading
from wiremap.cable.colours import colour_set
from wiremap.cable.terminations import termination
from wiremap.errors import WiremapError
from wiremap.records.canonical import encode
from wiremap.records.captures.check import check
from wiremap.records.captures.files import load
from wiremap.records.captures.judge_file import judge_file
from wiremap.records.captures.seal import seal
from wiremap.report.print.phone_page import phone
from wiremap.report.proof import Proof

VALUES: tuple[Any, ...] = (
    None, True, 0, 1, -1, 3.5, 1e300, 2**53 - 1, "", "x", "1", "S", "pass", "fail", "open", "rj45", "\0", "a" * 300,
    [], [[]], ["1"], [1, 2], {}, {"a": 1}, "2026-03-01T09:30:00Z", "9999-99-99T99:99:99Z", "sha256:" + "0" * 64,
)  # fmt: skip


def nonsense_is_refused_or_judged(seed: int, count: int) -> tuple[int, int]:
    """Put random values into random places of a record, with a digest that fits; return (refused with a hint, judged).

    Whatever is there, only WiremapError may come of it: in checking, judging and making a page.
    """
    chance = random.Random(seed)
    whole = plain_record(
        reading((0, 1, 5, 3, 4, 2, 6, None)), near_order=termination("T568B"), colours=colour_set("tia")
    )
    refused = judged = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "x.json")
        for _ in range(count):
            plain = pickle.loads(pickle.dumps(whole))
            for _ in range(chance.choice((1, 1, 1, 2, 5))):
                change(plain, chance)
            line = encode(plain) + b"\n"
            path.write_bytes(line + seal(line))
            try:
                found = check(path.read_bytes(), "x", {})
                proof = Proof(judge_file(path), _capture(path))
                assert found.digest_holds
                assert phone(proof)
            except WiremapError as error:
                refused += bool(error.hint)
            else:
                judged += 1
    return refused, judged


def _capture(path: Path) -> Any:
    capture = load(path).capture
    assert capture is not None
    return capture


def change(plain: Any, chance: random.Random) -> None:
    """Change, remove or add one thing somewhere within."""
    where = plain
    while True:
        keys = list(where) if isinstance(where, dict) else list(range(len(where)))
        if not keys:
            return
        key = chance.choice(keys)
        inner = where[key]
        if isinstance(inner, dict | list) and inner and chance.random() < 0.8:
            where = inner
            continue
        break
    match chance.randrange(6):
        case 0:
            del where[key]
        case 1 if isinstance(where, list):
            where.append(copy.deepcopy(inner))
        case 2 if isinstance(where, dict):
            where["more"] = chance.choice(VALUES)
        case _:
            where[key] = copy.deepcopy(chance.choice(VALUES))
