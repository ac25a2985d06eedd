"""Cables that are broken in every way the virtual cable knows, mended as the advice says, and tested again."""

import dataclasses
import random
from dataclasses import dataclass, field

from msgspec.structs import replace

from firmware_sim.cable_model.tables import tables
from tests.firmware_sim.parsed import parse_description
from tests.judge.plugs.as_built_trials import T568A, T568B, exchanged
from tests.judge.simulated import PLACES, _upper, measured_reading
from wiremap.cable.colours import colour_set
from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern, pattern
from wiremap.contact import Contact, End
from wiremap.judge.findings import Finding
from wiremap.judge.remedy.advice import Advice, advice_on
from wiremap.judge.remedy.joints import Joint
from wiremap.judge.remedy.knowledge import Knowledge
from wiremap.judge.remedy.repair import Step
from wiremap.judge.verdict import Diagnosis, Options, judge
from wiremap.judge.wiring.laid_reading import lay_reading
from wiremap.reading.reading import Ohm, Reading, square

TIA = colour_set("tia")
RULES = limits()
Order = tuple[str, ...]
PLUG_FAULTS = ("open", "short", "resistance", "leak", "film", "screen-open")
ENDS: tuple[End, End] = ("near", "far")
LENGTH_M = 12.0
JOINT = Joint("mast foot", 9.0)


@dataclass(frozen=True)
class Trouble:
    """One fault: where it is ("near", "far", or metres from the near plug), and its resistance."""

    kind: str
    conductors: tuple[str, ...]
    where: End | float
    ohm: float = 0.0

    def toml(self) -> str:
        """Return it as the virtual cable reads it."""
        place = f'end = "{self.where}"' if isinstance(self.where, str) else f"at_m = {self.where}"
        names = "" if self.kind == "screen-open" else f"conductors = {list(self.conductors)}\n".replace("'", '"')
        ohm = f"ohm = {self.ohm}\n" if self.ohm else ""
        return f'[[fault]]\nkind = "{self.kind}"\n{names}{place}\n{ohm}'


@dataclass(frozen=True)
class Cable:
    """A cable on the bench: what is in its plugs, what is wrong with it, whether it is wet, how its joint is made."""

    near: Order
    far: Order
    troubles: tuple[Trouble, ...] = ()
    wet: bool = False
    joint: Order | None = None
    screened: bool = True

    def reading(self, seed: int) -> Reading:
        """Return what a tester with everything reads of it, low level too."""
        kind = "F/UTP" if self.screened else "UTP"
        wet = "wet = true\n" if self.wet else ""
        second = ""
        first_m = LENGTH_M
        if self.joint is not None:
            first_m = JOINT.at_m
            order = str(list(self.joint)).replace("'", '"')
            second = f'[[segment]]\ncable = "{kind}"\nlength_m = {LENGTH_M - JOINT.at_m}\norder = {order}\n'
        near, far = (str(list(order)).replace("'", '"') for order in (self.near, self.far))
        cable = parse_description(
            f"format = 1\nnear = {near}\nfar = {far}\n"
            f'[[segment]]\ncable = "{kind}"\nlength_m = {first_m}\n{wet}{second}'
            + "".join(trouble.toml() for trouble in self.troubles)
        )
        seen = measured_reading(cable, seed, traces=False, step_ohm=0.05)
        low: dict[tuple[Contact, Contact], Ohm] = {}
        for (i, j), value in zip(_upper(), tables(cable, "none")["networks"][0]["low_milliohm"], strict=True):
            low[PLACES[i], PLACES[j]] = "open" if value is None else 0.05 * round(value / 50)
        return replace(seen, low_level_ohm=square(PLACES, low, None))


