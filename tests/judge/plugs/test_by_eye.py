"""Judging by the colours read through both plugs: as a tester would, and never more than the colours show."""

import random
from collections.abc import Mapping

import pytest

from tests.long.by_eye import CONTACTS, STANDARDS, every_order_by_eye, shown
from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern
from wiremap.errors import UsageError
from wiremap.judge.plugs.by_eye import reading_by_eye
from wiremap.judge.verdict import Diagnosis, judge
from wiremap.reading.reading import Reading

T568B = dict(zip(CONTACTS, STANDARDS["T568B"], strict=True))
WHITES = {contact: word if "-" not in word else "white" for contact, word in T568B.items()}
# Pair after pair in the order of the contacts: pair 3-6 is split between green and blue (common practice, no source).
IN_SEQUENCE = {**T568B, "4": "green", "6": "blue"}


def read(near: Mapping[str, str], far: Mapping[str, str], expect: str = "straight", colours: str = "tia") -> Reading:
    """Return the reading of two plugs that were read."""
    return reading_by_eye(pattern(expect), colour_set(colours), tuple(near.items()), tuple(far.items()))


def diagnosis(
    near: Mapping[str, str], far: Mapping[str, str], expect: str = "straight", colours: str = "tia"
) -> Diagnosis:
    """Return what is said of a cable with these colours in its plugs."""
    return judge(read(near, far, expect, colours), pattern(expect))


def test_an_order_is_judged_by_eye_as_it_is_measured() -> None:
    """A draw of far plugs against measured readings, for both standards as the near plug; all of them in tests.long."""
    every_order_by_eye(seed=20, count=150)


def test_a_pass_by_eye_names_what_was_only_seen() -> None:
    """Nothing that conducts was looked at: opens, shorts, pairs, length and the rest are not checked, and why."""
    found = diagnosis(T568B, T568B)
    assert found.verdict == "pass"
    assert [item.what for item in found.not_checked][:4] == ["opens", "shorts", "split-pairs", "length"]
    assert {item.why for item in found.not_checked} == {"seen-only"}


def test_what_was_read_of_a_part_is_true_of_the_whole() -> None:
    """Of cables with exchanged and missing conductors, of which a part was read, nothing is said that more undoes."""
    choose = random.Random(3)
    said = passed = 0
    for _ in range(400):
        near = dict(T568B)
        far = dict(zip(choose.sample(CONTACTS, 8), near.values(), strict=True))
        kind = choose.choice(("any", "exchanged", "right"))  # few exchanges, so that pairs cross and turn
        if kind != "any":
            a, b = choose.sample(CONTACTS, 2) if kind == "exchanged" else ("1", "1")
            far = {**near, a: near[b], b: near[a]}
        for plug in (near, far):
            for contact in choose.sample(CONTACTS, choose.choice((0, 0, 1, 2))):
                plug[contact] = "-"
        share = choose.choice((0.3, 0.6, 0.9, 1.0))
        some_near, some_far = (
            {contact: word for contact, word in plug.items() if choose.random() < share} for plug in (near, far)
        )
        whole, part = diagnosis(near, far), diagnosis(some_near, some_far)
        assert part.verdict in ("undecided", whole.verdict)
        if part.verdict == "pass":
            passed += 1
            assert len(some_near) == len(some_far) == 8
        leads = {a: b for one in whole.findings if one.fault != "open" for a, b in zip(one.near, one.far, strict=True)}
        opens = {
            (end, name)
            for f in whole.findings
            if f.fault == "open"
            for end in ("near", "far")
            for name in getattr(f, end)
        }
        for finding in part.findings:
            said += 1
            if finding.fault == "open":
                assert {("near", name) for name in finding.near} | {("far", name) for name in finding.far} <= opens
            elif finding.fault == "miswire":
                assert all(leads[a] == b for a, b in zip(finding.near, finding.far, strict=True))
            else:
                assert finding in whole.findings
    assert said > 100
    assert passed > 5


def test_white_mates_are_not_guessed() -> None:
    """Plain whites join nothing; what sits wrong among the colours is found; a mate that is said decides."""
    found = diagnosis(WHITES, WHITES, colours="plain-white")
    assert (found.verdict, found.findings) == ("undecided", ())
    assert ("continuity", "colours-unsure") in {(item.what, item.why) for item in found.not_checked}
    assert "joined" not in read(WHITES, WHITES, colours="plain-white").resistance_ohm[0]
    exchanged = {**WHITES, "4": "green", "6": "blue"}
    wrong = diagnosis(WHITES, exchanged, colours="plain-white")
    assert wrong.verdict == "fail"
    assert [(one.fault, one.near, one.far) for one in wrong.findings] == [("miswire", ("4", "6"), ("6", "4"))]
    followed = {**WHITES, "1": "white with orange", "3": "white (with green)", "5": "White with blue"}
    assert diagnosis(followed, followed, colours="plain-white").verdict == "pass"  # the fourth white is what is left
    turned = {**followed, "1": "orange", "2": "white with orange"}
    assert shown(diagnosis(followed, turned, colours="plain-white")) == shown(
        diagnosis(T568B, {**T568B, "1": "orange", "2": "white-orange"})
    )


def test_an_empty_contact_is_at_the_end_where_it_is_empty() -> None:
    """A conductor read in one plug only is an open, at the other end; empty in both plugs it is at no known end."""
    cut = {**T568B, "8": "-"}
    found = diagnosis(T568B, cut)
    assert [(one.fault, one.near, one.far, one.end) for one in found.findings] == [("open", ("8",), ("8",), "far")]
    assert diagnosis(cut, T568B).findings[0].end == "near"
    assert [(one.fault, one.near, one.end) for one in diagnosis(cut, cut).findings] == [("open", ("8",), None)]
    two_pairs = {**T568B, "4": "-", "5": "-", "7": "-", "8": "-"}
    assert diagnosis(two_pairs, two_pairs, "straight-2pair").verdict == "pass"


def test_pairs_that_the_colours_split_are_found() -> None:
    """Contact to contact right, yet a pair of two twisted pairs: split, by the colours of the cable."""
    found = diagnosis(IN_SEQUENCE, IN_SEQUENCE)
    assert found.verdict == "fail"
    assert [(one.fault, one.near, one.far) for one in found.findings] == [
        ("split-pair", ("3", "4", "5", "6"), ("3", "4", "5", "6"))
    ]
    assert found.nearest is None
    some = {contact: word for contact, word in IN_SEQUENCE.items() if contact in "36"}
    assert [(one.fault, one.near) for one in diagnosis(some, some).findings] == [("split-pair", ("3", "6"))]


@pytest.mark.parametrize(
    ("near", "far", "expect", "colours", "says"),
    [
        (
            {"1": "blue", "2": "blue"},
            {"1": "blue"},
            "straight",
            "tia",
            "blue was read in contacts 1, 2 of the near plug",
        ),
        ({"1": "white"}, {"1": "white"}, "straight", "tia", "no conductor 'white'"),
        ({"1": "blue"}, dict.fromkeys("12345", "white"), "straight", "plain-white", "far plug; .* has it 4 times"),
        (T568B, T568B, "loopback-100", "tia", "one plug"),
    ],
)
def test_what_no_cable_has_is_refused(
    near: dict[str, str], far: dict[str, str], expect: str, colours: str, says: str
) -> None:
    """Colours that the cable has not, or not so often, and plugs that join their contacts."""
    with pytest.raises(UsageError, match=says) as refused:
        read(near, far, expect, colours)
    assert refused.value.hint
