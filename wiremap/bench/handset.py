"""A tester in the hand: where it stands, and what becomes of it with each test, word and photo; pure.

One newest state and no queue: whoever comes back needs only the newest page. A wish names the test, or the label, that
the thumb saw, so that what comes late or twice does what was meant, once.
"""

import re
from datetime import datetime
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.contact import End
from wiremap.errors import UsageError
from wiremap.judge.case import Requirements
from wiremap.judge.remedy.knowledge import Statements
from wiremap.ranges import check_text
from wiremap.reading.reading import Reading

HandsetPhase = Literal["starting", "nothing", "moving", "measuring", "shown", "lost"]
What = Literal["again", "keep", "label", "colour", "mend", "answer", "did", "not-moved", "tick", "undo", "leave"]
Told = tuple[End, str, str]  # end, contact, colour seen in it
MOST_SHOTS = 8  # a wish that comes late finds its test among so many
MOST_DONE = 200
MOST_PHOTOS = 12  # of one test
PHONE_LONGEST_LABEL = 60
LASTING: tuple[What, ...] = ("keep", "label")  # wishes that are meant whenever they come; all else is meant now
LATE_S = 8.0  # nobody wants a test minutes later
TOO_LATE = "That came too late to be meant: look, and press it again."


class Wish(Struct, frozen=True):
    """What a thumb asked for. id: its own, so that twice is once. test: the number it saw; words: what else it said.

    label: words are the label that is left, and the next one ("" = the one that follows). age_s: since it was pressed.
    """

    id: str
    what: What
    test: int = 0
    words: tuple[str, ...] = ()
    age_s: float = 0.0

    def is_late(self, waited_s: float) -> bool:
        """Whether it is not meant any more after it waited so long here, too."""
        return self.what not in LASTING and self.age_s + waited_s > LATE_S


class KeptShot(Struct, frozen=True):
    """A capture of a test: its file's name, its record's digest, and how many colours and photos are in it."""

    file: str
    digest: str
    told: int
    photos: int


class Shot(Struct, frozen=True):
    """One test. at: its moment, with the offset from UTC. photos: (file, digest). follows: digest of the capture whose
    test it repeats; re_terminated, note, work: of its record, after a repair."""

    number: int
    at: datetime
    label: str
    reading: Reading
    told: tuple[Told, ...] = ()
    photos: tuple[tuple[str, str], ...] = ()
    kept: KeptShot | None = None
    re_terminated: str = ""
    note: str = ""
    work: tuple[tuple[str, bool], ...] = ()
    follows: str | None = None

    @property
    def is_kept(self) -> bool:
        """Whether a capture has all that is known of it."""
        return self.kept is not None and (self.kept.told, self.kept.photos) == (len(self.told), len(self.photos))


class Handset(Struct, frozen=True):
    """Where it stands. label: of the next test. count: number of the newest test; a number is never used twice.

    shots: the newest tests, newest last. done: ids of wishes that were carried out. trouble: what went wrong, with
    what to do. mending: a guided repair is on; before: digest of the capture it began with, None = none yet.
    """

    label: str
    phase: HandsetPhase = "starting"
    count: int = 0
    shots: tuple[Shot, ...] = ()
    done: tuple[str, ...] = ()
    trouble: str = ""
    mending: bool = False
    before: str | None = None

    @property
    def newest(self) -> Shot | None:
        """Return the newest test, None before the first."""
        return self.shots[-1] if self.shots else None


def after_test(handset: Handset, reading: Reading, at: datetime) -> Handset:
    """Return it after a test."""
    shot = Shot(handset.count + 1, at, handset.label, reading)
    shots = (*handset.shots, shot)[-MOST_SHOTS:]
    return replace(handset, count=shot.number, shots=shots, phase="shown", trouble="")


def shot_of(handset: Handset, number: int) -> Shot:
    """Return a test by its number; UsageError where it is too old to be known."""
    found = next((shot for shot in handset.shots if shot.number == number), None)
    if found is None:
        raise UsageError(f"test {number} is not known any more", f"The newest {MOST_SHOTS} are; test the cable again.")
    return found


def with_shot(handset: Handset, shot: Shot) -> Handset:
    """Return it with more known of one of its tests."""
    shot_of(handset, shot.number)
    return replace(handset, shots=tuple(shot if old.number == shot.number else old for old in handset.shots))


def with_photo(handset: Handset, number: int, file: str, digest: str) -> Handset:
    """Return it with a photo of a test; one that is there already changes nothing. UsageError where it has too many."""
    shot = shot_of(handset, number)
    if (file, digest) in shot.photos:
        return handset
    if len(shot.photos) >= MOST_PHOTOS:
        raise UsageError(f"test {number} has {MOST_PHOTOS} photos", "Keep it, and test again for more.")
    return with_shot(handset, replace(shot, photos=(*shot.photos, (file, digest))))


def with_colour(handset: Handset, number: int, end: End, contact: str, colour: str) -> Handset:
    """Return it with a colour that was seen at a contact in a test; "?" = it could not be told."""
    shot = shot_of(handset, number)
    earlier = tuple(told for told in shot.told if told[:2] != (end, contact))
    return with_shot(handset, replace(shot, told=(*earlier, (end, contact, colour)), kept=_open_again(shot)))


def _open_again(shot: Shot) -> KeptShot | None:
    """Return its capture as one that has not all: a colour said anew counts, too."""
    return None if shot.kept is None else replace(shot.kept, told=-1)


def next_label_of(label: str) -> str:
    """Return the label that follows: the number at its end goes up by one; a label without one gets " 2"."""
    found = re.fullmatch(r"(.*?)(\d+)(\D*)", label)
    if found is None:
        return f"{label} 2" if label else ""
    before, number, after = found.groups()
    return f"{before}{int(number) + 1:0{len(number)}d}{after}"


def labelled(handset: Handset, left: str, wanted: str) -> Handset:
    """Return it with the next label; where the label that was to be left is not the one now, nothing happens."""
    if handset.label != left:
        return handset
    new = wanted.strip() or next_label_of(left)
    check_text("label", new)
    if len(new) > PHONE_LONGEST_LABEL:
        raise UsageError(f"the label has {len(new)} letters", f"Give at most {PHONE_LONGEST_LABEL}.")
    return replace(handset, label=new)


def after_wish(handset: Handset, wish: Wish) -> Handset:
    """Return it with a wish among those that were carried out."""
    return replace(handset, done=(*handset.done, wish.id)[-MOST_DONE:])


def wanted_with(wanted: Requirements, shot: Shot) -> Requirements:
    """Return what is required and known of a cable, with the colours that were told in a test."""
    if not shot.told:
        return wanted
    told = wanted.statements
    near, far = (
        ",".join(f"{contact}={colour}" for contact, colour in _over(said, shot, end).items())
        for said, end in ((told.near_colours, "near"), (told.far_colours, "far"))
    )
    return replace(wanted, statements=Statements(near, far).over(told))


def _over(said: str, shot: Shot, end: str) -> dict[str, str]:
    """Return the colours of a plug by contact: what the options said, and what was tapped in its place."""
    words = (part.partition("=") for part in said.split(",") if part.strip())
    earlier = {contact.strip(): colour.strip() for contact, _, colour in words}
    return earlier | {contact: colour for side, contact, colour in shot.told if side == end}
