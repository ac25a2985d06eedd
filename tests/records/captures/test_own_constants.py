"""A record is judged by what it carries: materials and remotes beside the thresholds."""

import pytest
from msgspec.structs import replace

from tests.judge.simulated import described, measured_reading
from tests.records.samples import START, plain_record
from wiremap.cable.limits import Limits, limits
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import Options, judge, to_builtins
from wiremap.reading.reading import Reading
from wiremap.records.captures.capture import read_capture, record, to_bytes
from wiremap.records.captures.check import check
from wiremap.records.captures.rejudge import rejudge


def kept(reading: Reading, used: Limits | None = None) -> bytes:
    """Return a capture of a straight cable, judged by other limits than those that ship."""
    own = used or limits()
    straight = pattern("straight")
    plain = record(
        reading,
        to_builtins(judge(reading, straight, Options(limits=own))),
        expect=straight,
        rules={},
        limits=own,
        now=START,
        software="wiremap 0.1.0",
    )
    return to_bytes(plain)


def test_a_record_carries_only_what_it_was_judged_by() -> None:
    """Resistances alone need no materials; capacitance, echoes and traces do; a remote needs the remotes."""
    assert plain_record()["materials"] == plain_record()["remotes"] == {}
    run = read_capture(kept(measured_reading(described(5.0))), "x").record
    assert run.materials == limits().materials.to_builtins()
    assert run.remotes == {}
    assert set(run.kinds) == {one.name for one in limits().kinds}


@pytest.mark.parametrize("faster", [0.95, 1.05])
def test_a_record_is_judged_by_its_own_kinds_of_cable(faster: float) -> None:
    """Kinds of cable that were taken otherwise give the same length when it is judged again, and the record says so."""
    reading = measured_reading(described(5.0))
    shipped = limits()
    used = replace(shipped, own_kinds=tuple(replace(one, nvp=one.nvp * faster) for one in shipped.kinds))
    content = kept(reading, used)
    capture = read_capture(content, "x")
    again = rejudge(capture.record, capture.reading)
    assert [one.length_m for one in again.lengths] == [
        one.length_m for one in judge(reading, pattern("straight"), Options(limits=used)).lengths
    ]
    assert [one.length_m for one in again.lengths] != [
        one.length_m for one in judge(reading, pattern("straight"), Options()).lengths
    ]
    found = check(content, "x", {})
    assert (found.own_limits, found.verdict) == (True, "same")
    assert not check(kept(reading), "x", {}).own_limits
