"""Sentences held against readings and repairs of which they are true, or would be false."""

import re

import pytest
from msgspec.structs import replace

from tests.judge.bench_readings import STRAIGHT, rj45
from tests.judge.simulated import described, measured_reading
from tests.report.words.test_wording import diagnosis
from tests.world.instructions import understood
from wiremap.contact import End
from wiremap.judge.case import JobNames, judge_case, requirements
from wiremap.judge.findings import Fault, Finding
from wiremap.judge.verdict import judge
from wiremap.judge.wiring.far_end import Loop
from wiremap.reading.parts import HeardText
from wiremap.report.words.checks import checked, checked_sentence
from wiremap.report.words.faults import Ends
from wiremap.report.words.measurements import run_sentence
from wiremap.report.words.next_steps import next_step
from wiremap.report.words.origin import how_read
from wiremap.report.words.repair import loop_lines
from wiremap.report.words.services import danger_sentences

BOTH_ALIKE = "that both conductors of a pair have the same resistance"


def test_both_conductors_of_a_pair_were_compared_where_that_is_said() -> None:
    """Said of what could have found them unlike, and not where a tester tells joined from open alone."""
    unlike = judge(rj45(changed={("near 7", "far 7"): 0.55}), STRAIGHT)
    assert [finding.fault for finding in unlike.findings] == ["resistance-unbalance"]
    reading = rj45()
    sound = judge(reading, STRAIGHT)
    assert BOTH_ALIKE in checked_sentence(checked(reading, sound.not_checked, ()))
    ohms = tuple(
        tuple("joined" if isinstance(value, float) and a != b else value for b, value in enumerate(row))
        for a, row in enumerate(reading.resistance_ohm)
    )
    plain = replace(reading, resistance_ohm=ohms)
    assert BOTH_ALIKE not in checked_sentence(checked(plain, judge(plain, STRAIGHT).not_checked, ()))


def test_plus_and_minus_that_are_said_to_be_joined_are() -> None:
    """A conductor of pair 4-5 shorted to one of 7-8: the sentence names contacts that the reading joins."""
    reading = rj45(None, "near 5, near 7")
    case = judge_case(reading, requirements("straight"), JobNames())
    said = [one for one in danger_sentences(case.advice.services) if "+ and - are joined" in one]
    assert said
    for sentence in said:
        found = re.search(r": its \+ and - are joined \(([0-9, -]+)\)\.$", sentence)
        assert found is not None, sentence
        assert {"5", "7"} <= set(re.findall(r"\d", found[1])), sentence


def test_a_short_split_section_can_hide_in_a_long_good_run() -> None:
    """Two pairs mixed up along a decimetre of fifty metres: nothing is found, and the page says that it can hide."""
    mixed = 'order = ["white-blue", "white-green", "white-orange", "orange", "blue", "green", "white-brown", "brown"]'
    more = (
        f'[[segment]]\ncable = "UTP"\nlength_m = 0.1\n{mixed}\n[[segment]]\ncable = "UTP"\nlength_m = 25.0\n{mixed}\n'
    )
    found = judge(measured_reading(described(25.0, segments=more)), STRAIGHT)
    assert found.findings == ()
    assert run_sentence(found).endswith(" can hide.")
    assert found.pairs is not None
    unknown = replace(found, pairs=replace(found.pairs, hidden_m=None))
    assert run_sentence(unknown).endswith("; a short split section in a long good run can hide.")


def test_the_unbalance_of_a_loop_is_of_the_sum_of_its_conductors() -> None:
    """Of conductors of 4 and 2 ohm it is a third: (4 - 2) / (4 + 2)."""
    conductors = (4.0, 2.0)
    share = (max(conductors) - min(conductors)) / (max(conductors) + min(conductors))
    assert loop_lines([Loop(("4", "5"), sum(conductors), share)]) == [
        "  pair 4-5: loop 6.00 ohm, unbalance 33.3 % of (Rmax + Rmin)"
    ]


def test_what_a_tester_printed_is_said_to_be_that_with_how_often_it_came_alike() -> None:
    """Of a text, the scans that were alike; of one read just now how it was read instead."""
    heard = replace(rj45(), heard=HeardText(("1 1", "2 2"), 3, "format = 1\n"))
    assert how_read(heard, "").startswith("Read off what the tester printed, 3 scans of it alike; ")
    assert how_read(heard, "rows of cells").startswith("Read off what the tester printed: rows of cells; ")
    assert how_read(replace(heard, heard=None), "") == ""


@pytest.mark.parametrize("end", ["near", "far"])
@pytest.mark.parametrize(
    ("wrong", "kind"),
    [
        ("open", "home"),
        ("short", "strand"),
        ("screen-open", "clamp"),
        ("screen-short", "strand"),
        ("high-resistance", "re-crimp"),
        ("resistance-unbalance", "same again"),
        ("miswire", "remake"),
    ],
)
def test_advice_is_understood_by_one_who_takes_it_literally(wrong: Fault, kind: str, end: End) -> None:
    """Of a fault at a known end the advice is work at that end which mends it in the world of the tests."""
    contacts = ("3", "6") if wrong == "short" else ("3",)
    known = understood(next_step(diagnosis(Finding(wrong, contacts, contacts, end)), Ends(), STRAIGHT))
    assert known is not None
    assert (known[0], known[1]["end"]) == (kind, end)
