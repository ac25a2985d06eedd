"""Testing again and again while somebody is aloft: far end seen, lost, each new verdict, all with their bells."""

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Literal

from msgspec import Struct

from wiremap.cli.keyboard import Keyboard
from wiremap.cli.output import BELLS, ring_times, write_json, write_line
from wiremap.errors import UsageError
from wiremap.judge.case import Case
from wiremap.judge.findings import Verdict
from wiremap.reading.joined import is_joined
from wiremap.report.words.cases import ends_of, sentences
from wiremap.report.words.faults import VERDICT_WORDS
from wiremap.tester.view import WATCHED_OHM

NewsKind = Literal["seen", "lost", "verdict"]
SEEN_RINGS, LOST_RINGS = 4, 5  # a verdict rings one to three times
PAUSE_S = 0.5


class News(Struct, frozen=True):
    """Something new about the run: what, how many rings, and one line of words."""

    kind: NewsKind
    rings: int
    says: str
    case: Case


def there(case: Case) -> str | None:
    """Return what is at the far end, in words; None when nothing answers there."""
    remote, loops = case.diagnosis.remote, case.diagnosis.loops
    if remote is not None:
        if remote.certainty == "undecided":
            return None
        place = dict(case.requirements.statements.remote_places).get(remote.letter or "")
        return f"remote {remote.letter or '(which is not known)'}" + (f", {place}" if place else "")
    if loops:
        return "the far end" if any(loop.ohm is not None for loop in loops) else None
    row = case.reading.resistance_ohm[: len(case.reading.near_contacts)]
    far = len(case.reading.near_contacts)
    arrives = any(is_joined(cell, WATCHED_OHM) for cells in row for cell in cells[far:])
    return f"the {ends_of(case).far} end" if arrives else None


def news(cases: Iterator[Case]) -> Iterator[News]:
    """Yield what is new in each test against the one before."""
    before: str | None = None
    verdict_before: str | None = None
    for case in cases:
        now = there(case)
        verdict = case.diagnosis.verdict
        if now != before:
            if now is None:
                yield News("lost", LOST_RINGS, f"{before} lost", case)
            else:
                yield News("seen", SEEN_RINGS, f"{now} seen", case)
        said = f"{verdict} {sentences(case)[0]}" if now is not None else None
        if said is not None and said != verdict_before:
            yield News("verdict", BELLS[verdict], f"{VERDICT_WORDS[verdict]}   {sentences(case)[0]}", case)
        before, verdict_before = now, said


def repeated(
    measure: Callable[[], Case], pause: Callable[[], None], clock: Callable[[], float], for_s: float | None = None
) -> Iterator[Case]:
    """Yield a test after the other, with a pause between, for so many seconds by the clock; None = without an end."""
    began_s = clock()
    while True:
        yield measure()
        if for_s is not None and clock() - began_s >= for_s:
            return
        pause()


def check_minutes(repeat: bool, minutes: float | None) -> None:
    """Refuse a time where nothing is repeated, and, where no terminal is there, to repeat without one."""
    if minutes is not None and not repeat:
        raise UsageError("--minutes says how long to repeat", "Give --repeat too.")
    if repeat and minutes is None and not Keyboard().is_terminal:
        raise UsageError(
            "without a terminal nobody can interrupt --repeat", "Say for how long, as --minutes 10, or use a terminal."
        )


def go_on(measure: Callable[[], Case], as_json: bool, bell: bool, for_s: float | None = None) -> Verdict:
    """Test until interrupted, or for so many seconds, say what is new, with the time; return the last test's verdict.

    bell: ring as many times as the news asks.
    """
    newest: list[Verdict] = []

    def tested() -> Case:
        case = measure()
        newest[:] = [case.diagnosis.verdict]
        return case

    for item in news(repeated(tested, lambda: time.sleep(PAUSE_S), time.monotonic, for_s)):
        at = datetime.now(UTC)
        if as_json:
            verdict = item.case.diagnosis.verdict
            write_json(
                {
                    "command": "test",
                    "event": item.kind,
                    "at": f"{at:%Y-%m-%dT%H:%M:%SZ}",
                    "verdict": verdict,
                    "says": item.says,
                }
            )
        else:
            write_line(f"{at.astimezone():%H:%M:%S}  {item.says}", 10)
        if bell:
            ring_times(item.rings)
    return newest[0]
