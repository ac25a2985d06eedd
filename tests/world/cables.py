"""Cables drawn at random, as installers make them, with faults of plugs and of the run, and what is known of each."""

import random
from dataclasses import dataclass, field, replace

from tests.world.installers import Installer, installer
from tests.world.tables import CONTACTS, MEANT, PATTERNS, STANDARDS, Holds, Pattern, carried
from tests.world.truth import Plug, Run, Truth

FOUR_PAIRS = ("straight", "crossover", "crossover-all", "rollover", "m12x-rj45", "rj45-m12x", "m12x-m12x")
SHARES = {
    "straight": 40,
    "crossover": 10,
    "crossover-all": 2,
    "rollover": 2,
    "straight-2pair": 6,
    "crossover-2pair": 2,
    "m12d-rj45": 8,
    "rj45-m12d": 3,
    "m12d-m12d": 6,
    "m12x-rj45": 6,
    "rj45-m12x": 2,
    "m12x-m12x": 5,
    "m12a-5pole": 6,
}


@dataclass(frozen=True)
class Around:
    """What is between the tester and a cable, and in its run. joints: (name, metres from near), the nearest first.

    stuck: joints that do not come apart. shaky: (end, contact) of crimps that open when the plug moves. lead_open: the
    contact that is open in the lead at the near end, "" = none; lead: whether there is a lead. socket_open: the contact
    that is open in the tester's near socket, "" = none.
    """

    joints: tuple[tuple[str, float], ...] = ()
    stuck: frozenset[str] = frozenset()
    shaky: tuple[tuple[str, str], ...] = ()
    lead: bool = False
    lead_open: str = ""
    socket_open: str = ""


@dataclass(frozen=True)
class Job:
    """A cable and what is known where it is tested.

    closed: ends that are hard to open, as `--closed` says them. colours: what `--colours` says, None = not said.
    with_pairs: the tester measures capacitance. other_kind: the cable is not of the kind the job wants, "" = it is.
    around: what else there is to it.
    """

    truth: Truth
    pattern: Pattern
    closed: tuple[str, ...] = ()
    colours: str | None = None
    with_pairs: bool = False
    other_kind: str = ""
    around: "Around" = field(default_factory=lambda: Around())

    @property
    def closed_ends(self) -> frozenset[str]:
        """Return the ends that are hard to open."""
        return frozenset(word.split("=")[0] for word in self.closed)


def _colours(pattern: Pattern, choose: random.Random) -> tuple[str, int]:
    """Return a cable's colours and how many conductors it has."""
    if pattern.near == "m12a":
        return "device-bus", 4
    if pattern.name in FOUR_PAIRS:
        return "tia", 8
    if pattern.near == pattern.far == "rj45":
        return ("tia" if choose.random() < 0.8 else "iec61918"), 4
    return ("iec61918" if choose.random() < 0.7 else "tia"), 4


def _said(pattern: Pattern, colours: str) -> str | None:
    """Return what `--colours` must say for the page to speak of this cable's colours, None = they are the usual."""
    usual = "device-bus" if pattern.near == "m12a" else "iec61918" if "m12d" in pattern.name else "tia"
    return None if colours == usual else colours


def orders(pattern: Pattern, meant: Holds, who: Installer, choose: random.Random) -> tuple[Plug, Plug]:
    """Return both plugs as they are made by somebody who means the near one to hold `meant`."""
    there = carried(pattern, meant)
    if choose.random() < who.both:
        state = choose.getrandbits(32)
        near = who.habit(pattern.near, meant, random.Random(state))
        far = who.habit(pattern.far, there, random.Random(state))
        if near and far and near[0] == far[0]:
            return Plug(pattern.near, near[1], meant), Plug(pattern.far, far[1], there)
    made = [who.plug(pattern.near, meant, choose), who.plug(pattern.far, there, choose)]
    if choose.random() < who.changes_mind:
        place = choose.randrange(2)
        kind, order = ((pattern.near, meant), (pattern.far, there))[place]
        other = replace(who, mix=(("other standard (1)", 1.0),)).habit(kind, order, choose)
        made[place] = other[1] if other else made[place]
    return Plug(pattern.near, made[0], meant), Plug(pattern.far, made[1], there)


def _plug_fault(plug: Plug, choose: random.Random, screened: bool) -> Plug:
    used = [contact for contact, name in plug.at.items() if name is not None]
    kinds = (
        ("loose", "loose", "strand", "poor", "screen", "unclamped")
        if screened
        else ("loose", "loose", "strand", "poor")
    )
    kind = choose.choice(kinds)
    if kind == "loose":
        return replace(plug, loose=frozenset([choose.choice(used)]))
    if kind == "poor":
        return replace(plug, poor=((choose.choice(used), choose.choice((2.0, 8.0, 40.0))),))
    if kind == "unclamped":
        return replace(plug, clamped=False)
    contacts = CONTACTS[plug.kind]
    place = choose.randrange(len(contacts) - 1)
    one, other = contacts[place], contacts[place + 1]
    if kind == "screen" and plug.clamped and plug.kind != "m12a":
        return replace(plug, strands=((one, "S"),))
    return replace(plug, strands=((one, other),))


