"""What the technician sees while a cable is watched and moved; pure."""

from wiremap.bench.watch import Log, Wanted, WatchedPlace, enough, places
from wiremap.contact import Contact
from wiremap.lines import in_lines
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import Ends

LEAST_BLIND_US = 50_000  # less is not worth a word
WATCH_KEYS = "space: I move it now   q: stop"


def watch_page(
    log: Log,
    watched_s: float,
    wanted: Wanted,
    ends: Ends,
    terminal: Terminal,
    looking_at: tuple[Contact, Contact] | None = None,
) -> str:
    """Return the whole page, no longer than the terminal is high.

    looking_at: contacts that are open just now and whose end is being found.
    """
    height = (terminal.height or 24) - 1
    head = [terminal.styled(_headline(log), "1"), *_wrapped(_progress(log, watched_s, wanted), terminal.width)]
    foot = [*_wrapped(_what_now(log, watched_s, wanted, looking_at), terminal.width), WATCH_KEYS]
    room = height - len(head) - len(foot)
    lines = [line for place in places(log) for line in _wrapped(place_line(place, ends), terminal.width)]
    if len(lines) > room:
        lines = [*lines[: room - 1], f"... and more: {len(places(log))} places in all"]
    return "\n".join([*head, *lines, *foot]) + "\n"


def place_line(place: WatchedPlace, ends: Ends) -> str:
    """Return what happened at one place, in one sentence."""
    what = "opened" if place.change == "opened" else "joined"
    times = "once" if place.count == 1 else f"{place.count} times"
    lasted = f", {seconds(place.total_us)} in all, longest {seconds(place.longest_us)}" if place.total_us else ""
    now = ", is so now" if place.lasting else ""
    where = f"; likeliest at the {ends.near if place.end == 'near' else ends.far} end" if place.end else ""
    return f"{place.a} - {place.b}  {what} {times}{lasted}{now}, last at {clock(place.last_us)}{where}"


def seconds(us: int) -> str:
    """Return a length of time: "4.2 ms", "0.31 s", "12 s"."""
    if us < 100_000:
        return f"{us / 1000:.1f} ms"
    return f"{us / 1e6:.2f} s" if us < 10_000_000 else f"{us / 1e6:.0f} s"


def clock(us: int) -> str:
    """Return a time since the watch began: "2:07"."""
    return f"{us // 60_000_000}:{us // 1_000_000 % 60:02d}"


def _headline(log: Log) -> str:
    if not log.events:
        return "NO EVENT SO FAR"
    more = f", {log.lost} more could not be kept" if log.lost else ""
    return f"{len(log.events)} EVENT{'S' if len(log.events) > 1 else ''}{more}"


def _progress(log: Log, watched_s: float, wanted: Wanted) -> str:
    of = f" of {clock(int(wanted.seconds * 1e6))}" if wanted.seconds else ""
    blind = f", blind for {seconds(log.blind_us)}" if log.blind_us >= LEAST_BLIND_US else ""
    moves = f" of {wanted.movements}" if wanted.movements else ""
    rate = f"   {60 * len(log.events) / watched_s:.1f} a minute" if log.events and watched_s >= 1 else ""
    seen_us = max(round(watched_s * 1e6) - log.blind_us, 0)
    return f"watched {clock(seen_us)}{of}{blind}   moved {len(log.moved_us)}{moves}{rate}"


def watched_words(log: Log, gone_us: int) -> str:
    """Return how long it was really watched, of the time that has gone by: "watched 58.2 of 60.0 s"."""
    return f"watched {max(gone_us - log.blind_us, 0) / 1e6:.1f} of {gone_us / 1e6:.1f} s"


def _what_now(log: Log, watched_s: float, wanted: Wanted, looking_at: tuple[Contact, Contact] | None) -> str:
    if looking_at is not None:
        return f"Hold it so: {looking_at[0]} - {looking_at[1]} is open, and the tester looks at which end."
    if log.events:
        return "Move one end at a time, bit by bit: where moving makes events, there is the fault."
    if enough(log, watched_s, wanted):
        return "Watched for long enough, without an event."
    if len(log.moved_us) < wanted.movements:
        return "Bend the cable at its plugs and along its run, and press space each time you move it."
    return "Go on until the time is over."


def _wrapped(text: str, width: int) -> list[str]:
    return in_lines(text, width, then="  ")
