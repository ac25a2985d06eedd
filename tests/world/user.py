"""A user who does literally what the page says, until it says PASS or gives a reason to stop."""

import random
import re
from dataclasses import replace

from tests.world import plugs_said
from tests.world.cables import Job
from tests.world.instructions import understood
from tests.world.outcome import Outcome, StopsError
from tests.world.product import CardRead, Words, card, shown
from tests.world.readings import reading
from tests.world.sentences import Said, Scene, examine, split_sentences
from tests.world.tables import CONTACTS, STANDARDS, Holds, carried
from tests.world.truth import Node, Plug, fewest_terminations
from wiremap.errors import WiremapError
from wiremap.judge.case import Case
from wiremap.report.words.cases import sentences

MOST_TESTS = 40
PATIENCE = 3  # so often a person does the same thing when nothing changes
OTHER = {"near": "far", "far": "near"}


class User:
    """One person with one cable."""

    def __init__(self, job: Job, seed: int) -> None:
        self.job = job
        self.truth = job.truth
        self.choose = random.Random(seed)
        self.reads: dict[str, dict[str, str]] = {"near": {}, "far": {}}
        self.made: set[str] = set()  # plugs that he made himself: he knows what he put in, and says it when asked
        self.outcome = Outcome(job)
        self.done: list[str] = []
        self.case: Case | None = None
        self.crimped = False

    def words(self) -> Words:
        """Return what the user says beside the reading."""
        near, far = (",".join(f"{c}={colour}" for c, colour in self.reads[end].items()) for end in ("near", "far"))
        screen = "both" if self.truth.screen_asked else None
        return Words(self.job.pattern.name, screen, self.job.colours, near, far, self.job.closed)

    def mend(self) -> Outcome:
        """Test, do what the page says, test again; return what became of it."""
        outcome = self.outcome
        reachable = self.truth.run.sound and not self.job.other_kind
        outcome.fewest = fewest_terminations(self.truth, self.job.pattern, self.job.with_pairs) if reachable else None
        try:
            while True:
                self._test()
        except StopsError as stop:
            outcome.ending = str(stop)
        outcome.right = self._right_ending()
        outcome.needless_climbs = max(0, len(set(outcome.climbs)) - self._climbs_needed())
        return outcome

    def _right_ending(self) -> bool:
        truth, pattern = self.truth, self.job.pattern
        if self.outcome.ending == "pass":
            return truth.as_wanted(pattern)
        if self.outcome.ending == "serves":
            return truth.as_wanted(pattern)
        if self.outcome.ending == "other kind":
            return bool(self.job.other_kind)
        return self.outcome.ending == "replace" and (not self.job.truth.run.sound or bool(self.job.other_kind))

    def _climbs_needed(self) -> int:
        """Return how many plugs that are hard to open must be opened to mend the cable."""
        truth, pattern, closed = self.job.truth, self.job.pattern, self.job.closed_ends
        if self.outcome.fewest is None:
            return len(closed)
        must = {end for end in closed if not truth.plug(end).well_made}
        must |= {end for end in closed if truth.screen_asked and not truth.plug(end).clamped}
        wanted = {"near": [a for a, _ in pattern.wanted], "far": [b for _, b in pattern.wanted]}
        for end in closed:
            kept = truth.keeps_pairs(end, pattern)
            if not kept or any(truth.plug(end).at[contact] is None for contact in wanted[end]):
                must.add(end)
        if len(closed) == 2 and not (truth.near.well_made and truth.far.well_made and truth.screen_right):
            return 2  # which of the two it is, nobody can know before one is open
        if len(closed) == 2 and self.outcome.fewest:
            return max(self.outcome.fewest, len(must))
        return len(must) if self.outcome.fewest else 0

    def _test(self) -> None:
        outcome = self.outcome
        outcome.tests += 1
        if outcome.tests > MOST_TESTS:
            raise StopsError("stuck")
        try:
            case, page = shown(reading(self.truth, self.choose, self.job.with_pairs), self.words())
        except WiremapError as error:
            outcome.said.append(Said("refused", f"{error.what} {error.hint}", False))
            outcome.story.append(f"refused: {error.what}")
            raise StopsError("refused") from error
        self.case, self.crimped = case, False
        instructions = self._read(case, page)
        if page.startswith("PASS"):
            raise StopsError("pass")
        before = (self.truth, repr(self.reads))
        for sentence in instructions:
            self._follow(sentence)
        if (self.truth, repr(self.reads)) == before:
            self.done.append(" ".join(instructions))
            if self.done.count(self.done[-1]) >= PATIENCE:
                raise StopsError("stuck")

    def _read(self, case: Case, page: str) -> list[str]:
        """Judge every sentence of the page by the truth; return the instructions, sentence by sentence."""
        scene = Scene(self.truth, self.job.pattern, self.job.with_pairs)
        lines = page.splitlines()
        found = [examine(part, scene) for text in sentences(case) for part in split_sentences(text)]
        start = next(i for i, line in enumerate(lines) if line.startswith("Next: "))
        for text in sentences(case)[:3]:
            if text not in page:
                found.append(Said("not on the page", text, False))
        instructions = []
        for sentence in split_sentences(lines[start].removeprefix("Next: ")):
            said, chances, is_end = plugs_said.which_end(sentence, self.truth)
            found += said
            self._add_chances(chances)
            if not is_end:
                instructions.append(sentence)
        table = [line for line in lines[start + 1 :] if re.match(r"[! ] +\d  ", line)]
        found += plugs_said.map_colours(table, self.reads["near"])
        self._read_plugs(lines, found)
        self.outcome.said += found
        self.outcome.story.append(" ".join(sentences(case)) + " // " + lines[start])
        return instructions

    def _read_plugs(self, lines: list[str], found: list[Said]) -> None:
        head = next((i for i, line in enumerate(lines) if line.startswith("In the plugs now")), None)
        if head is None:
            return
        end = "near"
        for line in lines[head + 1 :]:
            if not line.startswith(("near:", "far:", " ")):
                break
            end, chance = plugs_said.holds(line, end, self.truth, self.job.pattern)
            if chance is None:
                found.append(Said("unknown", line, False))
            else:
                self._add_chances([chance])

    def _add_chances(self, chances: list[plugs_said.Chance]) -> None:
        """Count chances, as long as the plugs are those that installers made."""
        for one in chances if not self.outcome.terminations else ():
            low, high = plugs_said.number(one.words)
            self.outcome.chances.append((one.kind, (low + high) / 2, one.true))

    def _follow(self, sentence: str) -> None:
        known = understood(sentence)
        if known is None:
            self.outcome.said.append(Said("unknown", sentence, False))
            raise StopsError("unknown sentence")
        kind, found = known
        named = found.groupdict()
        end = named.get("end") or ""
        match kind:
            case "look":
                self._look(end, found["contact"])
            case "remake":
                self._crimp_card(end)
            case "remake one":
                self._remake_one()
            case "home" | "strand" | "clamp" | "re-crimp" | "same again":
                self._same_order(end, paired=bool(named.get("paired")))
            case "home in both":
                scene = Scene(self.truth, self.job.pattern, self.job.with_pairs)
                self._home_in_both(scene.names(found["who"]))
            case "strand in both":
                self._find(lambda plug: bool(plug.strands), otherwise_one=True)
            case "clamp in both":
                self._find(lambda plug: not plug.clamped, otherwise_one=False)
            case "re-crimp in both":
                self._find(lambda plug: bool(plug.poor), otherwise_one=True)
            case "find":
                self._find_and_remake(named)
            case "use or replace":
                raise StopsError("other kind")
            case "any conductors":
                if len(self._cable()) < int(found["all"]):
                    raise StopsError("other kind")
                self._find(lambda plug: bool(plug.loose) or None in plug.holds, otherwise_one=False)
            case "read both":
                self._read_both()
            case "replace":
                raise StopsError("replace")
            case "pass" | "serves":
                raise StopsError(kind)
            case _:
                return

    def _open(self, end: str, what: str) -> None:
        if end in self.job.closed_ends:
            self.outcome.climbs.append(end)
        self.outcome.story.append(f"{what} {end}")

    def _look(self, end: str, contact: str) -> None:
        if end in self.made:
            self.outcome.story.append(f"says what he put into {end}")
            self.reads[end] = {one: self._seen(name) for one, name in self.truth.plug(end).at.items()}
            return
        self._open(end, f"looks at {contact} of")
        self.outcome.looks += 1
        name = self.truth.plug(end).at.get(contact)
        self.reads[end][contact] = self._seen(name)

    def _seen(self, name: str | None) -> str:
        return name or "-"

    def _crimp(self, end: str, holds: Holds, same: bool = False) -> None:
        self._open(end, "re-terminates")
        self.outcome.terminations += 1
        if self.outcome.terminations > 12:
            raise StopsError("stuck")
        now = self.truth.plug(end)
        named = not same and holds in (*STANDARDS[now.kind].values(), *self._usual(end))
        meant = holds if named else now.meant  # an order that only matches the other plug is still out of order
        plug = Plug(self.truth.plug(end).kind, holds, meant, clamped=self.truth.run.screened)
        self.truth = self.truth.with_plug(end, plug)
        self.reads[end] = {}
        self.made.add(end)

    def _crimp_card(self, end: str | None) -> None:
        assert self.case is not None
        made = card(self.case, end)
        first = card(self.case, None) if not self.crimped else made
        self.crimped = True
        if isinstance(made, str):
            self.outcome.said.append(Said("no card", made, False))
            raise StopsError("no card")
        if end is not None and isinstance(first, CardRead) and first.end != end:
            self.outcome.said.append(Said("card for the other end", f"page: {end}, card: {first.end}", False))
        holds = self.truth.plug(made.end).at
        at = {contact: self._meant_by(said, contact, holds) for contact, said in made.lines}
        kind = self.truth.plug(made.end).kind
        wrong = [said for said in at.values() if said is not None and said not in self._cable()]
        if wrong or set(at) != set(CONTACTS[kind]):
            self.outcome.said.append(Said("card", f"{made}", False))
            raise StopsError("card cannot be followed")
        self._crimp(made.end, tuple(at[contact] for contact in CONTACTS[kind]))

    def _meant_by(self, said: str, contact: str, now: dict[str, str | None]) -> str | None:
        """Return the conductor that a line of the card means."""
        if said == "empty":
            return None
        moved = re.fullmatch(r"what is in (\d|it) now(, else what hangs loose)?", said)
        if moved is None:
            return said
        held = now[contact if moved[1] == "it" else moved[1]]
        loose = [name for name in self._cable() if name not in now.values()]
        return loose[0] if moved[2] and held is None and loose else held

    def _cable(self) -> tuple[str, ...]:
        return self.truth.conductors

    def _easier_first(self) -> tuple[str, str]:
        return (
            ("far", "near") if "near" in self.job.closed_ends and "far" not in self.job.closed_ends else ("near", "far")
        )

    def _remake_one(self) -> None:
        """Make one end anew so that the cable is right: the one that is easier to reach."""
        end = self._easier_first()[0]
        assert self.case is not None
        if isinstance(card(self.case, end), CardRead):
            self._crimp_card(end)
            return
        self._read_all(OTHER[end])
        other = self.truth.plug(OTHER[end])
        if end == "far":
            self._crimp(end, carried(self.job.pattern, other.holds))
            return
        back = {there: here for here, there in self.job.pattern.wanted}
        at = {back.get(contact, contact): name for contact, name in other.at.items()}
        self._crimp(end, tuple(at.get(contact) for contact in CONTACTS[self.truth.near.kind]))

    def _same_order(self, end: str, paired: bool = False) -> None:
        """Make a plug anew in the order it has; what hangs loose or is out of place goes where a contact is empty.

        paired: each pair on its own contacts; where they are not, in the usual order that is nearest.
        """
        wanted = [a if end == "near" else b for a, b in self.job.pattern.wanted]
        at = self.truth.plug(end).at
        left = [name for name in self._cable() if name not in at.values()]
        beside = [contact for contact, name in at.items() if name is not None and contact not in wanted]
        for contact in wanted:
            if at[contact] is None and left:
                at[contact] = left.pop(0)
            elif at[contact] is None and beside:
                at[contact], at[beside[0]] = at[beside[0]], None
                beside.pop(0)
        same = tuple(at.values())
        if not paired or self._keeps_pairs(end, same):
            self._crimp(end, same, same=True)
            return
        usual = [order for order in self._usual(end) if set(order) == set(same) and self._keeps_pairs(end, order)]
        if not usual:
            raise StopsError("no usual order")
        alike = [sum(a == b for a, b in zip(order, same, strict=True)) for order in usual]
        self._crimp(end, usual[alike.index(max(alike))])

    def _keeps_pairs(self, end: str, holds: Holds) -> bool:
        made = self.truth.with_plug(end, replace(self.truth.plug(end), holds=holds))
        return made.keeps_pairs(end, self.job.pattern)

    def _usual(self, end: str) -> list[Holds]:
        """Return the orders that a plug of a right cable may hold, by the standards, the likelier first."""
        pattern = self.job.pattern
        near = list(STANDARDS[pattern.near].values())
        return near if end == "near" else [carried(pattern, order) for order in near]

    def _home_in_both(self, nodes: list[Node]) -> None:
        for end in self._easier_first():
            plug = self.truth.plug(end)
            contacts = [contact for side, contact in nodes if side == end]
            self._open(end, "looks whether all is home in")
            self.outcome.looks += 1
            if any(contact in plug.loose or plug.at.get(contact) is None for contact in contacts):
                if not plug.loose and not [name for name in self._cable() if name not in plug.holds]:
                    raise StopsError("stuck: no conductor for that contact")
                self._same_order(end)
                return
        raise StopsError("replace")

    def _find(self, wrong: "object", otherwise_one: bool) -> None:
        assert callable(wrong)
        for end in self._easier_first():
            self._open(end, "looks into")
            self.outcome.looks += 1
            if wrong(self.truth.plug(end)):
                self._same_order(end)
                return
        if otherwise_one:
            remade = [line.split()[-1] for line in self.outcome.story if line.startswith("re-terminates")]
            left = [end for end in self._easier_first() if end not in remade]
            if left:
                self._same_order(left[0])

    def _find_and_remake(self, named: dict[str, str | None]) -> None:
        """Look in the plugs, the one that is easier to open first, for what is named; make the one that has it anew."""
        scene = Scene(self.truth, self.job.pattern, self.job.with_pairs)
        nodes = scene.names(
            next((text for key in ("who", "joined", "touched", "poor") if (text := named.get(key))), "")
        )
        for end in self._easier_first():
            self._open(end, "looks into")
            self.outcome.looks += 1
            plug = self.truth.plug(end)
            here = {contact for side, contact in nodes if side == end}
            seen = (
                (bool(named["who"]) and any(one in plug.loose or plug.at.get(one, "") is None for one in here))
                or (bool(named["joined"] or named["touched"]) and any(set(pair) & here for pair in plug.strands))
                or (bool(named["poor"]) and any(contact in here for contact, _ in plug.poor))
                or (bool(named["clamp"]) and not plug.clamped)
            )
            if seen:
                assert self.case is not None
                self.crimped = True
                if named["card"] and isinstance(card(self.case, end), CardRead):
                    self._crimp_card(end)
                else:
                    self._same_order(end, paired=bool(named["paired"]))
                return
        raise StopsError("replace")

    def _read_all(self, end: str) -> None:
        plug = self.truth.plug(end)
        self._open(end, "reads")
        self.outcome.looks += 1
        self.reads[end] = {contact: self._seen(name) for contact, name in plug.at.items()}

    def _read_both(self) -> None:
        """Read both plugs, say so, and make anew what the card says."""
        for end in self._easier_first():
            self._read_all(end)
        case, _ = shown(reading(self.truth, self.choose, self.job.with_pairs), self.words())
        self.case = case
        self._crimp_card(None)


def mended(job: Job, seed: int) -> Outcome:
    """Return what becomes of a cable in the hands of a user who does what the page says."""
    return User(job, seed).mend()
