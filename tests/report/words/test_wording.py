"""Sentences: every fault, cause, check and reason has its own, and none claims more than its finding."""

from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from wiremap.cable.mistakes import mistakes
from wiremap.cable.patterns import pattern
from wiremap.judge.findings import Check, Fault, Finding, NotChecked, Place, Reason
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.nearest import Nearest
from wiremap.report.words.faults import (
    CAUSES,
    CHECK_WORDS,
    MOST_URGENT_FIRST,
    REASON_WORDS,
    Ends,
    amount,
    contacts_named,
    finding_sentence,
    listed,
    missing,
    missing_with_reasons,
    urgent_first,
    what_is_wrong,
)
from wiremap.report.words.next_steps import NEXT, SAME_ADVICE, next_step

BOAT = Ends("helm", "mast")
STRAIGHT = pattern("straight")
FAULTS: tuple[Fault, ...] = get_args(Fault)
ENDS: tuple[Place | None, ...] = (*get_args(Place), None)


def diagnosis(*findings: Finding, expect: str | None = "straight", nearest: Nearest | None = None) -> Diagnosis:
    """Build the diagnosis of a cable that was expected to be straight."""
    return Diagnosis("fail" if findings else "pass", expect, nearest, findings, ())


def test_every_word_of_the_judge_is_known() -> None:
    """Every fault has a sentence, a rank and advice; every check, reason and cause is known."""
    assert set(MOST_URGENT_FIRST) == set(FAULTS)
    assert set(NEXT) | set(SAME_ADVICE) | {"terminators"} == set(FAULTS)
    assert set(CHECK_WORDS) == set(get_args(Check))
    assert set(REASON_WORDS) == set(get_args(Reason))
    assert {mistake.name for mistake in mistakes()} | {"straight"} == set(CAUSES)


@pytest.mark.parametrize(
    ("finding", "sentence"),
    [
        (Finding("open", ("4",), ("4",)), "Contact 4 is open."),
        (Finding("open", ("3",), ("1",)), "Helm 3 and mast 1 are open."),
        (Finding("open", (), ("5",)), "Mast 5 is open."),
        (Finding("open", ("8",), ("8",), "far", 27.04), "Contact 8 is open at the mast end, 27.0 m from helm."),
        (Finding("open", ("8",), ("8",), "run", 6.1), "Contact 8 is open in the cable itself, 6.1 m from helm."),
        (Finding("short", ("1", "2"), ("1", "2")), "Contacts 1 and 2 are shorted together."),
        (Finding("short", ("3",), ("3", "6")), "Helm 3 and mast 3 and 6 are shorted together."),
        (Finding("screen-short", ("3", "S"), ("3", "S")), "Contact 3 is shorted to the screen."),
        (Finding("screen-short", ("S",), ("7", "S"), "far"), "Mast 7 is shorted to the screen at the mast end."),
        (Finding("reversed-pair", ("4", "5"), ("5", "4")), "Pair 4-5 is reversed."),
        (Finding("reversed-pair", ("3", "6"), ("6", "3"), "near"), "Pair 3-6 is reversed at the helm end."),
        (
            Finding("crossed-pairs", ("1", "2", "3", "6"), ("3", "6", "1", "2")),
            "Pairs 1-2 and 3-6 are crossed.",
        ),
        (
            Finding("crossed-pairs", ("1", "2", "3", "6"), ("3", "6", "2", "1"), polarity_exchanged=("3-2", "6-1")),
            "Pairs 1-2 and 3-6 are crossed, and polarity is exchanged as well.",
        ),
        (Finding("miswire", ("3", "4"), ("4", "3")), "Contacts 3 and 4 are exchanged."),
        (Finding("miswire", ("1", "2", "3"), ("2", "3", "1")), "Helm 1, 2 and 3 arrive at mast 2, 3 and 1."),
        (Finding("miswire", ("2",), ("5",)), "Helm 2 arrives at mast 5."),
        (
            Finding("split-pair", ("3", "4", "5", "6"), ("3", "4", "5", "6"), certainty="likely"),
            "Probably: pairs 3-6 and 4-5 are split: contact to contact it is right, "
            "but the twisted pairs are mixed up.",
        ),
        (
            Finding("high-resistance", ("4",), ("4",), value=12.34, limit=1.5, unit="ohm"),
            "Contact 4 has too much resistance (12.3 ohm, limit 1.5 ohm).",
        ),
        (
            Finding("leakage", ("3", "6"), (), value=45_000.0, unit="ohm"),
            "Helm 3 and 6 leak into each other (45 kohm): wet or dirty.",
        ),
        (
            Finding("leakage", ("7",), ("7",), value=40_000.0, unit="ohm"),
            "Contact 7 leaks across its break (40 kohm): wet or dirty.",
        ),
        (
            Finding("foreign-voltage", ("4",), (), value=-4.0, unit="V", low=4.0),
            "There is voltage on helm 4 (4 V or more); nothing was driven into the cable.",
        ),
        (
            Finding("foreign-voltage", ("4",), (), value=48.0, unit="V"),
            "There is voltage on helm 4 (48 V); nothing was driven into the cable.",
        ),
        (Finding("screen-open"), "The screen is open."),
        (Finding("equipment-attached"), "Equipment is still connected to the cable."),
    ],
)
def test_sentences(finding: Finding, sentence: str) -> None:
    """A finding is said as a technician would say it, with the job's names for the ends."""
    assert finding_sentence(finding, BOAT, STRAIGHT) == sentence


