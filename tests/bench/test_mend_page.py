"""Pages of a guided repair: every step of many repairs fits both sizes, and says what is asked in full."""

import random

import pytest

from tests.world import cables
from tests.world.installed import GuidedInstalled
from tests.world.mending import Guided
from wiremap.bench.mend.mend_page import choice_keys, mend_page, work_page
from wiremap.bench.mend.shown import MendStep, step_shown
from wiremap.bench.mend.stage import Stage
from wiremap.records.captures.work_list import work_list
from wiremap.report.terminal.display import Terminal

SIZES = (Terminal(80, 24), Terminal(40, 16))


class Watched(Guided):
    """A user whose every step is kept."""

    def __init__(self, job: cables.Job, seed: int) -> None:
        super().__init__(job, seed, wrong=0.1, unknown=0.1)
        self.steps: list[MendStep] = []

    def _step(self, stage: Stage) -> None:
        self.steps.append(step_shown(self.repair, stage))
        super()._step(stage)


class AtWork(GuidedInstalled):
    """A user at an installed cable whose every step is kept."""

    def __init__(self, job: cables.Job, seed: int) -> None:
        super().__init__(job, seed, wrong=0.1, unknown=0.1)
        self.steps: list[MendStep] = []

    def _step(self, stage: Stage) -> None:
        self.steps.append(step_shown(self.repair, stage))
        super()._step(stage)


@pytest.fixture(scope="module")
def steps() -> list[MendStep]:
    """Return every step of 40 repairs."""
    found = []
    for number in range(30):
        user = Watched(cables.cable(random.Random(f"31/{number}")), number)
        user.guided()
        found += user.steps
    for number in range(30):
        at_work = AtWork(cables.installed(random.Random(f"32/{number}")), number)
        at_work.guided()
        found += at_work.steps
    return found


@pytest.mark.parametrize("terminal", SIZES)
def test_every_step_fits_and_says_all_of_what_is_to_be_done(steps: list[MendStep], terminal: Terminal) -> None:
    """No line is too long, no page too high; the question, all its choices and keys stand on it."""
    kinds = set()
    for step in steps:
        kinds.add(step.kind)
        page = mend_page(step, terminal, "helm display")
        lines = page.splitlines()
        assert max(map(len, lines)) <= terminal.width, page
        assert terminal.height is not None
        assert len(lines) < terminal.height, page
        flat = " ".join(page.split())
        assert " ".join(step.now.split()) in flat, page
        for choice in step.choices:
            assert choice.said in flat, page
        assert not step.ready or f"space {step.ready}" in flat
        assert "(--" not in page
    assert kinds == {"measure", "ask", "card", "do", "move", "part", "passed", "stopped"}


def test_every_key_is_one_character_and_answers_one_thing(steps: list[MendStep]) -> None:
    """What can be answered has a key each, none twice, beside "I do not know"."""
    for step in steps:
        keys = choice_keys(step)
        assert all(len(key) == 1 for key in keys), keys
        assert not step.choices or set(keys.values()) == {choice.word for choice in step.choices} | {"?"}


@pytest.mark.parametrize("terminal", SIZES)
def test_every_contact_of_a_card_stands_on_its_page(steps: list[MendStep], terminal: Terminal) -> None:
    """A card in the room there is has every contact with its conductor, and the first caution."""
    cards = [step for step in steps if step.card is not None]
    assert cards
    for step in cards:
        assert step.card is not None
        flat = [" ".join(line.split()) for line in mend_page(step, terminal).splitlines()]
        for line in step.card.lines:
            moved = f"from {line.now_in}" if line.changes else "stays"
            goes_in = (line.said, moved) if line.colour is None else (line.said,)
            assert any(f"{line.contact} {said}" in text for text in flat for said in goes_in), flat
        assert any("Power off" in text for text in flat), flat


@pytest.mark.parametrize("terminal", SIZES)
def test_no_sentence_is_cut_and_the_first_cautions_stand_beside_what_is_wrong(
    steps: list[MendStep], terminal: Terminal
) -> None:
    """What does not fit is left out whole; of a plug without a card what is wrong and the first caution are there."""
    for step in steps:
        flat = " ".join(mend_page(step, terminal).split())
        for text in (*step.wrong, *(step.cautions if step.card is None else ())):
            words = text.split()
            begun = " ".join(words[:4])
            assert " ".join(words) in flat or begun not in flat, (text, flat)
        if step.kind == "card" and step.card is None:
            assert " ".join(step.wrong[0].split()) in flat, flat
            assert " ".join(step.cautions[0].split()) in flat, flat


@pytest.mark.parametrize("terminal", SIZES)
def test_the_work_list_fits(terminal: Terminal) -> None:
    """All lines of the work list that ships stand on its page, each with a key."""
    from wiremap.bench.mend.shown import WorkLine

    work = tuple(WorkLine(name, text, name == "power-off") for name, text in work_list().items)
    page = work_page(work, terminal)
    assert len(page.splitlines()) < (terminal.height or 0)
    assert max(map(len, page.splitlines())) <= terminal.width
    assert page.count("[x]") == 1
    assert page.count("[") == len(work)
