"""Testing on and on for one who is aloft: what is new is said once, with its own bell."""

from collections.abc import Iterator
from functools import partial
from itertools import count, islice

import pytest

from tests.cli.running import run
from tests.judge.wiring.remote_trials import CONTACTS, EXPECTED, Ohms
from tests.judge.wiring.test_remote import reading, through
from wiremap.cable.patterns import pattern
from wiremap.cli.output import BELLS
from wiremap.cli.repeating import LOST_RINGS, SEEN_RINGS, news, repeated
from wiremap.judge.case import Case, JobNames, Requirements, judge_case
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.reading import Far

NOTHING: Ohms = {(a, b): "open" for a in CONTACTS for b in CONTACTS if a != b}
REVERSED = EXPECTED | {"4": "5", "5": "4"}


def case(ohm: Ohms, far: Far = "remote") -> Case:
    """Judge one test of the mast run, remote B being at the mast."""
    wanted = Requirements(pattern("straight"), statements=Statements(remotes=("B=mast",)))
    return judge_case(reading(ohm, far), wanted, JobNames("helm", "mast"))


def test_seen_verdict_lost_and_seen_again() -> None:
    """A remote seen, its verdict, the same again, lost, seen with another verdict: each is said once."""
    tests = (NOTHING, through("B", REVERSED), through("B", REVERSED), NOTHING, through("B", EXPECTED))
    found = list(news(case(ohm) for ohm in tests))
    assert [item.kind for item in found] == ["seen", "verdict", "lost", "seen", "verdict"]
    assert [item.says for item in found][:3] == [
        "remote B, mast seen",
        "FAIL   Pair 4-5 is reversed.",
        "remote B, mast lost",
    ]
    assert [item.rings for item in found] == [SEEN_RINGS, BELLS["fail"], LOST_RINGS, SEEN_RINGS, BELLS["pass"]]
    assert len({SEEN_RINGS, LOST_RINGS, *BELLS.values()}) == 5


def test_another_remote_is_news() -> None:
    """When another remote answers, that is said, by its letter where nobody told its place."""
    found = list(news(case(through(letter, EXPECTED)) for letter in "BD"))
    assert [item.says for item in found if item.kind == "seen"] == ["remote B, mast seen", "remote D seen"]


def test_a_joining_plug_and_its_loops() -> None:
    """With a plug that joins all, the far end is seen while any loop closes."""
    loops: Ohms = {(a, b): 5.0 for a in CONTACTS for b in CONTACTS if a != b}
    found = list(news(case(ohm, "joined") for ohm in (loops, NOTHING)))
    assert [item.kind for item in found] == ["seen", "verdict", "lost"]


def test_tests_go_on_with_pauses_between() -> None:
    """Each test is followed by a pause, and the next is made only when it is asked for."""
    made: list[str] = []

    def measure() -> Case:
        made.append("test")
        return case(NOTHING)

    running: Iterator[Case] = repeated(measure, lambda: made.append("pause"), lambda: 0.0)
    list(islice(running, 3))
    assert made == ["test", "pause", "test", "pause", "test"]


def test_tests_go_on_for_as_long_as_was_said() -> None:
    """With a time given, the test during which it runs out is the last one, and there is one at the least."""
    for for_s, tests in ((0.0, 1), (25.0, 3)):
        clock = count(step=10)  # ten seconds at each look
        assert len(list(repeated(lambda: case(NOTHING), lambda: None, partial(next, clock), for_s))) == tests


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--repeat", "--save", "x.json", "--key", "none"), "--repeat keeps no capture"),
        (("--remote", "E=mast"), "no remote 'E'"),
        (("--remote", "B"), "--remote B: cannot be used"),
        (("--sound", "left"), "--sound left: not known"),
        (("--closed", "far=soon"), "no time"),
        (("--joint", "mast foot"), "cannot be used"),
        (("--port-near", "mdi"), "--port-near mdi: not known"),
        (("--near-colours", "9=blue", "--expect", "straight"), "'9=blue' cannot be used"),
        (("--expect", "loopback-100", "--far-colours", "1=blue"), "one plug only"),
    ],
)
def test_words_that_cannot_be_used(words: tuple[str, ...], says: str) -> None:
    """A word that cannot be used is refused with the option's name and a hint, whatever the cable."""
    ran = run("test", "--tester", "sim:patch", *words)
    assert ran.code == 2
    assert says in ran.err
    assert "hint:" in ran.err