@given(
    st.sampled_from(FAULTS),
    st.lists(st.sampled_from("12345678S"), unique=True, max_size=9),
    st.lists(st.sampled_from("12345678S"), unique=True, max_size=9),
    st.sampled_from(ENDS),
    st.one_of(st.none(), st.floats(0, 300)),
    st.booleans(),
)
@settings(deadline=None, derandomize=True, database=None, max_examples=300)
def test_any_finding_is_said_whole(
    fault: Fault, near: list[str], far: list[str], end: Place | None, at_m: float | None, likely: bool
) -> None:
    """Whatever the contacts, a finding gives one whole sentence and one whole piece of advice."""
    finding = Finding(fault, tuple(near), tuple(far), end, at_m, "likely" if likely else "confirmed")
    for text in (
        finding_sentence(finding, BOAT, STRAIGHT),
        next_step(diagnosis(finding), BOAT, STRAIGHT, ("T568B", "T568A")),
    ):
        assert text.endswith(".")
        assert text[0].isupper()
        assert "None" not in text
        assert "{" not in text
        assert "  " not in text
        assert "certified" not in text.lower()
        assert "qualified" not in text.lower()
    said = finding_sentence(finding, BOAT, STRAIGHT)
    assert said.startswith("Probably: ") == likely
    assert at_m is None or f"{at_m:.1f} m from helm" in said


def test_numbers_are_read_aloud() -> None:
    """Ohms are said with three digits at most, from a thousand on as kohm and Mohm."""
    said = [amount(value, "ohm") for value in (0.512, 9.384, 123.4, 1500.0, 45_000.0, 2.2e6)]
    assert said == ["0.512 ohm", "9.38 ohm", "123 ohm", "1.5 kohm", "45 kohm", "2.2 Mohm"]
    assert amount(48.0, "V") == "48 V"


def test_opens_of_one_place_are_said_together() -> None:
    """Several open contacts are one sentence; those of another place are another."""
    opens = [Finding("open", (n,), (n,)) for n in ("4", "5")] + [Finding("open", ("8",), ("8",), "far")]
    assert what_is_wrong(diagnosis(*opens), BOAT, STRAIGHT) == (
        "Contacts 4 and 5 are open.",
        "Contact 8 is open at the mast end.",
    )


