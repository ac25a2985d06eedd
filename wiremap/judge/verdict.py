"""The verdict: a Reading judged against a Pattern, with everything that is said of the cable."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from wiremap.cable.limits import Limits, limits
from wiremap.cable.patterns import Pattern, ScreenRule
from wiremap.cable.patterns import pattern as pattern_named
from wiremap.errors import UsageError
from wiremap.judge.findings import CHECKS, MISPLACED, Check, Fault, Finding, NotChecked, Verdict
from wiremap.judge.measurements import KindSeen, Length, Measured, Pairing, nothing_measured
from wiremap.judge.run.length.specified import WantedLength, wrong_length
from wiremap.judge.wiring.by_eye import not_twisted, only_looked_at
from wiremap.judge.wiring.continuity import wiring
from wiremap.judge.wiring.examined import examine, foreign_check
from wiremap.judge.wiring.laid_reading import LaidReading, laid_as, lay_reading
from wiremap.judge.wiring.layout import lay_near_plug
from wiremap.judge.wiring.nearest import Nearest, away, can_be_met, candidates, distance, explain
from wiremap.judge.wiring.setup import SetUp, arriving, seen_setup
from wiremap.judge.wiring.terminators import Terminators, check_wanted

if TYPE_CHECKING:
    from wiremap.cable.kinds import Kind
    from wiremap.judge.wiring.far_end import Loop
    from wiremap.judge.wiring.remote import RemoteSeen
    from wiremap.reading.reading import Reading

FORMAT = 1
JUDGING = 2  # raised once with every release that judges any reading otherwise than the one before it
NOTHING_ELSE_IS_SURE: tuple[Fault, ...] = ("foreign-voltage", "equipment-attached")
SEEING = ("CAP", "ECHO", "TRACE")
WITHOUT_A_SETUP: tuple[Check, ...] = ("foreign-voltage", "intermittent")
NEAR_ONLY = ("remote", "joined", "equipment")


class Options(Struct, frozen=True):
    """What else the judge is told.

    screen: None = the pattern's own rule. require: checks that must be made. length: how long it was to be, None =
    nobody said. terminators: how many a bus must have, None = as many as its pattern allows. kind: of cable, None =
    nobody named one.
    """

    screen: ScreenRule | None = None
    require: tuple[str, ...] = ()
    limits: Limits = field(default_factory=limits)
    length: WantedLength | None = None
    terminators: int | None = None
    kind: "Kind | None" = None

    def __post_init__(self) -> None:
        """Refuse a check that does not exist, and a number of terminators that no bus has."""
        for word in self.require:
            if word not in CHECKS:
                raise UsageError(f"there is no check '{word}'", "Known: " + ", ".join(CHECKS) + ".")
        check_wanted(self.terminators, None)


class Diagnosis(Struct, frozen=True):
    """What is said of a cable.

    expect: the pattern it was judged against, None = none was given; findings are then against the nearest one.
    nearest: given when none was, or when the cable is another known pattern. cause: the one mistake that
    explains the findings together, as a word that wording knows. pairs: which conductors are twisted together over
    the whole run, None = not seen. lengths: of each pair and, last, of the cable, by each method and fused.
    kind: of cable, as far as measurements tell one, None = they do not. terminators: of a bus, None where it is none
    or they were not measured.
    remote: what a remote at the far end shows. loops: of each pair, with the far plug in equipment or in a plug that
    joins all. setup: what the set-up seems to be, None = as was said, or nothing shows that it is not.
    """

    verdict: Verdict
    expect: str | None
    nearest: Nearest | None
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    cause: str | None = None
    pairs: Pairing | None = None
    lengths: tuple[Length, ...] = ()
    remote: "RemoteSeen | None" = None
    loops: "tuple[Loop, ...]" = ()
    terminators: Terminators | None = None
    setup: SetUp | None = None
    kind: KindSeen | None = None


class Judged(Struct, frozen=True, eq=False):
    """A diagnosis, and its reading laid out as it was judged: through a remote as with both plugs in the tester.

    laid: None where no pattern fits, so that there is none to lay it out on.
    """

    diagnosis: Diagnosis
    laid: LaidReading | None


def judge(reading: "Reading", pattern: Pattern | None = None, options: Options | None = None) -> Diagnosis:
    """Return what is to be said of a cable; UsageError when the reading's contacts do not fit the pattern.

    pattern None: nothing is expected, and the verdict is never "pass".
    """
    return judged(reading, pattern, options).diagnosis


def judged(reading: "Reading", pattern: Pattern | None = None, options: Options | None = None) -> Judged:
    """Judge as `judge` does, and keep the reading as it was laid out."""
    rules = options or Options()
    if pattern is None:
        found = _without_expectation(reading, rules)
    else:
        check_wanted(rules.terminators, pattern)
        found = _against(reading, pattern, rules)
    known = pattern or _likely(reading, found.diagnosis)
    if found.diagnosis.verdict == "pass" or known is None:
        return found
    near = laid_as(reading, lay_near_plug(known, reading.near_contacts, reading.far_contacts), rules.limits)
    setup = seen_setup(near, pattern is not None)
    return found if setup is None else replace(found, diagnosis=replace(found.diagnosis, setup=setup))


def _likely(reading: "Reading", found: Diagnosis) -> Pattern | None:
    """Return the pattern that may be meant where none was expected, None = none has such contacts."""
    if found.nearest is not None:
        return pattern_named(found.nearest.pattern)
    layouts = candidates(reading.near_contacts, reading.far_contacts)
    return layouts[0].pattern if layouts else None


def _against(reading: "Reading", pattern: Pattern, rules: Options) -> Judged:
    """Judge against the pattern that is expected."""
    if reading.far != "tester":
        near = laid_as(reading, lay_near_plug(pattern, reading.near_contacts, reading.far_contacts), rules.limits)
        if arriving(near):
            made_all_the_same = WITHOUT_A_SETUP if pattern.terminators else (*WITHOUT_A_SETUP, "terminators")
            not_as_said = tuple(NotChecked(check, "set-up") for check in CHECKS if check not in made_all_the_same)
            unsaid = (*not_as_said, *foreign_check(reading))
            return Judged(Diagnosis("undecided", pattern.name, None, (), unsaid), near)
    if reading.far in NEAR_ONLY and pattern.far_connector and not reading.foreign and _anything_measured(reading):
        return _from_the_near_end(reading, pattern, rules)
    laid = lay_reading(reading, pattern, rules.limits)
    seen = examine(laid, rules.screen or pattern.screen, rules.terminators)
    nearest, cause = None, None
    whole = all(item.what != "continuity" for item in seen.not_checked)
    if seen.wiring and whole and any(finding.fault in (*MISPLACED, "open") for finding in seen.findings):
        nearest, cause = explain(seen.wiring, laid.layout)
    run = _of_the_run(laid, seen.findings, rules.kind)
    if nearest is not None and _split_as(nearest, run.pairs, reading):
        nearest = None
    findings = (*run.findings, *wrong_length(run.lengths, rules.length))
    not_checked = _not_checked(reading, pattern, rules, (*seen.not_checked, *run.not_checked))
    verdict = _verdict(findings, not_checked, rules)
    diagnosis = Diagnosis(
        verdict,
        pattern.name,
        nearest,
        findings,
        not_checked,
        cause,
        run.pairs,
        run.lengths,
        terminators=seen.terminators,
        kind=run.kind,
    )
    return Judged(diagnosis, laid)


def _split_as(nearest: Nearest, pairs: Pairing | None, reading: "Reading") -> bool:
    """Whether a pair of the pattern that a cable is instead was measured, or seen, not to be twisted together."""
    if not_twisted(reading.twisted, pattern_named(nearest.pattern).near_pairs):
        return True
    if pairs is None or pairs.verdict == "cannot tell":
        return False
    wanted = [set(pair) for pair in pattern_named(nearest.pattern).near_pairs]
    return any(len(pair & set(twisted)) == 1 for pair in wanted for twisted in pairs.pairs)


def _anything_measured(reading: "Reading") -> bool:
    """Whether anything was measured between near contacts; not so where the tester refused."""
    rows = reading.resistance_ohm[: len(reading.near_contacts)]
    return any(cell is not None for number, row in enumerate(rows) for cell in row[:number])


def _from_the_near_end(reading: "Reading", pattern: Pattern, rules: Options) -> Judged:
    """Judge a run whose far plug is in a remote, in a plug that joins all, or in equipment."""
    from wiremap.judge.wiring import far_end

    layout = lay_near_plug(pattern, reading.near_contacts, reading.far_contacts)
    laid = laid_as(reading, layout, rules.limits)
    if reading.far == "remote" and reading.joined_only:  # a remote is told by its ohms
        unsaid = tuple(NotChecked(check, "continuity-only") for check in CHECKS if check not in WITHOUT_A_SETUP)
        return Judged(Diagnosis("undecided", pattern.name, None, (), (*unsaid, *foreign_check(reading))), laid)
    if reading.far == "remote":
        seen = far_end.seen_remote(laid)
        through = _against(far_end.as_both_ends(reading, seen, pattern.far_contacts), pattern, rules)
        found = through.diagnosis
        not_checked = far_end.through_remote(found.not_checked, seen)
        verdict = _verdict(found.findings, not_checked, rules)
        said = replace(found, verdict=verdict, not_checked=not_checked, remote=seen)
        return Judged(said, through.laid)
    shown = (far_end.joined_plug if reading.far == "joined" else far_end.equipment)(laid)
    run = _of_the_run(laid, (), rules.kind) if reading.far == "joined" else None
    lengths = run.lengths if run is not None else ()
    not_checked = tuple(item for item in shown.not_checked if not lengths or item.what != "length")
    not_checked += foreign_check(reading)
    verdict = _verdict(shown.findings, not_checked, rules)
    like = run.kind if run is not None else None
    said = Diagnosis(
        verdict, pattern.name, None, shown.findings, not_checked, lengths=lengths, loops=shown.loops, kind=like
    )
    return Judged(said, laid)


def to_builtins(diagnosis: Diagnosis) -> dict[str, object]:
    """Return a diagnosis as plain dicts, lists and texts, for JSON; what was not made is absent."""
    plain: dict[str, object] = {"format": FORMAT, "verdict": diagnosis.verdict}
    if diagnosis.expect is not None:
        plain["expect"] = diagnosis.expect
    if diagnosis.nearest is not None:
        plain["nearest"] = diagnosis.nearest.to_builtins()
    if diagnosis.cause is not None:
        plain["cause"] = diagnosis.cause
    plain["findings"] = [finding.to_builtins() for finding in diagnosis.findings]
    plain["not_checked"] = [item.to_builtins() for item in diagnosis.not_checked]
    if diagnosis.pairs is not None:
        plain["pairs"] = diagnosis.pairs.to_builtins()
    if diagnosis.lengths:
        plain["lengths"] = [one.to_builtins() for one in diagnosis.lengths]
    if diagnosis.kind is not None:
        plain["kind"] = diagnosis.kind.to_builtins()
    if diagnosis.remote is not None:
        plain["remote"] = diagnosis.remote.to_builtins()
    if diagnosis.terminators is not None:
        plain["terminators"] = diagnosis.terminators.to_builtins()
    if diagnosis.loops:
        plain["loops"] = [loop.to_builtins() for loop in diagnosis.loops]
    if diagnosis.setup is not None:
        plain["setup"] = diagnosis.setup.to_builtins()
    return plain


def _verdict(findings: Sequence[Finding], not_checked: Iterable[NotChecked], rules: Options) -> Verdict:
    if any(finding.fault in NOTHING_ELSE_IS_SURE for finding in findings):
        return "undecided"
    if any(finding.certainty == "confirmed" and finding.fault != "leakage" for finding in findings):
        return "fail"
    if findings or any(item.what in ("continuity", *rules.require) for item in not_checked):
        return "undecided"
    return "pass"


def _not_checked(
    reading: "Reading", pattern: Pattern, rules: Options, found: tuple[NotChecked, ...]
) -> tuple[NotChecked, ...]:
    """Return all that was not checked, with why; of what was only looked at, all but the order."""
    missing = (*found, *_never_made(reading, pattern, rules))
    return only_looked_at(missing) if reading.origin == "eyes" else missing


def _never_made(reading: "Reading", pattern: Pattern, rules: Options) -> tuple[NotChecked, ...]:
    """Return the required checks that this reading or pattern has nothing for, and that nobody else speaks of."""
    nothing_for: dict[Check, bool] = {
        "intermittent": not reading.events,
        "capacitance": reading.capacitance is None,
        "split-pairs": pattern.far_connector is None,
        "length": pattern.far_connector is None,
    }
    return tuple(
        NotChecked(check, "not-measured") for check, so in nothing_for.items() if so and check in rules.require
    )


def _of_the_run(laid: LaidReading, findings: Sequence[Finding], told: "Kind | None") -> Measured:
    """Return pairs and length, which a plug alone does not have."""
    reading = laid.reading
    if laid.layout.pattern.far_connector is None:
        return Measured(None, (), tuple(findings), ())
    if reading.capacitance is None and not reading.echoes and not reading.traces:
        cannot = reading.tester is not None and not {*SEEING} & {*reading.tester.features}
        return nothing_measured(findings, "tester-cannot" if cannot else "not-measured")
    from wiremap.judge.run.examined import measured  # late: a reading of resistances alone has no use for it

    return measured(laid, findings, told)


def _without_expectation(reading: "Reading", rules: Options) -> Judged:
    """Judge against the pattern that fits best.

    When only the order keeps the cable from it, another pattern may be meant: the order is then only likely wrong.
    """
    layouts = candidates(reading.near_contacts, reading.far_contacts)
    if not layouts:
        return Judged(Diagnosis("undecided", None, None, (), (NotChecked("continuity", "no-expectation"),)), None)
    tried = [laid_as(reading, layout, rules.limits) for layout in layouts]
    with_wiring = [(laid, wiring(laid.net, laid.layout)) for laid in tried]
    best, wires = min(with_wiring, key=lambda item: distance(item[1], item[0].layout))
    pattern = best.layout.pattern
    seen = examine(best, rules.screen or pattern.screen, rules.terminators)
    run = _of_the_run(best, seen.findings, rules.kind)
    not_checked = _not_checked(reading, pattern, rules, (*seen.not_checked, *run.not_checked))
    findings = run.findings
    if can_be_met(wires, best.layout):
        findings = tuple(
            replace(finding, certainty="likely") if finding.fault in MISPLACED else finding for finding in findings
        )
    nearest = Nearest(pattern.name, away(wires, best.layout)) if seen.wiring else None
    verdict = _verdict(findings, not_checked, rules)
    said = "undecided" if verdict == "pass" else verdict
    diagnosis = Diagnosis(
        said,
        None,
        nearest,
        findings,
        not_checked,
        None,
        run.pairs,
        run.lengths,
        terminators=seen.terminators,
        kind=run.kind,
    )
    return Judged(diagnosis, best)
