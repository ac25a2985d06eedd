"""A user who mends an installed cable: opens joints, exchanges leads, moves one plug, where the repair asks it."""

from dataclasses import replace

from msgspec.structs import replace as replaced

from tests.world.cables import Job
from tests.world.mending import Guided, Mended
from tests.world.readings import reading
from tests.world.truth import Plug, Truth
from wiremap.bench.mend.events import Answered, Asked, Did, Tested
from wiremap.bench.mend.known import WAITS, learned
from wiremap.bench.mend.stage import Stage
from wiremap.contact import far_contact, near_contact
from wiremap.judge.case import requirements
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.parts import Event
from wiremap.reading.reading import Reading
from wiremap.report.words.next_steps import FOUND_BY_EYE


class GuidedInstalled(Guided):
    """One person with one cable of an installation. joints: whether the user says where they are."""

    def __init__(self, job: Job, seed: int, wrong: float = 0.0, unknown: float = 0.0, joints: bool = True) -> None:
        super().__init__(job, seed, wrong, unknown)
        self.shaky = dict(job.around.shaky)
        self.lead_open = job.around.lead_open
        self.halves = self.swaps = self.cut_first = 0
        said = tuple(f"{name}={at_m}m" for name, at_m in job.around.joints) if joints else ()
        screen = "both" if self.truth.screen_asked else None
        told = Statements(closed=job.closed, joints=said)
        wanted = requirements(job.pattern.name, screen, colours=job.colours, statements=told)
        self.repair = replaced(self.repair, wanted=wanted, leads=("near",) if job.around.lead else ())

    def guided(self) -> Mended:
        """Do what the repair says; whether it took the fewest terminations is counted of plain cables alone."""
        found = super().guided()
        around = self.job.around
        if around.shaky or around.lead_open or around.socket_open:
            found.fewest = None
        return found

    def _right(self, ending: str) -> bool:
        around, run = self.job.around, self.job.truth.run
        if ending in ("passed", "serves"):
            return super()._right(ending) and not (self.shaky or self.lead_open or around.socket_open)
        if ending == "socket":
            return bool(around.socket_open)
        if ending == "piece":
            return not run.sound and self._said_piece_has_it()
        return super()._right(ending)

    def _said_piece_has_it(self) -> bool:
        piece = self.last_stage.piece
        assert piece is not None
        low = -1.0 if piece.begins is None else piece.begins.at_m
        high = 1e6 if piece.ends is None else piece.ends.at_m
        return any(low <= at <= high for at in _faults(self.truth))

    def _measured(self) -> Reading:
        truth = self.truth
        loose = [one for one in (self.lead_open, self.job.around.socket_open) if one]
        near = replace(truth.near, loose=truth.near.loose | set(loose))
        return reading(truth.with_plug("near", near), self.choose, self.job.with_pairs)

    def _step(self, stage: Stage) -> None:
        self.last_stage = stage
        if stage.kind == "move":
            moved = self.shaky if stage.asked is None else {stage.asked.end: self.shaky.get(stage.asked.end or "")}
            self._moved(stage, {end: contact for end, contact in moved.items() if end and contact})
        elif stage.kind == "part":
            assert stage.asked is not None
            self.outcome.story.append(f"part {stage.asked}")
            self._part(stage.asked)
        elif stage.kind == "do" and stage.work == "swap-lead":
            self.swaps += 1
            self.lead_open = ""
            self._report(Did("swap-lead", stage.end, (), stage.faults))
        else:
            self._count_cut(stage)
            super()._step(stage)

    def _count_cut(self, stage: Stage) -> None:
        """Count a plug that is cut on a guess, though a joint could be opened that would tell more.

        No guess is what is measured to be at that end or so far along the run, what was seen there, what an order
        wants, or what only moving shows.
        """
        if (
            stage.kind != "card"
            or stage.case is None
            or stage.finding is None
            or stage.finding.at_m is not None
            or stage.step is not None
            or self.job.pattern.near != self.job.pattern.far
        ):
            return
        known = learned(self.repair)
        seen = any(
            asked.kind in ("in-plug", "in-plugs") and word in ("there", "near", "far")
            for asked, word in known.answers.items()
        )
        left = {name for name, _ in self.job.around.joints} - {*known.pieces, *self.job.around.stuck}
        guess = stage.finding.end is None and not seen and stage.finding.fault in FOUND_BY_EYE and not known.made
        self.cut_first += guess and len(left) == len(self.job.around.joints) > len(self.job.around.stuck)

    def _moved(self, stage: Stage, opens: dict[str, str]) -> None:
        self.outcome.story.append(f"move {stage.asked} opens {opens}")
        seen = self._measured()
        events: list[Event] = []
        for end, contact in opens.items():
            other = self.job.pattern.wanted
            pairs = dict(other) if end == "near" else {far: near for near, far in other}
            if contact in pairs:
                a, b = (contact, pairs[contact]) if end == "near" else (pairs[contact], contact)
                events.append(Event(len(events) + 1, near_contact(a), far_contact(b), "opened", 1000, 5000))
        self._report(Tested(replaced(seen, events=tuple(events)), True, "watched", 15.0, 0, stage.asked))

    def _part(self, asked: Asked) -> None:
        if asked.kind == "lead":
            self._report(Tested(self._lead(), of=asked))
            return
        name = asked.contacts[0]
        if name in self.job.around.stuck:
            self._report(Answered(asked, WAITS))
            return
        self.halves += 1
        whole, self.truth = self.truth, _up_to(self.truth, self.job, dict(self.job.around.joints)[name])
        seen = self._measured()
        self.truth = whole
        self._report(Tested(seen, of=asked))

    def _lead(self) -> Reading:
        """Return what the tester sees of a good lead in both its sockets, of which one may be bad."""
        lead_open, self.lead_open = self.lead_open, ""
        seen = super()._lead()
        self.lead_open = lead_open
        return seen

    def _crimp(self, end: str, holds: tuple[str | None, ...], same: bool = False) -> None:
        super()._crimp(end, holds, same)
        self.shaky.pop(end, None)


def _faults(truth: Truth) -> list[float]:
    """Return where the faults of a run are, metres from near."""
    run = truth.run
    found = [at for _, at in run.broken] + [at for _, at, _ in run.poor] + [at for _, _, at in run.crushed]
    return [*found, run.length_m / 2] if run.screen_broken else found


def _up_to(truth: Truth, job: Job, at_m: float) -> Truth:
    """Return the piece of a cable from its near plug to a joint, whose plug holds what the near one was meant to."""
    run = truth.run
    piece = replace(
        run,
        length_m=at_m,
        broken=tuple(one for one in run.broken if one[1] < at_m),
        poor=tuple(one for one in run.poor if one[1] < at_m),
        crushed=tuple(one for one in run.crushed if one[2] < at_m),
        screen_broken=run.screen_broken and run.length_m / 2 < at_m,
    )
    meant = job.truth.near.meant
    return Truth(truth.near, Plug(truth.near.kind, meant, meant, clamped=run.screened), piece, truth.screen_asked)