def test_nothing_arrives_is_a_plug_that_is_not_home() -> None:
    """When every conductor is open the advice is to push the plugs home, not to crimp."""
    opens = tuple(Finding("open", (n,), (n,)) for n in "12345678")
    assert what_is_wrong(diagnosis(*opens), BOAT, STRAIGHT) == ("Nothing arrives at the mast end.",)
    assert "Push both plugs home" in next_step(diagnosis(*opens), BOAT, STRAIGHT)
    assert "Push" not in next_step(diagnosis(*opens[1:]), BOAT, STRAIGHT)


def test_what_endangers_comes_first() -> None:
    """Foreign voltage is said before anything else, a short before an exchanged pair."""
    faults: tuple[Fault, ...] = ("miswire", "reversed-pair", "foreign-voltage", "open", "short")
    ordered = [finding.fault for finding in urgent_first([Finding(fault, ("1", "2")) for fault in faults])]
    assert ordered == ["foreign-voltage", "short", "open", "reversed-pair", "miswire"]


def test_one_cause_is_said_first() -> None:
    """A known mistake that explains all findings is the first sentence."""
    turned = replace(diagnosis(Finding("miswire", ("1", "8"), ("8", "1"))), cause="plug-turned-over")
    assert what_is_wrong(turned, BOAT, STRAIGHT)[0].startswith("Wired as if one plug were turned over")


def test_sound_cable_of_the_wrong_kind() -> None:
    """A sound crossover where straight is wanted is called that, and one end is to be re-terminated."""
    crossed = Finding("crossed-pairs", ("1", "2", "3", "6"), ("3", "6", "1", "2"))
    other = diagnosis(crossed, nearest=Nearest("crossover", 0))
    assert what_is_wrong(other, BOAT, STRAIGHT)[0] == "This is a sound crossover cable, but straight was asked for."
    assert next_step(other, BOAT, STRAIGHT) == "Re-terminate one end, or use it where crossover is wanted."


def test_without_expectation_the_pattern_is_named() -> None:
    """Without an expectation the page names the pattern that fits, and how to ask for it."""
    none = Diagnosis("undecided", None, Nearest("crossover", 0), (), ())
    assert what_is_wrong(none, BOAT, None) == ("A sound crossover cable.",)
    assert next_step(none, BOAT, None) == ("Judge it as crossover if that is what the job needs (--expect crossover).")
    near_by = Diagnosis("undecided", None, Nearest("straight", 2), (), ())
    assert "nearest is straight, 2 conductors away" in what_is_wrong(near_by, BOAT, None)[0]
    unknown = Diagnosis("undecided", None, None, (), ())
    assert what_is_wrong(unknown, BOAT, None) == ("Nothing can be said of it.",)


def test_required_but_not_checked_is_named() -> None:
    """A check that was required and not made is named in the next step."""
    lacking = Diagnosis("undecided", "straight", None, (), (NotChecked("split-pairs", "tester-cannot"),))
    assert "Required but not checked: split pairs." in next_step(lacking, BOAT, STRAIGHT, ("split-pairs",))


def test_not_checked_is_grouped_by_reason() -> None:
    """What was not checked is listed once; checks with the same reason stand together."""
    items = (
        NotChecked("screen", "not-asked"),
        NotChecked("split-pairs", "too-short"),
        NotChecked("length", "too-short"),
    )
    assert missing(items) == "screen, split pairs, length"
    assert (
        missing_with_reasons(items)
        == "screen (nothing was asked of it); split pairs, length (the cable is too short for it)"
    )
    assert missing(()) == missing_with_reasons(()) == ""


def test_lists_and_contacts() -> None:
    """Contacts are listed as spoken, the screen by its name even where it is contact 1."""
    assert listed(["1"]) == "1"
    assert listed(["1", "2", "3"]) == "1, 2 and 3"
    bus = Ends("helm", "mast", "1", "1")
    assert contacts_named(("1", "4"), ("1", "4"), bus) == "contact 4 and the screen"
    assert contacts_named(("1",), ("5",), bus) == "helm screen and mast 5"
