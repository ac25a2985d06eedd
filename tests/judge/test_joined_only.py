"""Readings that tell joined from open and no ohms: what can be said stays right, what cannot is said nowhere."""

import json
import re
from collections.abc import Iterable

import pytest
from msgspec.structs import replace

from tests.judge.simulated import CONTACTS, TAKEN
from wiremap.contact import far_contact, near_contact
from wiremap.judge.case import Case, JobNames, judge_case, requirements
from wiremap.judge.verdict import to_builtins
from wiremap.reading.parts import ForeignVoltage, Tester
from wiremap.reading.reading import Far, Ohm, Reading
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page

BARE = Tester("WIREMAP", "BARE-18", "7", "1.0", ("CONT", "FOREIGN"), 10_000.0)
BUS = ("1", "2", "3", "4", "5")
THROUGH = frozenset((place, place + 9) for place in range(9))
ALL_NEAR = frozenset((a, b) for b in range(9) for a in range(b))
IN_BUS = frozenset((place, place + 5) for place in range(5))


def seen(
    joined: Iterable[tuple[int, int]],
    far: Far = "tester",
    contacts: tuple[str, ...] = CONTACTS,
    foreign: tuple[ForeignVoltage, ...] = (),
    tester: Tester | None = BARE,
) -> Reading:
    """Return what such a tester says: joined as given, all else open; nothing where there is a voltage."""
    pairs, size = set(joined), 2 * len(contacts)

    def cell(a: int, b: int) -> Ohm:
        if a == b:
            return 0.0
        return None if foreign else "joined" if (min(a, b), max(a, b)) in pairs else "open"

    rows = tuple(tuple(cell(a, b) for b in range(size)) for a in range(size))
    return Reading(TAKEN, tester, None, far, contacts, contacts, rows, foreign=foreign, origin="tester")


def judged(reading: Reading, expect: str | None = "straight") -> Case:
    """Judge a reading."""
    return judge_case(reading, requirements(expect), JobNames())


def faults(case: Case) -> list[str]:
    """Return the faults found."""
    return [finding.fault for finding in case.diagnosis.findings]


def missing(case: Case) -> dict[str, str]:
    """Return what was not checked, with the reasons."""
    return {item.what: item.why for item in case.diagnosis.not_checked}


def shown(case: Case) -> str:
    """Return the page as words with single spaces."""
    return " ".join(page(case, Terminal(100, None)).split())


CABLES = {
    "straight": (THROUGH, "pass", []),
    "pair 3-6 reversed": (THROUGH - {(2, 11), (5, 14)} | {(2, 14), (5, 11)}, "fail", ["reversed-pair"]),
    "4 open": (THROUGH - {(3, 12)}, "fail", ["open"]),
    "1 and 2 shorted": (THROUGH | {(0, 1), (0, 10), (1, 9), (9, 10)}, "fail", ["short"]),
    "nothing": (frozenset[tuple[int, int]](), "fail", ["open"] * 8),
}


@pytest.mark.parametrize("name", CABLES)
def test_the_verdict_is_right_and_no_ohms_are_printed(name: str) -> None:
    """Wiring is judged as ever; no page and no record says a resistance of the cable."""
    joined, verdict, found = CABLES[name]
    case = judged(seen(joined))
    assert (case.diagnosis.verdict, faults(case)) == (verdict, found)
    said = shown(case)
    assert re.findall(r"[\d.]+ [kM]?ohm", said) == ["10 kohm"], said
    assert "This tester tells joined from open, no ohms: below 10 kohm is joined." in said
    plain = json.dumps([to_builtins(case.diagnosis), [one.to_builtins() for one in case.advice.services]])
    for key in re.findall(r'"(?:value|path_ohm|path_hot_ohm|ohm)": ([^,}]+)', plain):
        assert key == "null", plain


@pytest.mark.parametrize("name", CABLES)
def test_what_cannot_be_seen_is_said(name: str) -> None:
    """Resistance, leakage and small voltages are not checked, pairs and length this tester cannot."""
    found = missing(judged(seen(CABLES[name][0])))
    assert (found["resistance"], found["leakage"], found["foreign-voltage"]) == (
        "continuity-only",
        "continuity-only",
        "volts-only",
    )
    assert {found[check] for check in ("split-pairs", "length", "contact-film")} == {"tester-cannot"}
    assert "shorts" not in found


