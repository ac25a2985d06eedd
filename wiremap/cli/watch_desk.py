"""The technician's side of a watch: the page, the bell, the keys; and what is said of a watch when it is over."""

import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from wiremap.bench.sweep_events import Pressed
from wiremap.bench.typed import Typed, typed
from wiremap.bench.watch import Log, Wanted, enough, places
from wiremap.bench.watch_page import clock, place_line, watch_page, watched_words
from wiremap.bench.watcher import Heard, Watched
from wiremap.cli.keyboard import Keyboard
from wiremap.cli.output import talk, talk_error
from wiremap.cli.screen import Screen
from wiremap.contact import Contact
from wiremap.errors import FileError, TesterError, UsageError
from wiremap.judge.case import Requirements
from wiremap.reading.reading import Origin
from wiremap.records.new_file import check_new, write_new_file
from wiremap.report.words.faults import Ends, capital, how_many

USUAL_MINUTES = 5.0
PICTURES = (".png", ".pdf", ".svg")


class WatchDesk:
    """Shows a page that is drawn anew on a terminal; elsewhere a line an event on stderr."""

    def __init__(self, keyboard: Keyboard, wanted: Wanted, ends: Ends, as_json: bool, bell: bool) -> None:
        self._keyboard = keyboard
        self._wanted = wanted
        self._ends = ends
        self._bell = bell
        self._screen = Screen(as_json)
        self._typed = Typed()
        self._told = 0
        self._watched_s = 0.0

    def heard(self, wait_s: float) -> Sequence[Heard]:
        """Return what was pressed."""
        if self._keyboard.is_terminal or not 0 < self._wanted.seconds <= self._watched_s:
            return self._pressed(wait_s)
        talk("The time is over: without a terminal the watch ends here, whatever movements were declared.")
        return ["stop"]

    def _pressed(self, wait_s: float) -> list[Heard]:
        text = self._keyboard.read(wait_s)
        self._typed, events = typed(self._typed, text, time.monotonic())
        keys = [event.key for event in events if isinstance(event, Pressed)]
        found: list[Heard] = []
        for key in keys:
            if key == "main":
                found.append("moved")
            elif key == "stop":
                found.append("stop")
        return found

    def page(self, log: Log, watched_s: float, looking_at: tuple[Contact, Contact] | None) -> None:
        """Show how the watch stands."""
        self._watched_s = watched_s
        if self._screen.draws:
            self._screen.page(
                watch_page(log, float(int(watched_s)), self._wanted, self._ends, self._screen.terminal, looking_at)
            )
            return
        for event in log.events[self._told :]:
            talk(f"{clock(event.at_us)}  {event.a} - {event.b} {event.change}")
        self._told = len(log.events)

    def ring(self) -> None:
        """Ring for an event."""
        if self._bell and sys.stderr.isatty():
            sys.stderr.write("\a")
            sys.stderr.flush()

    def trouble(self, error: TesterError) -> None:
        """Say that the tester is gone."""
        self._screen.leave()
        talk_error(error)

    def summary(self, watched: Watched | None) -> list[str]:
        """Return what the last page says of the watch, line by line."""
        self._screen.leave()
        if watched is None:
            return ["It was not watched: see what stands in the way above."]
        log = watched.log
        how_long = capital(watched_words(log, watched.watched_us))
        moved = how_many(len(log.moved_us), "movement")
        lines = [f"{how_long}, {moved}, {how_many(len(log.events), 'event')}."]
        if watched.end == "full":
            lines.append("The watch ended there: more events would say nothing new.")
        return lines + [place_line(place, self._ends) for place in places(log)]


def requirements_after(wanted: Requirements, watched: Watched | None, enough_is: Wanted) -> Requirements:
    """Return what the judge is told after a watch: that watching is required still, when it was not enough."""
    done = (
        watched is not None
        and watched.end == "enough"
        and enough(watched.log, watched.watched_us / 1e6, enough_is)
        and enough_is.seconds > 0
    )
    if done or (watched is not None and watched.log.events) or "intermittent" in wanted.require:
        return wanted
    return replace(wanted, require=(*wanted.require, "intermittent"))


def said_of_watch(watched: Watched | None) -> dict[str, Any]:
    """Return what JSON says of a watch."""
    if watched is None:
        return {"watch": None}
    log = watched.log
    return {
        "watch": {
            "watched_us": watched.watched_us,
            "blind_us": log.blind_us,
            "moved_us": list(log.moved_us),
            "lost": log.lost,
            "end": watched.end,
            "events": [
                {
                    "number": event.number,
                    "a": str(event.a),
                    "b": str(event.b),
                    "change": event.change,
                    "at_us": event.at_us,
                    "for_us": event.for_us,
                }
                for event in log.events
            ],
            "places": [
                {
                    "a": str(place.a),
                    "b": str(place.b),
                    "change": place.change,
                    "count": place.count,
                    "total_us": place.total_us,
                    "longest_us": place.longest_us,
                    "end": place.end,
                }
                for place in places(log)
            ],
        }
    }


def check_picture(path: Path | None) -> None:
    """Refuse a picture that could not be written, before anything is measured."""
    if path is None:
        return
    if path.suffix not in PICTURES:
        raise UsageError(f"--picture {path}: of no kind known", "Give a file ending in " + ", ".join(PICTURES) + ".")
    check_new(path)


def seconds_to_watch(minutes: float | None) -> float:
    """Return for how long to watch, 0 = until somebody stops it; UsageError where nobody could, and no time is said."""
    if Keyboard().is_terminal:
        return 60 * (USUAL_MINUTES if minutes is None else minutes)
    if not minutes:
        raise UsageError(
            "without a terminal there is no key that could declare a movement or stop the watch",
            "Say for how long, as --minutes 5, and --moves 0 if that is to be enough for a pass; or use a terminal.",
        )
    return 60 * minutes


def write_picture(path: Path, watched: Watched, origin: Origin) -> FileError | None:
    """Write the picture of a watch; return why it could not be written, None = it is."""
    from wiremap.report.print.watch_picture import watch_picture

    log, kind = watched.log, path.suffix.removeprefix(".")
    content = watch_picture(log.events, log.moved_us, watched.watched_us, kind, origin)
    try:
        write_new_file(path, content)
    except FileError as error:
        return error
    return None
