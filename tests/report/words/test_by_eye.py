"""What is said of a cable that was only looked at is true of the plugs, and says all that one plug alone has."""

import random
import re
from collections.abc import Iterable

from wiremap.cable.colours import colour_set
from wiremap.cable.terminations import termination
from wiremap.judge.case import Case, JobNames, judge_case, read_by_eye, requirements
from wiremap.judge.remedy.knowledge import statements
from wiremap.report.words.cases import next_on_paper, sentences, what_next

TIA = colour_set("tia").names
CONTACTS = tuple("12345678")
NOWHERE = re.compile(r"(?P<names>.+) \((?P<end>helm|mast) (?P<contacts>[\d, and]+)\) sits? nowhere")
EMPTY = re.compile(r"(?P<where>.+) (?:is|are) empty(?P<both> in both plugs)?\.")


def told(plug: dict[str, str]) -> str:
    """Return a plug as an option has it."""
    return ",".join(f"{contact}={word}" for contact, word in plug.items())


def case(near: dict[str, str], far: dict[str, str]) -> Case:
    """Return a straight cable with these colours in its plugs, judged by eye."""
    wanted = requirements("straight", statements=statements(told(near), told(far)))
    return judge_case(read_by_eye(wanted), wanted, JobNames("helm", "mast"))


def drawn(choose: random.Random) -> dict[str, str]:
    """Return a plug with conductors in any contacts, up to three of them empty."""
    plug = dict(zip(CONTACTS, choose.sample(TIA, 8), strict=True))
    for contact in choose.sample(CONTACTS, choose.randint(0, 3)):
        plug[contact] = "-"
    return plug


def numbers(text: str) -> set[str]:
    """Return the contacts in a phrase."""
    return set(re.findall(r"\d", text))


def said_of(sentence_list: Iterable[str]) -> tuple[dict[str, set[str]], list[re.Match[str]]]:
    """Return the conductors said to be at one end only, and what is said to be empty."""
    nowhere: dict[str, set[str]] = {"helm": set(), "mast": set()}
    empty = []
    for sentence in sentence_list:
        if found := NOWHERE.match(sentence):
            nowhere[found["end"]] |= set(re.split(r", | and ", found["names"].lower()))
        elif found := EMPTY.fullmatch(sentence):
            empty.append(found)
    return nowhere, empty


def test_what_one_plug_alone_has_is_said_of_it_and_of_no_other() -> None:
    """Of random plugs each conductor that only one has is named with its end, and what is called empty is."""
    choose = random.Random(11)
    named = 0
    for _ in range(150):
        near, far = drawn(choose), drawn(choose)
        found = case(near, far)
        nowhere, empty = said_of(sentences(found))
        here, there = (set(plug.values()) - {"-"} for plug in (near, far))
        assert nowhere == {"helm": here - there, "mast": there - here}
        named += len(nowhere["helm"]) + len(nowhere["mast"])
        for match in empty:
            if match["both"] or "ontact" in match["where"]:
                assert all(near[contact] == far[contact] == "-" for contact in numbers(match["where"]))
                continue
            for end, plug in (("helm", near), ("mast", far)):
                part = re.search(rf"{end} ([\d, and]+)", match["where"], re.IGNORECASE)
                assert all(plug[contact] == "-" for contact in numbers(part[1] if part else ""))
    assert named > 100


def test_what_is_to_be_read_is_what_was_not() -> None:
    """Of plugs read in part the next step names just the contacts that nobody read; paper has nothing to type."""
    choose = random.Random(12)
    for _ in range(60):
        near = dict(termination("T568B").conductors)
        some_near, some_far = (
            {contact: near[contact] for contact in sorted(choose.sample(CONTACTS, choose.randint(1, 7)))}
            for _ in range(2)
        )
        found = case(some_near, some_far)
        unread = [[contact for contact in CONTACTS if contact not in plug] for plug in (some_near, some_far)]
        step = what_next(found)
        assert found.diagnosis.verdict == "undecided"
        assert step.startswith("Read ")
        asked = step.split(" too ")[0]
        if unread[0] == unread[1]:
            assert numbers(asked) == set(unread[0])
        else:
            near_part, far_part = asked.split(" and mast ")
            assert (numbers(near_part), numbers(far_part)) == (set(unread[0]), set(unread[1]))
        assert "--" not in next_on_paper(found)
