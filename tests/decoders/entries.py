"""Every place where bytes from outside are decoded: sound ones of each kind, and what reads them."""

import contextlib
import io
import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace
from PIL import Image

from tests.reading.mutated import full_reading
from tests.records.samples import content, lot, published_key, reading
from tests.tester.peers import frame
from wiremap.cable import colours, kinds, patterns, terminations
from wiremap.cable.colours import read_colours
from wiremap.cable.kinds import read_kinds
from wiremap.cable.patterns import read_pattern
from wiremap.cable.terminations import read_termination
from wiremap.calibration import Calibration
from wiremap.errors import WiremapError
from wiremap.phone.doors import Doors
from wiremap.phone.photos import check_photo
from wiremap.phone.tls import certificate
from wiremap.phone.wishes import photo_wish, secret_sent, wish_sent
from wiremap.reading.parts import Tester
from wiremap.reading.reading import from_json, to_builtins
from wiremap.reading.talk.language import Language, language_text, read_language
from wiremap.records.calibrations import calibration_of, calibration_path
from wiremap.records.captures.capture import read_capture
from wiremap.records.captures.check import check
from wiremap.records.captures.files import load_content
from wiremap.records.captures.seal import read_seal, seal
from wiremap.records.captures.work_list import SHIPPED, read_work_list
from wiremap.records.handset_file import HandsetFile, read_handset, write_handset
from wiremap.records.keys import OWN_KEY, own_key, public_pem, read_key, read_public
from wiremap.records.lots.ends import close
from wiremap.records.lots.held import held
from wiremap.records.lots.ledger import read_ledger, rebuild
from wiremap.records.lots.plan import LotPlan, plan_text, read_plan
from wiremap.records.lots.statistics import summarise
from wiremap.records.mend_file import MendEntry, MendFile, read_mend, write_mend
from wiremap.tester import answers

TESTER = Tester("WIREMAP", "BENCH-18", "0007", "1.0", ("RES",), 0.5)
READERS = (
    answers.features, answers.contacts, answers.fineness, answers.triangle, answers.joined_triangle,
    lambda answer: answers.capacitances(answer, "PAIR"), lambda answer: answers.capacitances(answer, "SINGle"),
    answers.voltages, answers.echo, answers.trace, answers.joined_rows, answers.latched_events,
    answers.failed_self_test,
)  # fmt: skip


ONE_IN = {  # of a million: the ten slowest get less, captures apart, which are the proof
    "large captures": 250, "captures judged again": 250, "readings": 100, "tables": 1000, "texts of testers": 100,
    "ends of lots": 100, "ledgers": 100, "colours": 100, "kinds": 500, "work lists": 100,
}  # fmt: skip
# Of those that look for their way, each line followed: what opens a file, reads TOML or works a lot out takes a hundred
# times as long as a wish.
SEARCHED_ONE_IN = {
    "captures": 40, "large captures": 250, "captures judged again": 500, "readings": 200, "tables": 1000,
    "texts of testers": 100, "ends of lots": 250, "ledgers": 200, "calibrations": 50, "secret keys": 40,
    "public keys": 40, "repairs": 25, "tests in the hand": 50, "phones let in": 25, "certificates": 40, "photos": 40,
    "patterns": 50, "colours": 100, "terminations": 50, "kinds": 500, "languages": 50, "plans of lots": 50,
    "work lists": 100, "answers": 25,
}  # fmt: skip


class Entry(Struct, frozen=True):
    """A place where bytes are decoded: sound ones, and what reads them, which may raise WiremapError alone.

    one_in, searched_one_in: which part of what the fastest get is given to this one, hurt by chance and looking for its
    way.
    """

    sound: tuple[bytes, ...]
    read: Callable[[bytes], Any]
    one_in: int = 1
    searched_one_in: int = 1