def test_shorts_that_were_not_looked_for_are_said() -> None:
    """A tester that looks at near against far only has not checked shorts; without FOREIGN no voltage either."""
    reading = seen(THROUGH, tester=replace(BARE, features=("CONT",)))
    rows = tuple(
        tuple(None if a != b and (a < 9) == (b < 9) else value for b, value in enumerate(row))
        for a, row in enumerate(reading.resistance_ohm)
    )
    found = missing(judged(replace(reading, resistance_ohm=rows)))
    assert (found["shorts"], found["foreign-voltage"]) == ("near-far-only", "tester-cannot")


def test_a_voltage_has_no_number() -> None:
    """A pin that tells high from low measured no volts: the page names contacts and kind, never 2 V."""
    voltage = (ForeignVoltage(near_contact("3"), 2000, "dc"), ForeignVoltage(far_contact("6"), 2000, "ac"))
    case = judged(seen((), foreign=voltage))
    assert (case.diagnosis.verdict, set(faults(case))) == ("undecided", {"foreign-voltage"})
    assert "There is voltage on near 3" in shown(case)
    assert not re.search(r"\d V\b", shown(case))


@pytest.mark.parametrize("far", ["tester", "remote", "equipment"])
def test_what_joins_all_contacts_far_away_is_not_told_apart(far: Far) -> None:
    """A remote, a joining plug and a port whose centre taps are tied read the same: none is guessed, all are named."""
    case = judged(seen(ALL_NEAR, far))
    assert case.diagnosis.setup is not None
    assert case.diagnosis.setup.seen == "joining"
    assert "Is a joining plug, a remote or equipment on the far plug?" in shown(case)
    assert far == "tester" or case.diagnosis.verdict == "undecided"


def test_a_remote_needs_ohms() -> None:
    """With the far plug said to be in a remote nothing is judged of the order, and no fault is invented."""
    case = judged(seen(ALL_NEAR, "remote"))
    assert faults(case) == []
    assert missing(case)["continuity"] == "continuity-only"


def test_nobody_is_sent_for_a_remote() -> None:
    """What sees the order with the far plug in nothing: the tester's own far socket; of remotes nothing is said."""
    fars: tuple[Far, ...] = ("open", "joined")
    for far in fars:
        case = judged(seen((), far))
        assert "a remote onto it" not in shown(case)


def test_a_terminator_is_not_called_a_short() -> None:
    """A bus with its terminators in is undecided, and which conductor arrives where too; told is to take them out."""
    bus = {(3, 4), (8, 9), (3, 9), (4, 8), (3, 8), (4, 9)}
    case = judged(seen({*IN_BUS, *bus}, contacts=BUS), "m12a-5pole")
    assert (case.diagnosis.verdict, faults(case)) == ("undecided", [])
    assert (missing(case)["continuity"], missing(case)["shorts"]) == ("terminated", "terminated")
    assert "Take the terminators out of the bus" in shown(case)


def test_another_short_of_a_bus_is_one() -> None:
    """A bus without terminators passes; a short of its conductors with another contact fails."""
    assert judged(seen(IN_BUS, contacts=BUS), "m12a-5pole").diagnosis.verdict == "pass"
    group = (2, 3, 4, 7, 8, 9)
    all_of_it = {(a, b) for a in group for b in group if a < b}
    case = judged(seen({*IN_BUS, *all_of_it}, contacts=BUS), "m12a-5pole")
    assert (case.diagnosis.verdict, faults(case)) == ("fail", ["short"])


def test_ohms_make_the_difference() -> None:
    """The same words from a tester that measures ohms, or one number among them, are not joined only."""
    assert not seen((), tester=replace(BARE, features=("RES", "CONT"))).joined_only
    assert not seen((), tester=None).joined_only
    some = seen(THROUGH, tester=None)
    assert some.joined_only
    rows = [list(row) for row in some.resistance_ohm]
    rows[0][9] = rows[9][0] = 0.3
    assert not replace(some, resistance_ohm=tuple(map(tuple, rows))).joined_only


@pytest.mark.parametrize("far", ["tester", "open", "joined", "remote", "equipment"])
def test_wherever_the_far_plug_is_said_to_be_small_voltages_are_not_called_checked(far: Far) -> None:
    """A tester that sees some volts and more never says that voltage was checked; nor does a table."""
    for joined in (THROUGH, ALL_NEAR, ((0, 1), (2, 5))):
        assert missing(judged(seen(joined, far)))["foreign-voltage"] == "volts-only"
        assert missing(judged(seen(joined, far, tester=None)))["foreign-voltage"] == "not-measured"
