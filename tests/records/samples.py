"""Captures made for tests: judged by the product, signed with a published test key."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.judge.verdict import Options, judge, to_builtins
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Ohm, Reading, square
from wiremap.records.captures.capture import Job, Lot, Work, record, to_bytes
from wiremap.records.captures.seal import digest
from wiremap.records.keys import Key, key_from_secret

EIGHT = tuple("12345678")
# RFC 8032 section 7.1, test 1: a secret key that is no secret.
TEST_KEY = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
START = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)


def reading(arrives: Iterable[int | None] = range(8), ohm: float = 0.43) -> Reading:
    """Return a reading of eight conductors; arrives[i]: where near contact i + 1 arrives, from 0, None = open."""
    places = (*map(near_contact, EIGHT), *map(far_contact, EIGHT))
    joined = {
        (near_contact(EIGHT[i]), far_contact(EIGHT[j])): ohm + 0.01 * i for i, j in enumerate(arrives) if j is not None
    }
    tester = Tester("WIREMAP", "BENCH-18", "0007", "1.0", ("RES",), 0.5)
    return Reading("2026-03-01T09:29:00Z", tester, None, "tester", EIGHT, EIGHT, square(places, dict(joined), "open"))


def small_content(key: Key) -> bytes:
    """Return a signed capture of few bytes: a cable of four conductors."""
    four = EIGHT[:4]
    places = (*map(near_contact, four), *map(far_contact, four))
    joined: dict[tuple[Contact, Contact], Ohm] = {(near_contact(name), far_contact(name)): 0.5 for name in four}
    found = Reading(None, None, None, "tester", four, four, square(places, joined, "open"))
    wanted = pattern("m12d-m12d")
    plain = record(
        found,
        to_builtins(judge(found, wanted, Options())),
        expect=wanted,
        rules={},
        limits=limits(),
        now=START,
        software="wiremap 0.1.0",
    )
    return to_bytes(plain, key)


def plain_record(found: Reading | None = None, **more: Any) -> dict[str, Any]:
    """Return a record of a straight cable, or of another reading."""
    found = found or reading()
    straight = pattern("straight")
    given: dict[str, Any] = {
        "expect": straight,
        "rules": {"screen": None, "require": []},
        "limits": limits(),
        "now": START,
        "software": "wiremap 0.1.0",
        "job": Job(cable="helm-01", near="helm", far="mast", who="me"),
        "work": (Work("Plug re-terminated.", True),),
    }
    return record(found, to_builtins(judge(found, straight, Options())), **(given | more))


def published_key() -> Key:
    """Return the published test key."""
    return key_from_secret(TEST_KEY)


def content(found: Reading | None = None, key: Key | None = None, **more: Any) -> bytes:
    """Return the bytes of a capture."""
    return to_bytes(plain_record(found, **more), key)


def lot(count: int, key: Key | None = None) -> list[bytes]:
    """Return the captures of a lot, chained."""
    captures = []
    before = None
    for number in range(1, count + 1):
        made = content(
            reading(ohm=0.4 + number / 100),
            key,
            before=before,
            lot=Lot("rack", number),
            now=START + timedelta(minutes=number),
            job=Job(cable=f"rack-{number:02}"),
        )
        captures.append(made)
        before = digest(made.partition(b"\n")[0] + b"\n")
    return captures
