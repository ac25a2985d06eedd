"""Testers and ports that fail, met by the command: what it says, with which code, and that nothing is kept."""

import fcntl
import json
import os
import pty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.cli.running import Ran, run
from tests.tester.peers import HANG_UP, Dialogue, frame, introduction, on_pty, triangle
from wiremap.tester import line, measure

NOBODY = 65_534
SCAN = "MEASure:ARRay:RESistance? {tag}"
SOUND = triangle({(0, 2): 120, (1, 3): 120}, 4)


def half(tag: int) -> bytes:
    """Return the first half of a scan's answer."""
    return frame(tag, "OK", 4, *SOUND)[:20]


def wrong_crc(tag: int) -> bytes:
    """Return a scan's answer of which one digit is another than the one sent."""
    return frame(tag, "OK", 4, *SOUND).replace(b"120", b"130", 1)


def dying(tag: int) -> bytes:
    """Return half of a scan's answer, and then nothing more, ever."""
    return half(tag) + HANG_UP


TESTERS: dict[str, tuple[Dialogue, str]] = {
    "slow": (
        [*introduction(), (SCAN, b""), ("SYSTem:ERRor?", b"")],
        "no answer to 'MEASure:ARRay:RESistance?' within 0.3 s",
    ),
    "half": ([*introduction(), (SCAN, half), (SCAN, half)], "stopped in the middle of an answer, after 20 bytes"),
    "wrong CRC": ([*introduction(), (SCAN, wrong_crc), (SCAN, wrong_crc)], "has a wrong check value"),
    "somebody else's": ([("*IDN?", b"ACME,SCOPE 3,77,2.1\n")], "no wiremap tester, it answers as 'ACME,SCOPE 3'"),
    "silent": ([("*IDN?", b"")] * 3, "no answer to '*IDN?'"),
    "dies in mid-answer": ([*introduction(), (SCAN, dying)], "the line to the tester broke"),
}


@pytest.fixture(autouse=True)
def _short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, seconds in (("STALL_S", 0.2), ("QUIET_S", 0.02), ("PLAIN_S", 0.2)):
        monkeypatch.setattr(line, name, seconds)
    monkeypatch.setattr(line, "WAKE_TRIES", 3)
    monkeypatch.setattr(measure, "SCAN_S", 0.3)


def refused(done: Ran, says: str, kept: Path) -> None:
    """Assert that the command ended as it must when it did not get a reading."""
    assert (done.code, done.out) == (5, "")
    assert done.err.startswith("wiremap: ")
    what, hint = done.err.split("\n\nhint: ")
    assert says in " ".join(what.split())
    assert hint.strip()
    assert "Traceback" not in done.err
    assert not list(kept.iterdir())


@pytest.mark.parametrize("kind", TESTERS)
def test_a_bad_tester_is_an_error_with_a_hint(tmp_path: Path, kind: str) -> None:
    """A tester that is slow, answers half, damaged, as somebody else, or dies: text, JSON, exit 5, nothing kept."""
    dialogue, says = TESTERS[kind]
    with on_pty(dialogue) as address:
        refused(run("test", "--tester", address, "--far", "tester", "--save", str(tmp_path)), says, tmp_path)
    with on_pty(dialogue) as address:
        done = run("test", "--tester", address, "--save", str(tmp_path), "--json")
    (found,) = done.objects()
    assert (done.code, set(found)) == (5, {"format", "error"})
    assert found["error"]["kind"] == "tester"
    assert says in found["error"]["what"]
    assert found["error"]["hint"]
    assert not list(tmp_path.iterdir())


@contextmanager
def terminal() -> Iterator[str]:
    """Give the address of a pseudo-terminal that nobody answers on."""
    master, slave = pty.openpty()
    try:
        yield os.ttyname(slave)
    finally:
        os.close(slave)
        os.close(master)


def test_a_port_that_is_not_there(tmp_path: Path) -> None:
    """A port that does not exist: the command says so, and to plug the tester in."""
    done = run("test", "--tester", "/dev/ttyACM-none", "--save", str(tmp_path))
    refused(done, "there is no such port", tmp_path)
    assert "Plug the tester in" in done.err


def test_a_port_in_use(tmp_path: Path) -> None:
    """A port that another open file holds a real lock on: the command says to close the other program."""
    with terminal() as address, Path(address).open("rb", buffering=0) as other:
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
        done = run("test", "--tester", address, "--save", str(tmp_path))
    refused(done, "the port is in use by another program", tmp_path)
    assert "Close the other program" in done.err


@pytest.mark.skipif(os.geteuid() != 0, reason="needs root to become another user")
def test_a_port_one_may_not_use(tmp_path: Path) -> None:
    """A port that a real other user may not open: the command, run by that user, names the group to join."""
    run("test", "--tester", "/dev/ttyACM-none")  # loads what that user could not read
    receive, send = os.pipe()
    with terminal() as address:
        os.chown(address, 0, 20)
        Path(address).chmod(0o660)
        child = os.fork()
        if child == 0:
            try:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
                os.write(send, json.dumps(run("test", "--tester", address)).encode())
            finally:
                os._exit(0)
        os.close(send)
        os.waitpid(child, 0)
    with os.fdopen(receive) as report:
        done = Ran(*json.load(report))
    refused(done, "you may not use this port", tmp_path)
    assert "to the group dialout" in " ".join(done.err.split())
