"""What a thumb may ask of a lot now, what it saw when it asked, and the event that follows; pure.

A button carries what it was meant for: the last test, or the label and the phase it was shown with. Where the lot went
on since, nothing happens and words say so; thus what two thumbs press at once is done once, and what comes late is not
done to another cable.
"""

from typing import Literal

from msgspec import Struct

from wiremap.bench.handset import LATE_S
from wiremap.bench.sweep import Phase, Sweep, running_label, step
from wiremap.bench.sweep_events import DeskKey, Labelled, Last, Pressed
from wiremap.bench.sweep_page import beside_prompt, main_means, next_label, what_now_in_lot
from wiremap.bench.typed import LONGEST_LABEL
from wiremap.errors import UsageError, spelled_out

LotKey = Literal["main", "retest", "label", "note", "skip", "undo", "stop"]
LASTING_IN_LOT: tuple[LotKey, ...] = ("label", "note")  # what was typed is not thrown away
NOT_NOW: tuple[Phase, ...] = ("measuring", "checking", "recording")
IN_HAND: tuple[Phase, ...] = ("label", "known-label")  # a cable that was measured waits for its label
MAIN_ELSE: dict[Phase, str] = {"waiting": "test what is in", "seating": "test it as it is", "shown": "test it again"}
PRESSED: tuple[DeskKey, ...] = ("main", "retest", "note", "skip", "undo", "stop")


class LotWish(Struct, frozen=True):
    """What a thumb asked of a lot. id: its own, so that twice is once. seen: what its button was meant for; text: the
    label or the note that was typed. age_s: since it was pressed."""

    id: str
    what: LotKey
    seen: str = ""
    text: str = ""
    age_s: float = 0.0

    def is_late(self, waited_s: float) -> bool:
        """Whether it is not meant any more after it waited so long here, too."""
        return self.what not in LASTING_IN_LOT and self.age_s + waited_s > LATE_S


class LotButton(Struct, frozen=True):
    """A button: what it asks for, what it says, and what it is meant for."""

    what: LotKey
    says: str
    seen: str


def offered(sweep: Sweep) -> tuple[LotButton, ...]:
    """Return what may be asked now, the main thing first: every key that would change something, as a button."""
    if sweep.phase in NOT_NOW:
        return ()
    does = {key: step(sweep, Pressed(key)) for key in PRESSED}
    keys: list[LotKey] = [key for key in PRESSED if does[key] != (sweep, ())]
    if does["retest"] == does["main"] and "main" in keys:
        keys.remove("retest")
    if step(sweep, Labelled("\0")) != (sweep, ()):
        keys.insert(1 if "main" in keys else 0, "label")
    return tuple(LotButton(key, _says(sweep, key), meant_for(sweep, key)) for key in keys)


def meant_for(sweep: Sweep, what: LotKey) -> str:
    """Return what a button is meant for now; another text than before means that it would do something else."""
    last = str(sweep.last.number) if sweep.last is not None else ""
    match what:
        case "stop":
            return ""
        case "retest" | "note" | "undo":
            return last
        case "label":
            return f"{'this' if sweep.phase in IN_HAND else 'next'} {last} {next_label(sweep)}"
        case "skip":
            going_on = "next" if sweep.label is None else "not"
            kind = sweep.phase if sweep.phase in ("reference", "label") else going_on
            return f"{kind} {sweep.insertion if kind == 'label' else ''} {next_label(sweep)}"
        case "main":
            return f"{sweep.phase} {sweep.said} {sweep.insertion} {last} {next_label(sweep)}"


def of_lot(lot: str, seen: str) -> str:
    """Return what a button is meant for as phones send it back: a note may come when another lot is swept."""
    return f"{lot}: {seen}"


def seen_in_lot(lot: str, sent: str) -> str:
    """Return what a button of this lot was meant for; UsageError where it was another lot's."""
    if not sent.startswith(of_lot(lot, "")):
        raise UsageError("nothing was done, since that was meant for another lot", f"This is {lot}.")
    return sent.removeprefix(of_lot(lot, ""))


def event_for(sweep: Sweep, wish: LotWish) -> Pressed | Labelled:
    """Return what a wish means to the sweep; UsageError, in words, where it is not meant for where the lot stands."""
    if wish.seen != meant_for(sweep, wish.what):
        raise UsageError(f"nothing was done, since {_since(sweep, wish.what)}", now_said(sweep))
    if wish.what in ("label", "note") and not wish.text.strip():
        raise UsageError(f"the {wish.what} is empty", "Type it.")
    if wish.what == "label":
        if len(wish.text.strip()) > LONGEST_LABEL:
            raise UsageError(f"the label has {len(wish.text.strip())} letters", f"Give at most {LONGEST_LABEL}.")
        event: Pressed | Labelled = Labelled(spelled_out(wish.text.strip(), lines=False))
    else:
        event = Pressed(wish.what)
    if step(sweep, event) == (sweep, ()):
        raise UsageError("that does nothing now", now_said(sweep))
    return event


def now_said(sweep: Sweep) -> str:
    """Return what to do now, without keys, with the next label."""
    return what_now_in_lot(sweep) + beside_prompt(sweep)


def called(last: Last) -> str:
    """Return what the cable of a test is called."""
    return last.label or "the reference cord"


def _since(sweep: Sweep, what: LotKey) -> str:
    if what in ("retest", "note", "undo"):
        return f"{called(sweep.last)} is the last one now" if sweep.last is not None else "the last one was taken back"
    label = next_label(sweep)
    return f"{label} is next now" if label and sweep.phase not in IN_HAND else "the lot went on"


def _says(sweep: Sweep, what: LotKey) -> str:
    last = called(sweep.last) if sweep.last is not None else ""
    match what:
        case "main":
            return main_means(sweep) or MAIN_ELSE.get(sweep.phase, "go on")
        case "label":
            return "type its label" if sweep.phase in IN_HAND else "another label"
        case "skip":
            if sweep.phase == "reference":
                return "not now"
            if sweep.phase == "label":
                return "put it away without a label"
            return f"skip {running_label(sweep)}" if sweep.label is None else f"not {sweep.label}"
        case "retest":
            return f"test {last} again"
        case "note":
            return f"note on {last}"
        case "undo":
            return f"take {last} back"
        case "stop":
            return "stop the lot"
