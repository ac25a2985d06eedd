"""The product as the world meets it: a reading and the user's words go in, a page and a card come out, as text."""

import re
from dataclasses import dataclass
from typing import cast

from wiremap.contact import End
from wiremap.errors import WiremapError
from wiremap.judge.case import Case, judge_case, requirements
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.reading import Reading
from wiremap.report.card import Card
from wiremap.report.terminal import card_page
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import page
from wiremap.report.termination import card_for_repair

WIDE = Terminal(width=4000)
HEAD = re.compile(r"(?P<plug>.+), (?P<end>near|far) end(?:: (?P<named>\S+))?")
LINE = re.compile(r"[! ] +(?P<contact>\d)  (?P<said>\S.*?)  +(?:contact \d|-)(?: .*)?")


@dataclass(frozen=True)
class Words:
    """What the user says on the command line, beside the reading."""

    expect: str
    screen: str | None = None
    colours: str | None = None
    near_colours: str = ""
    far_colours: str = ""
    closed: tuple[str, ...] = ()


def shown(reading: Reading, words: Words) -> tuple[Case, str]:
    """Return what was judged, and the page, its sentences not wrapped."""
    told = Statements(words.near_colours, words.far_colours, closed=words.closed)
    wanted = requirements(words.expect, words.screen, colours=words.colours, statements=told)
    case = judge_case(reading, wanted)
    return case, page(case, WIDE)


@dataclass(frozen=True)
class CardRead:
    """What a person reads off a card: which end it is for, and what goes into each contact, "empty" for nothing."""

    end: str
    lines: tuple[tuple[str, str], ...]


def card(case: Case, end: str | None) -> CardRead | str:
    """Return the card of the plug to be made anew; where there is none, what is said instead."""
    try:
        made = card_for_repair(case, cast(End | None, end))
    except WiremapError as error:
        return f"{error.what}: {error.hint}"
    return read_card(made)


def read_card(made: Card) -> CardRead:
    """Return what a person reads off a card's page."""
    text = card_page.card_page(made, WIDE).splitlines()
    head = HEAD.fullmatch(text[0])
    assert head is not None, text[0]
    rows = [(found["contact"], found["said"]) for line in text if (found := LINE.fullmatch(line.rstrip()))]
    return CardRead(head["end"], tuple(rows))
