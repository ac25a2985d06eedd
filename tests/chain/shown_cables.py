"""What is printed, and what a first screen shows, of a named cable with its far plug in anything: checked."""

import re

from tests.named_cables import FARS, NAMES, judged, readings
from tests.report.print.written import written
from wiremap.judge.case import Case
from wiremap.reading.reading import Far
from wiremap.records.captures.capture import Job, read_capture, to_bytes
from wiremap.records.captures.keep import record_of
from wiremap.report.print.label import label
from wiremap.report.print.phone_page import phone
from wiremap.report.print.picture import picture
from wiremap.report.print.sheet import sheet
from wiremap.report.proof import Proof
from wiremap.report.terminal.display import Terminal
from wiremap.report.terminal.page import DANGER, page
from wiremap.report.words.cases import carried_lines, dangers, sentences, what_next
from wiremap.report.words.checks import checked_briefly
from wiremap.report.words.faults import CHECK_WORDS, VERDICT_WORDS

JOB = Job(vessel="Survey catamaran", cable="mast camera", near="helm", far="mast", who="the technician")
SMALL = Terminal(40, 16, 0, True)
SCREENS = (Terminal(80, 24), Terminal(80, 24, 0, True), SMALL)
KEPT = "Kept: mast-camera-20260301T083000Z.json"


def shown_well(name: str, fars: tuple[Far, ...]) -> int:
    """Check paper, first screen, lines of services, and what is said of an unseen far plug; return of how many."""
    seen = readings(name, fars)
    for reading in seen.values():
        case = judged(name, reading)
        paper_asks_for_no_command_line_and_cuts_nothing(case)
        a_first_screen_has_what_matters(case)
        services_take_four_lines(case)
        what_was_checked_is_said(case)
    return len(seen)


def all_shown_well(_seed: int, count: int) -> str:
    """Check the first so many named cables with their far plugs in everything they can be said to be in."""
    shown = sum(shown_well(name, FARS) for name in NAMES[:count])
    return f"{shown} pages and papers of {count} cables"


def paper_asks_for_no_command_line_and_cuts_nothing(case: Case) -> None:
    """No option and no sentence that ends in dots: paper is read by people who have not the program."""
    for where, texts in printed(case).items():
        for text in texts:
            assert "--" not in text, (case.reading.far, where, text)
            assert "…" not in text, (case.reading.far, where, text)
            assert "..." not in text, (case.reading.far, where, text)


def printed(case: Case) -> dict[str, list[str]]:
    """Return all texts of everything that is printed of a cable."""
    proof = Proof(case, read_capture(to_bytes(record_of(case, JOB), None), "kept"))
    drawn = {
        "sheet": lambda: sheet(proof),
        "letter": lambda: sheet(proof, "letter"),
        "label": lambda: label(proof),
        "picture": lambda: picture(case, "png", 80),
    }
    texts = {name: [text for one in written(make) for text in one.texts] for name, make in drawn.items()}
    return texts | {"phone": [phone(proof).decode().partition("</style>")[2]]}


def a_first_screen_has_what_matters(case: Case) -> None:
    """Danger, verdict, first sentence and the whole next step fit, with a line left for the prompt."""
    for terminal in SCREENS:
        shown = page(case, terminal, [KEPT])
        lines = shown.splitlines()
        said = " ".join(shown.split())
        assert len(lines) < (terminal.height or 0), shown
        assert max(map(len, lines)) <= terminal.width, shown
        assert bool(dangers(case)) == lines[0].startswith(("DO NOT CONNECT", DANGER[:6])), shown
        if not terminal.blocks or terminal is SMALL:
            assert any(line.startswith(VERDICT_WORDS[case.diagnosis.verdict]) for line in lines), shown
        assert sentences(case)[0] in said, shown
        assert f"Next: {what_next(case)}" in said, shown
        assert not re.search(r"belongs at(?! \S)", shown), shown


def services_take_four_lines(case: Case) -> None:
    """What would run is said in at most four lines of the window's width, which say what shows the rest."""
    for width in (80, 40):
        lines = carried_lines(case, width)
        assert len(lines) <= 4, lines
        assert not lines or "--services" in " ".join(lines), lines
        assert all(len(line) <= width for line in lines), lines


def what_was_checked_is_said(case: Case) -> None:
    """Where the far plug was not seen the page says what was checked all the same, and none of it is not checked."""
    text = " ".join(page(case, Terminal(80, None)).split())
    unseen = any(item.what == "continuity" for item in case.diagnosis.not_checked)
    found = re.search(r" Checked: ([^.]*)\.", text)
    assert (found is not None) == (unseen and bool(checked_briefly(case))), text
    left_out = {CHECK_WORDS[item.what] for item in case.diagnosis.not_checked}
    assert not left_out & set((found[1] if found else "").split(", ")), text
    as_said = case.diagnosis.setup is None  # the far plug is in what was said, or nothing shows that it is not
    if case.reading.far in ("open", "joined") and not case.diagnosis.findings and as_said:
        assert found, text
        assert case.pattern is not None
        assert text.count("touches no other") + text.count("gets through, loop") >= len(case.pattern.conductors), text