def _run_fault(run: Run, names: list[str], choose: random.Random) -> Run:
    at = round(choose.uniform(0.25, 0.75) * run.length_m, 2)
    one, other = choose.sample(names, 2)
    kind = choose.choice(("broken", "broken", "crushed", "poor", "screen", "to screen"))
    if run.screened and kind == "screen":
        return replace(run, screen_broken=True)
    if run.screened and kind == "to screen":
        return replace(run, crushed=(("screen", one, at),))
    if kind == "crushed":
        return replace(run, crushed=((one, other, at),))
    if kind == "poor":
        return replace(run, poor=((one, at, choose.choice((3.0, 20.0))),))
    return replace(run, broken=((one, at),))


def _closed(choose: random.Random) -> tuple[str, ...]:
    draw = choose.random()
    if draw < 0.55:
        return ()
    if draw < 0.70:
        return ("far=60",)
    if draw < 0.82:
        return ("far",)
    if draw < 0.90:
        return ("near",)
    return ("near", "far=60") if draw < 0.95 else ("near", "far")


def faulty(truth: Truth, choose: random.Random) -> Truth:
    """Return the cable with a fault of a plug, of both, or of the run, now and then; mostly as it was."""
    draw = choose.random()
    if draw < 0.70:
        return truth
    screened = truth.run.screened
    if draw < 0.80:
        return truth.with_plug("near", _plug_fault(truth.near, choose, screened))
    if draw < 0.90:
        return truth.with_plug("far", _plug_fault(truth.far, choose, screened))
    if draw < 0.92:
        truth = truth.with_plug("near", _plug_fault(truth.near, choose, screened))
        return truth.with_plug("far", _plug_fault(truth.far, choose, screened))
    names = [name for name in truth.near.holds if name in truth.far.holds and name is not None]
    return replace(truth, run=_run_fault(truth.run, names, choose))


def cable(choose: random.Random, who: Installer | None = None) -> Job:
    """Draw a cable and a job for it."""
    pattern = PATTERNS[choose.choices(list(SHARES), list(SHARES.values()))[0]]
    who = who or installer(choose)
    colours, count = _colours(pattern, choose)
    other_kind = ""
    wanted = pattern
    draw = choose.random()
    if draw < 0.03 and pattern.name == "straight":
        wanted, count, other_kind = PATTERNS["straight-2pair"], 4, "two pairs"
    elif draw < 0.02 and pattern.name == "straight-2pair" and colours == "tia":
        wanted, count = PATTERNS["straight"], 8  # four pairs, all crimped, where two are wanted: it serves
    elif draw < 0.06 and pattern.name in ("straight", "crossover"):
        wanted = PATTERNS["crossover" if pattern.name == "straight" else "straight"]
    meant = STANDARDS[pattern.near][who.meant(MEANT[pattern.near, count, colours], choose)]
    near, far = orders(wanted, meant, who, choose)
    names = tuple(name for name in meant if name is not None)
    screened = choose.random() < 0.4
    near, far = (replace(plug, clamped=screened) for plug in (near, far))
    run = Run(round(choose.uniform(3.0, 40.0), 1), choose.uniform(0.080, 0.092), colours, names, screened=screened)
    truth = faulty(Truth(near, far, run, screened and choose.random() < 0.6), choose)
    with_pairs = choose.random() < 0.5
    return Job(truth, pattern, _closed(choose), _said(pattern, colours), with_pairs, other_kind)


def installed(choose: random.Random) -> Job:
    """Draw a cable that is part of an installation: with joints, behind a lead, with a crimp that comes and goes."""
    job = cable(choose)
    alike = job.pattern.near == job.pattern.far
    length = job.truth.run.length_m
    names = ("deck plug", "mast foot", "locker")[: choose.randrange(4)]
    spots = sorted(round(choose.uniform(0.1, 0.9) * length, 2) for _ in names)
    joints = tuple(zip(names, spots, strict=True))
    draw, contact = choose.random(), choose.choice([near for near, _ in job.pattern.wanted])
    around = Around(joints, frozenset(name for name in names if choose.random() < 0.1), lead=choose.random() < 0.3)
    sound = job.truth.near.sound and job.truth.far.sound and job.truth.run.sound and not job.other_kind
    if sound and draw < 0.3:
        end = choose.choice(("near", "far"))
        held = [one for one, name in job.truth.plug(end).at.items() if name is not None]
        around = replace(around, shaky=((end, choose.choice(held)),))
    elif sound and draw < 0.5 and around.lead:
        around = replace(around, lead_open=contact)
    elif sound and draw < 0.6 and alike:
        around = replace(around, socket_open=contact)
    elif sound and draw < 0.8:
        run = _run_fault(job.truth.run, [one for one in job.truth.near.holds if one is not None], choose)
        job = replace(job, truth=replace(job.truth, run=run))
    return replace(job, around=around)


def strange_cable(choose: random.Random) -> Job:
    """Draw a cable made by somebody who has a way of his own."""
    return cable(choose, installer(choose, strange=True))
