"""A bench in virtual time: a tester, a rack of cables that differ, and hands that follow what the page says.

The hands make what hands make: plugs that bounce or are not home at first, cables pulled out in mid-test, labels
scanned twice. They keep a diary of what they were shown while which cable was in, and the ledger is held against it.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from wiremap.bench.sweep_events import Labelled, Pressed
from wiremap.cable.patterns import pattern
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import TesterError
from wiremap.reading.joined import Joined
from wiremap.reading.parts import Tester
from wiremap.reading.reading import Ohm, Reading, square

NEAR = tuple("12345678S")
LOOK_S, MEASURE_S = 0.03, 2.5
FAULTS = ("none", "none", "none", "none", "open-middle", "open-edge", "exchanged", "short")


@dataclass(frozen=True)
class Cable:
    """One cable of the rack: who it is, what is wrong with it, and what it joins."""

    number: int
    fault: str

    @property
    def route(self) -> dict[int, int]:
        """Return near contact -> far contact, from 0, without the screen."""
        route = {contact: contact for contact in range(8)}
        if self.fault == "open-middle":
            del route[3]
        if self.fault == "open-edge":
            del route[7]
        if self.fault == "exchanged":
            route[2], route[5] = 5, 2
        return route

    @property
    def joined(self) -> frozenset[tuple[int, int]]:
        """Return all pairs of contacts it joins, numbered as in a Reading."""
        nets = [{near, 9 + far} for near, far in self.route.items()]
        if self.fault == "short":
            nets = [nets[0] | nets[1], *nets[2:]]
        return frozenset((a, b) for net in nets for a in net for b in net if a < b)

    def reading(self, seconds: int) -> Reading:
        """Return what a tester reads of it; its resistance tells which cable it is."""
        names = [near_contact(name) for name in NEAR] + [far_contact(name) for name in NEAR]
        ohm: dict[tuple[Contact, Contact], Ohm] = {(names[a], names[b]): self.ohm for a, b in self.joined}
        tester = Tester("WIREMAP", "BENCH-18", "W1", "1.0", ("RES",), 0.02)
        minutes, seconds = divmod(seconds, 60)
        hours, minutes = divmod(minutes, 60)
        taken = f"2026-03-{1 + hours // 24:02d}T{hours % 24:02d}:{minutes:02d}:{seconds:02d}Z"
        return Reading(taken, tester, None, "tester", NEAR, NEAR, square(names, ohm, "open"))

    @property
    def ohm(self) -> float:
        """Return the resistance of each of its conductors, different for every cable."""
        return round(1.0 + self.number / 1000, 3)

    @property
    def verdict(self) -> str:
        """Return the verdict it deserves."""
        return "pass" if self.fault == "none" else "fail"


@dataclass
class Seen:
    """What the hands were shown: number in the ledger, label, verdict, and which cable was in the sockets."""

    number: int
    label: str
    verdict: str
    cable: int


@dataclass
class World:
    """The bench. scanned: labels come from a reader. unplugs: at which looks the tester loses its line."""

    count: int
    seed: int = 1
    scanned: bool = False
    unplugs: tuple[int, ...] = ()
    now_s: float = 0.0
    looks: int = 0
    diary: list[Seen] = field(default_factory=list)
    rings: dict[str, int] = field(default_factory=dict)
    repeated: list[int] = field(default_factory=list)
    pulled: int = 0
    reseated: int = 0
    lost: int = 0

    def __post_init__(self) -> None:
        """Lay out the rack."""
        self.draw = random.Random(self.seed)
        self.rack = [Cable(number, self.draw.choice(FAULTS)) for number in range(self.count)]
        self.todo = list(range(self.count))
        self.cable: Cable | None = None
        self.plan: list[tuple[float, Joined]] = []  # what the sockets show from when on
        self.keys: list[Pressed | Labelled] = []
        self.pull_at_s: float | None = None
        self.half = False
        self.down_s: float | None = None
        self.pressed_space_at = -1
        self.scanned_for: int | None = None
        self.reader = 0

    @property
    def finished(self) -> bool:
        """Whether every cable has been seen with its verdict, and the sockets are empty."""
        return not self.todo and self.cable is None

    def joined(self) -> Joined:
        """Return what the sockets show now."""
        shown: Joined = frozenset()
        for at_s, joined in self.plan:
            if at_s <= self.now_s:
                shown = joined
        return shown

    def look(self) -> Joined:
        """Look, as the tester does; it takes a moment."""
        self.now_s += LOOK_S
        self.looks += 1
        if self.looks in self.unplugs:
            self.down_s = self.now_s + self.draw.uniform(0.5, 6.0)
            self.lost += 1
        self._pull_when_due()
        if self.down_s is not None:
            raise TesterError("the line to the tester broke", "Plug it in again.")
        return self.joined()

    def measure(self) -> tuple[Joined, int, int]:
        """Measure: return what the scan saw at first, which cable that was (-1 = none), and the time."""
        began, saw = self.cable, self.joined()
        self.now_s += MEASURE_S
        self._pull_when_due()
        if self.down_s is not None:
            raise TesterError("the line to the tester broke", "Plug it in again.")
        return saw, -1 if began is None else began.number, int(self.now_s)

    def reopen(self) -> None:
        """Connect again, when the tester is back."""
        if self.down_s is not None and self.now_s < self.down_s:
            self.now_s += 1.0
            raise TesterError("there is no such port", "Plug it in.")
        self.down_s = None

    def heard(self) -> list[Pressed | Labelled]:
        """Return the keys that the hands pressed."""
        keys, self.keys = self.keys, []
        return keys

    def page(self, phase: str, said: str) -> None:
        """Read the page and do what it says."""
        if phase == "clear" and self.cable is not None:
            self._take_out()
        elif phase == "waiting" and self.cable is None and self.todo:
            self._plug_in()
        elif phase == "waiting" and self.cable is not None and self.now_s > self.pressed_space_at + 3:
            self.pressed_space_at = int(self.now_s)
            self.keys.append(Pressed("main"))
        elif phase == "not-seated" and self.cable is not None:
            if self.half:
                self.half = False
                self.reseated += 1
                self._bounce(self.cable.joined)
            elif self.now_s > self.pressed_space_at + 3:
                self.pressed_space_at = int(self.now_s)
                self.keys.append(Pressed("main"))
        elif phase in ("label", "known-label") and self.cable is not None:
            self._scan(phase)
        elif phase == "shown" and self.cable is not None:
            again = self.cable.fault != "none" and self.cable.number not in self.repeated and self.draw.random() < 0.2
            if again and said == "":
                self.repeated.append(self.cable.number)
                self.keys.append(Pressed("retest"))
            elif not self.keys:
                self._take_out()
        elif phase == "done":
            self._take_out()
            if self.todo:
                self.keys.append(Pressed("main"))
        elif phase == "reference":
            self.keys.append(Pressed("skip"))

    def verdict(self, number: int, label: str, verdict: str) -> None:
        """See a verdict, with the cable in hand."""
        assert self.cable is not None, "a verdict was shown while no cable was in"
        self.diary.append(Seen(number, label, verdict, self.cable.number))
        if self.cable.number in self.todo:
            self.todo.remove(self.cable.number)

    def ring(self, bell: str) -> None:
        """Hear a bell."""
        self.rings[bell] = self.rings.get(bell, 0) + 1

    def restarted(self) -> None:
        """The program is started again after it was killed: keys that were pressed are lost."""
        self.keys = []
        self.scanned_for = None

    def _plug_in(self) -> None:
        self.cable = self.rack[self.draw.choice(self.todo[:3])]
        self.half = self.draw.random() < 0.1
        self.pull_at_s = self.now_s + self.draw.uniform(0.2, 3.5) if self.draw.random() < 0.1 else None
        joined = self.cable.joined
        if self.half:
            joined = frozenset(pair for pair in joined if not {0, 1, 9, 10} & set(pair))
        self._bounce(joined)

    def _bounce(self, joined: frozenset[tuple[int, int]]) -> None:
        at_s = self.now_s + self.draw.uniform(0.0, 0.4)
        self.plan = [(0.0, frozenset())]
        for _ in range(self.draw.randrange(6)):
            some = frozenset(pair for pair in joined if self.draw.random() < 0.6)
            self.plan.append((at_s, some))
            at_s += self.draw.uniform(0.005, 0.08)
        self.plan.append((at_s, joined))

    def _pull_when_due(self) -> None:
        if self.pull_at_s is not None and self.now_s >= self.pull_at_s and self.cable is not None:
            self.pulled += 1
            self._take_out()

    def _take_out(self) -> None:
        self.cable = None
        self.plan = [(0.0, frozenset())]
        self.pull_at_s = None
        self.scanned_for = None

    def _scan(self, phase: str) -> None:
        assert self.cable is not None
        used = [seen.label for seen in self.diary]
        if phase == "label" and used and self.scanned_for != self.cable.number and self.draw.random() < 0.2:
            self.scanned_for = self.cable.number
            self.keys.append(Labelled(self.draw.choice(used)))  # a label that is on another cable already
            return
        self.reader += 1
        self.keys.append(Labelled(f"REEL-{self.reader:04d}"))


def sides() -> Sequence[Sequence[int]]:
    """Return the contacts of both plugs of a straight cable, as the sweep wants them."""
    offset = len(pattern("straight").near_contacts)
    return (tuple(range(8)), tuple(range(offset, offset + 8)))
