"""Which piece of a run a fault is in, by opening its joints one after the other, each time the one in the middle."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.mend.events import Asked, Mend
from wiremap.bench.mend.known import WAITS, Known
from wiremap.cable.patterns import Pattern, pattern
from wiremap.contact import ENDS, End
from wiremap.errors import WiremapError
from wiremap.judge.case import Case, Requirements, judge_case
from wiremap.judge.findings import MISPLACED, Fault, Finding
from wiremap.judge.remedy.joints import Joint
from wiremap.judge.remedy.knowledge import Statements
from wiremap.reading.reading import Reading

JOINT_MINUTES = 4.0  # to open one and put its plug into the tester; an assumption: longer than a look into a plug
ONE_FAULT: tuple[tuple[Fault, ...], ...] = (
    ("open", "intermittent"),
    ("high-resistance", "resistance-unbalance"),
    ("short", "screen-short"),
    (*MISPLACED, "split-pair", "split-section"),
)


STRAIGHT = {  # what a lead, or a piece of a run, is where the whole is crossed
    "crossover": "straight",
    "crossover-all": "straight",
    "rollover": "straight",
    "t1-crossover": "straight",
    "crossover-2pair": "straight-2pair",
}


class Piece(Struct, frozen=True):
    """A piece of a run that a fault is in. begins, ends: the joints it lies between, None = the near, the far plug.

    next_joint: the one to open now, None = there is none left that would tell more.
    """

    begins: Joint | None = None
    ends: Joint | None = None
    next_joint: Joint | None = None

    @property
    def plugs(self) -> tuple[End, ...]:
        """Return the ends of the cable whose plugs are part of it."""
        near: tuple[End, ...] = ("near",) if self.begins is None else ()
        return (*near, "far") if self.ends is None else near

    @property
    def is_whole(self) -> bool:
        """Whether it is all of the run: nothing is known of where the fault is."""
        return self.begins is None and self.ends is None


def of_joint(joint: Joint) -> Asked:
    """Return what is asked of a joint: to open it, and have the piece before it tested."""
    return Asked("piece", contacts=(joint.name,))


def can_halve(mend: Mend, case: Case) -> bool:
    """Whether pieces of a cable can be tested as it is: in the same sockets, so both plugs must be of one kind."""
    wanted = case.pattern
    alike = wanted is not None and wanted.near_connector == wanted.far_connector
    return mend.live and alike and bool(joints_of(mend)) and case.reading.far == "tester"


def joints_of(mend: Mend) -> tuple[Joint, ...]:
    """Return the joints of the run that were stated, the nearest first."""
    from wiremap.judge.remedy.joints import joint_from

    return tuple(sorted(map(joint_from, mend.wanted.statements.joints), key=lambda joint: joint.at_m))


def piece_of(mend: Mend, known: Known, case: Case, findings: Sequence[Finding]) -> Piece:
    """Return the piece that these faults are in, by where they are measured and by the pieces tested."""
    joints = joints_of(mend)
    low, high = -1, len(joints)
    if not joints:
        return Piece()
    distance = next((one.at_m for one in findings if one.at_m is not None and one.end not in ENDS), None)
    if distance is not None:
        low = max((place for place, joint in enumerate(joints) if joint.at_m < distance), default=-1)
        return Piece(joints[low] if low >= 0 else None, joints[low + 1] if low + 1 < high else None)
    for place, joint in enumerate(joints):
        seen = known.pieces.get(joint.name)
        if seen is None or place >= high:
            continue
        if is_in(case, seen, findings):
            high = place
        else:
            low = place
    left = [joint for joint in joints[low + 1 : high] if known.answers.get(of_joint(joint)) != WAITS]
    left = left if can_halve(mend, case) else []
    begins = joints[low] if low >= 0 else None
    ends = joints[high] if high < len(joints) else None
    return Piece(begins, ends, left[(len(left) - 1) // 2] if left else None)


def may_be_at(piece: Piece, place: str | None) -> bool:
    """Whether a fault in this piece may be at a joint: at one of those it lies between, or at any inside it."""
    ends = [joint.name for joint in (piece.begins, piece.ends) if joint is not None]
    return not ends or place in ends


def is_in(case: Case, seen: Reading, findings: Sequence[Finding]) -> bool:
    """Whether one of these faults of a cable is in a piece of it that begins at the near plug.

    A piece of a crossed cable may be straight: it is held against both, and judged as the one it is nearer to.
    """
    assert case.pattern is not None
    own = case.pattern.name
    return _shows(case, seen, findings, tuple(dict.fromkeys((own, STRAIGHT.get(own, own)))))


def lead_shows(case: Case, seen: Reading, findings: Sequence[Finding]) -> bool:
    """Whether a straight lead in the place of a cable shows one of its faults."""
    assert case.pattern is not None
    return _shows(case, seen, findings, (STRAIGHT.get(case.pattern.name, case.pattern.name),))


def _shows(case: Case, seen: Reading, findings: Sequence[Finding], names: Sequence[str]) -> bool:
    judged = [one for name in names if (one := _judged(case, seen, name)) is not None]
    if not judged or case.pattern is None:
        return False
    wanted, found = min(judged, key=lambda one: len(one[1]))
    whole = case.pattern
    mine = [one for one in findings if not _is_beside(whole, one)]
    others = [one for one in found if not _is_beside(wanted, one)]
    return any(_alike(finding, _near(whole, finding), one, _near(wanted, one)) for finding in mine for one in others)


def _is_beside(wanted: Pattern, finding: Finding) -> bool:
    """Whether it is only that there are more conductors than are wanted, which every piece and every lead may have."""
    return finding.fault in MISPLACED and not _near(wanted, finding) & {near for near, _ in wanted.conductors}


def _judged(case: Case, seen: Reading, name: str) -> tuple[Pattern, tuple[Finding, ...]] | None:
    wanted = case.requirements
    expect = wanted.expect if wanted.expect is not None and wanted.expect.name == name else pattern(name)
    bare = Requirements(expect, wanted.screen, (), None, wanted.colours, Statements())
    try:
        return expect, judge_case(replace(seen, far="tester"), bare).diagnosis.findings
    except WiremapError:
        return None


def _alike(finding: Finding, mine: set[str], other: Finding, others: set[str]) -> bool:
    """Whether two findings, one of the cable and one of its piece, at these near contacts, are one fault."""
    family = next((faults for faults in ONE_FAULT if finding.fault in faults), (finding.fault,))
    if other.fault not in family:
        return False
    return finding.fault in MISPLACED or not mine or bool(mine & others)


def _near(wanted: Pattern, finding: Finding) -> set[str]:
    """Return the near contacts that a fault is at: its own, and those that should reach its far ones."""
    back = {far: near for near, far in wanted.conductors}
    return {*finding.near, *(back.get(far, far) for far in finding.far)}