def _captures(folder: Path) -> Iterator[tuple[str, Entry]]:
    made = (content(), content(key=published_key()), content(full_reading(True)))
    plain = tuple(json.dumps(to_builtins(one), default=str).encode() for one in (reading(), full_reading(False)))
    rows = [",".join("1" if a == b else "0" for b in range(8)) for a in range(8)]
    golden = Path(__file__).parents[1] / "golden" / "reading-1.csv"
    tables = ("\n".join(rows), "\n".join(rows).replace(",", ";"), golden.read_text())
    texts = tuple(table.encode() for table in tables)
    yield "captures", Entry(made[:2], lambda found: read_capture(found, "x"))
    yield "large captures", Entry(made[2:], lambda found: read_capture(found, "x"))
    yield "captures judged again", Entry(made[:2], _sealed_anew)
    yield "seals", Entry(tuple(one.split(b"\n")[1] for one in made[:2]), lambda found: read_seal(found, "x"))
    yield "readings", Entry(plain, from_json)
    yield "tables", Entry(texts, lambda found: load_content(found, "x"))
    talk = (b"1-1 2-2 3-3\n" * 4, b"near 1 far 1\nnear 2 far 2\n" * 3, b"A1 B1 OPEN\r\nA2 B2 OK\r\n" * 3)
    yield "texts of testers", Entry(talk, lambda found: load_content(found, "x", talks=Language()))
    rack = folder / "rack"
    (rack / "captures").mkdir(parents=True)
    for number, one in enumerate(lot(2, published_key()), 1):
        (rack / "captures" / f"{number:05}-rack.json").write_bytes(one)
    rebuild(rack)
    ledger = (rack / "ledger.jsonl").read_bytes()
    end = close(rack, read_ledger(rack / "ledger.jsonl"), published_key(), "2026-03-01T10:00:00Z", "x")
    yield "ends of lots", Entry((end.read_bytes(),), _written(end, lambda _: held(rack, {})))
    path = folder / "other.jsonl"

    def ledger_read(found: Path) -> None:
        try:
            read_ledger(found)
        finally:
            summarise(found, "rack")

    yield "ledgers", Entry((ledger,), _written(path, ledger_read))


def _sealed_anew(found: bytes) -> None:
    """Check a capture that was sealed after it was hurt, so that only the record itself speaks against it."""
    line = found.partition(b"\n")[0] + b"\n"
    check(line + seal(line), "x", {})


def _written(path: Path, read: Callable[[Path], Any]) -> Callable[[bytes], Any]:
    """Return what reads bytes from a file, written anew each time."""

    def through(found: bytes) -> Any:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        os.write(handle, found)
        os.close(handle)
        return read(path)

    return through


def _kept(folder: Path) -> Iterator[tuple[str, Entry]]:
    known = Calibration("0007", "2026-02-01T08:00:00Z", nvp=0.66, nvp_u=0.01, known_length_m=20.0)
    calibration = json.dumps({"format": 1, **msgspec.to_builtins(known)}).encode()
    place = calibration_path(TESTER)
    place.parent.mkdir(parents=True)
    yield "calibrations", Entry((calibration,), _written(place, lambda _: calibration_of(TESTER)))
    public, key = own_key().public, folder / "home" / "keys" / OWN_KEY
    yield "secret keys", Entry((key.read_bytes(),), _written(folder / "secret.pem", read_key))
    yield (
        "public keys",
        Entry((public_pem(public),), _written(folder / "public.pem", lambda path: read_public(str(path)))),
    )
    write_mend(folder / "m.json", MendFile(1, {"expect": "straight"}, (MendEntry("answered", question="colour"),)))
    yield "repairs", Entry(((folder / "m.json").read_bytes(),), _written(folder / "m.json", read_mend))
    write_handset(folder / "h.json", HandsetFile(1, "R-1", 3, (), ("abc",)))
    yield "tests in the hand", Entry(((folder / "h.json").read_bytes(),), _written(folder / "h.json", read_handset))
    doors = Doors(folder / "doors.json", 1, False, lambda: 0.0)
    doors.enter(doors.secret())
    sound = (folder / "doors.json").read_bytes()
    yield "phones let in", Entry((sound,), _written(folder / "doors.json", lambda path: Doors(path, 1, False, float)))
    pem, _ = certificate(folder / "tls", ("127.0.0.1",))
    yield (
        "certificates",
        Entry((pem.read_bytes(),), _written(pem, lambda _: certificate(folder / "tls", ("127.0.0.1",)))),
    )
    picture = io.BytesIO()
    Image.new("RGB", (64, 48), (200, 30, 30)).save(picture, "JPEG")
    yield "photos", Entry((picture.getvalue(),), check_photo)
    wish = b'{"id":"abcdefgh","what":"colour","test":3,"words":["near","4","blue"]}'
    yield "wishes", Entry((wish,), wish_sent)
    yield "secrets", Entry((b'{"secret":"abcdefgh"}',), secret_sent)
    said = b'{"id":"abcdefgh","test":"3"}'
    yield "words beside photos", Entry((said,), lambda found: photo_wish({"id": found.decode("latin-1"), "test": "3"}))