@dataclass
class Bench:
    """A technician: the cable, what was read off it, what was done, and how many tests it took."""

    wanted: Pattern
    cable: Cable
    known: Knowledge = field(default_factory=Knowledge)
    done: set[tuple[str, str | None]] = field(default_factory=set)
    tests: int = 0
    actions: list[str] = field(default_factory=list)
    last: tuple[Finding, ...] = ()

    def test(self) -> tuple[Diagnosis, Advice]:
        """Test the cable and ask what follows."""
        self.tests += 1
        seen = self.cable.reading(self.tests)
        options = Options("both" if self.cable.screened else None)
        found = judge(seen, self.wanted, options)
        return found, advice_on(lay_reading(seen, self.wanted, RULES), found, self.known, TIA)

    def mend(self, most: int = 24) -> bool:
        """Test, do what is said, and test again until it passes; False when it never does."""
        for _ in range(most):
            found, advice = self.test()
            if found.verdict == "pass":
                return True
            what = tuple(replace(finding, value=None, at_m=None, end=None) for finding in found.findings)
            if what != self.last:
                self.done.clear()
                self.last = what
            step = self._next(advice)
            if step is None:
                return False
            self._carry_out(step, advice)
        return False

    def _next(self, advice: Advice) -> Step | None:
        steps = advice.repair.steps if advice.repair else ()
        return next((step for step in steps if step.action == "look" or (step.action, step.end) not in self.done), None)

    def _find(self, advice: Advice) -> None:
        """Look in both plugs for a fault; make the plug that has one anew, by its card where it has one."""
        assert advice.repair is not None
        bad = next((end for end in ENDS if any(trouble.where == end for trouble in self.cable.troubles)), None)
        if bad is None:
            self._carry_out(Step("replace", "plug-unknown"), advice)
            return
        plans = sorted((*advice.repair.steps, *advice.repair.instead), key=lambda step: step.if_it_stays)
        fitting = [step for step in plans if step.action == "re-terminate" and step.end == bad]
        self._crimp(fitting[0] if fitting else Step("re-terminate", "plug", bad))

    def _carry_out(self, step: Step, advice: Advice) -> None:
        self.done.add((step.action, step.end))
        self.actions.append(f"{step.action} {step.end or step.place or ''}".strip())
        match step.action:
            case "look":
                assert step.look is not None
                plug = self.cable.near if step.look.end == "near" else self.cable.far
                read = (step.look.contact, plug[int(step.look.contact) - 1])
                if step.look.end == "near":
                    self.known = replace(self.known, near_colours=(*self.known.near_colours, read))
                else:
                    self.known = replace(self.known, far_colours=(*self.known.far_colours, read))
            case "find":
                self._find(advice)
            case "clean":
                ends = (step.end,) if step.end else ("near", "far")
                left = [t for t in self.cable.troubles if not (t.kind in ("leak", "film") and t.where in ends)]
                self.cable = dataclasses.replace(self.cable, troubles=tuple(left))
            case "open-joint":
                if self.cable.joint is not None:
                    self.cable = dataclasses.replace(self.cable, joint=CONDUCTORS)
                self.done.add(("open-joint", None))
            case "replace":
                near = T568B
                far = T568A if self.wanted.name == "crossover" else T568B
                self.cable = Cable(near, far, screened=self.cable.screened)
                self.known = Knowledge()
            case _:
                self._crimp(step)

    def _crimp(self, step: Step) -> None:
        assert step.end is not None
        now = list(self.cable.near if step.end == "near" else self.cable.far)
        if step.order:
            now = [name or "-" for _, name in step.order]
        else:
            moved = dict(step.moves)
            before = list(now)
            for source, target in moved.items():
                now[int(target) - 1] = before[int(source) - 1]
        left = tuple(trouble for trouble in self.cable.troubles if trouble.where != step.end)
        reads = tuple((str(place), name) for place, name in enumerate(now, 1))
        if step.end == "near":
            self.cable = dataclasses.replace(self.cable, near=tuple(now), troubles=left)
            self.known = replace(self.known, near_colours=reads if step.order else ())
        else:
            self.cable = dataclasses.replace(self.cable, far=tuple(now), troubles=left)
            self.known = replace(self.known, far_colours=reads if step.order else ())


CONDUCTORS = ("white-blue", "blue", "white-orange", "orange", "white-green", "green", "white-brown", "brown")


def random_trouble(choose: random.Random, screened: bool) -> Trouble:
    """Return any fault the virtual cable knows, at a plug or in the run."""
    kind = choose.choice(PLUG_FAULTS if screened else PLUG_FAULTS[:-1])
    where: End | float = choose.choice(("near", "far", "near", "far", round(choose.uniform(2.0, 10.0), 1)))
    if kind == "screen-open":
        return Trouble(kind, (), where)
    if kind == "film" and not isinstance(where, str):
        where = "far"
    one, other = choose.sample(CONDUCTORS, 2)
    match kind:
        case "open":
            return Trouble(kind, (one,), where)
        case "short":
            return Trouble(kind, (one, other), where)
        case "resistance":
            return Trouble(kind, (one,), where, choose.choice((3.0, 30.0)))
        case "leak":
            return Trouble(kind, (one, other), where, choose.choice((5e4, 4e5)))
        case _:
            return Trouble(kind, (one,), where, 5.0)


def random_cable(choose: random.Random) -> tuple[Pattern, Cable]:
    """Return a cable that is wrong in one to three ways: orders, faults at plugs or in the run, water, a bad joint."""
    wanted = pattern(choose.choice(("straight", "straight", "crossover")))
    near: Order = choose.choice((T568B, T568A))
    far: Order = near
    if wanted.name == "crossover":
        far = T568A if near == T568B else T568B
    screened = choose.random() < 0.5
    for _ in range(choose.choice((0, 0, 1, 1, 2))):
        a, b = choose.sample(range(8), 2)
        if choose.random() < 0.5:
            near = tuple(map(str, exchanged(near, a, b)))
        else:
            far = tuple(map(str, exchanged(far, a, b)))
    if choose.random() < 0.15:
        near = tuple(choose.sample(near, 8))
    if choose.random() < 0.1:
        far = near
    troubles = tuple(random_trouble(choose, screened) for _ in range(choose.choice((0, 1, 1, 2))))
    return wanted, Cable(near, far, troubles, choose.random() < 0.05, None, screened)


def mend_many(seed: int, count: int) -> tuple[int, int, dict[int, int]]:
    """Mend random cables; return how many passed at last, how many were wrong, and tests needed -> count."""
    choose = random.Random(seed)
    passed = wrong = 0
    tests: dict[int, int] = {}
    while wrong < count:
        wanted, cable = random_cable(choose)
        bench = Bench(wanted, cable)
        mended = bench.mend()
        if bench.tests == 1 and mended:
            continue
        wrong += 1
        passed += mended
        tests[bench.tests] = tests.get(bench.tests, 0) + 1
        assert mended, f"{wanted.name}: {cable} after {bench.actions}: {[f.fault for f in bench.last]}"
    return passed, wrong, dict(sorted(tests.items()))