def _tables(folder: Path) -> Iterator[tuple[str, Entry]]:
    for name, module_folder, read in (
        ("patterns", patterns.FOLDER, read_pattern),
        ("colours", colours.FOLDER, read_colours),
        ("terminations", terminations.FOLDER, read_termination),
    ):
        made = tuple(path.read_bytes() for path in sorted(module_folder.glob("*.toml")))
        yield name, Entry(made, _written(folder / f"{name}.toml", read))
    yield (
        "kinds",
        Entry((Path(kinds.__file__).with_name("kinds.toml").read_bytes(),), _written(folder / "k.toml", read_kinds)),
    )
    language = language_text(Language(near=("a", "b"), far=("c", "d"), ends=("A", "B"), begin="scan #"), "x").encode()
    yield "languages", Entry((language,), _written(folder / "l.toml", read_language))
    plan = plan_text(LotPlan(count=3, near="helm")).encode()
    yield "plans of lots", Entry((plan,), _written(folder / "p.toml", read_plan))
    yield "work lists", Entry((SHIPPED.read_bytes(),), _written(folder / "w.toml", read_work_list))


def _lines(_: Path) -> Iterator[tuple[str, Entry]]:
    sound = tuple(
        frame(7, "OK", *fields).rstrip(b"\n").rpartition(b",#H")[0]
        for fields in (
            ("RES", "CAP"), (1, 1, '"1"', '"S"'), (200,), (4, 150, "9.9E37", "9.91E37", 0, 12, 3), (2, 1),
            (2, 1, 8, 10_000, 300, 48_500), (1, 2, 12_050, "DC"), (8000, 120, 50, 1, 2, 12, "9.9E37", 0, 4000),
            (-500, 250, 2, 10, -10), (2, "#H1", 2), (5, 0, 1, 5, 1, 3, "OPEN", 10, 5, 8), (6, 3, 18),
        )
    )  # fmt: skip

    def framed(found: bytes) -> None:
        """Read an answer whose check value fits whatever is in it, as each kind of answer."""
        import zlib

        answer = answers.decode_answer(found + b",#H%08X" % zlib.crc32(found))
        for read in READERS:
            with contextlib.suppress(WiremapError):
                read(answer)

    yield "answers", Entry(sound, framed)
    yield "lines", Entry(tuple(one + b",#H00000000" for one in sound), answers.decode_answer)
    yield "identifications", Entry((b"WIREMAP,BENCH-18,7,1.0.0",), answers.identification)
    yield "error reports", Entry((b'-113,"Undefined header"',), answers.error_report)


@contextmanager
def entries(folder: Path) -> Iterator[dict[str, Entry]]:
    """Give every entry; what they keep lies in this folder while it lasts."""
    before = os.environ.get("WIREMAP_HOME")
    os.environ["WIREMAP_HOME"] = str(folder / "home")
    try:
        made = (item for kind in (_captures, _kept, _tables, _lines) for item in kind(folder))
        yield {
            name: replace(entry, one_in=ONE_IN.get(name, 1), searched_one_in=SEARCHED_ONE_IN.get(name, 1))
            for name, entry in made
        }
    finally:
        if before is None:
            del os.environ["WIREMAP_HOME"]
        else:
            os.environ["WIREMAP_HOME"] = before
