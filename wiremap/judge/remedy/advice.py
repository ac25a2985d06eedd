"""What follows from a diagnosis: which end, what is in the plugs, what to do, what would run on the cable as it is."""

from typing import TYPE_CHECKING, Any

from msgspec import Struct

from wiremap.cable.colours import ColourSet, colour_set
from wiremap.cable.patterns import Pattern
from wiremap.cable.patterns import pattern as pattern_named
from wiremap.cable.terminations import usual_for
from wiremap.errors import UsageError
from wiremap.judge.findings import MISPLACED, ONE_OF, Finding
from wiremap.judge.remedy.knowledge import Knowledge
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.laid_reading import LaidReading

if TYPE_CHECKING:
    from wiremap.cable.kinds import Kind
    from wiremap.judge.plugs.evidence import Evidence
    from wiremap.judge.plugs.found import AsBuilt
    from wiremap.judge.remedy.repair import Repair
    from wiremap.judge.remedy.service import Service

NamePairs = tuple[tuple[str, str], ...]
Nets = list[tuple[tuple[str, ...], tuple[str, ...]]]


class Advice(Struct, frozen=True):
    """What follows from a diagnosis. as_built None: nothing is wrong, or it cannot be told; repair None likewise.

    serves: all that is wanted is right, and what there is beside it endangers nothing.
    """

    as_built: "AsBuilt | None" = None
    repair: "Repair | None" = None
    services: "tuple[Service, ...]" = ()
    serves: bool = False

    def to_builtins(self) -> dict[str, Any]:
        """Return what stands in JSON beside the diagnosis; what was not made is absent."""
        plain: dict[str, Any] = {}
        if self.as_built is not None:
            plain["as_built"] = self.as_built.to_builtins()
            plain["ends"] = self.as_built.ends_to_builtins()
        if self.repair is not None and self.repair.steps:
            plain["repair"] = self.repair.to_builtins()
        if self.services:
            plain["services"] = [service.to_builtins() for service in self.services]
        return plain


def advice_on(
    laid: LaidReading,
    diagnosis: Diagnosis,
    known: Knowledge | None = None,
    colours: ColourSet | None = None,
    kind: "Kind | None" = None,
) -> Advice:
    """Return what follows from a diagnosis of a reading, laid out as it was judged.

    kind: of cable, None = nobody named one; links are then not held against what any is rated for.

    UsageError when what the user read off the plugs does not fit what was measured, unless the run has joints
    that may be the reason.
    """
    known = known or Knowledge()
    reading, pattern = laid.reading, laid.layout.pattern
    unseen = any(item.what == "continuity" for item in diagnosis.not_checked)
    both_ends = reading.far == "tester" and bool(reading.far_contacts) and not unseen
    nets = _nets(laid) if both_ends else []
    services = _services(laid, diagnosis, known, kind) if both_ends else ()
    if not diagnosis.findings:
        return Advice(services=services)
    if not _wanted_wrong(diagnosis, pattern) and all(service.answer != "danger" for service in services):
        return Advice(services=services, serves=True)
    return _mended(pattern, diagnosis, nets, known, colours, services, both_ends, reading.origin == "eyes")


def _wanted_wrong(diagnosis: Diagnosis, pattern: Pattern) -> tuple[Finding, ...]:
    """Return the findings without those of conductors that nothing is wanted of."""
    if diagnosis.expect is None:
        return diagnosis.findings
    near, far = {near for near, _ in pattern.conductors}, {far for _, far in pattern.conductors}
    return tuple(
        finding
        for finding in diagnosis.findings
        if finding.fault not in MISPLACED or near & set(finding.near) or far & set(finding.far)
    )


def _mended(
    pattern: Pattern,
    diagnosis: Diagnosis,
    nets: Nets,
    known: Knowledge,
    colours: ColourSet | None,
    services: "tuple[Service, ...]",
    both_ends: bool,
    by_eye: bool,
) -> Advice:
    from wiremap.judge.plugs.evidence import routes_of
    from wiremap.judge.plugs.found import Effort
    from wiremap.judge.remedy.repair import repair

    usual = usual_for(pattern)
    seen_as = colours or colour_set(usual.colours if usual else "tia")
    routes, groups = routes_of(nets)
    effort = Effort(known.near_minutes, known.far_minutes)
    built, plugs_right = None, False
    twisted: NamePairs = ()
    arrives = bool(routes or groups)
    if both_ends and arrives and pattern.far_connector is not None and _order_matters(diagnosis.findings, known):
        from wiremap.judge.plugs.as_built import as_built

        evidence = _evidence(pattern, diagnosis, routes, groups, known)
        twisted = evidence.pairs
        breaks = tuple(
            finding.end
            for finding in diagnosis.findings
            if finding.fault in ("open", "short", "screen-short") and diagnosis.cause != "shifted-by-one"
        )
        try:
            built = as_built(pattern, seen_as, evidence, _count(pattern, routes, groups), effort, breaks)
        except UsageError:
            if not known.joints and (known.sound or not by_eye):
                raise  # by eye it is no contradiction, but an order that nobody is known to make
            plugs_right = bool(known.joints)
    wrong_kind = diagnosis.expect is not None and diagnosis.nearest is not None and diagnosis.nearest.away == 0
    too_few = wrong_kind and _has_fewer(diagnosis, pattern)
    plan = repair(
        pattern,
        seen_as,
        _wanted_wrong(diagnosis, pattern) or diagnosis.findings,
        built,
        routes,
        wrong_kind,
        known.joints,
        effort,
        plugs_right,
        too_few,
        twisted,
    )
    return Advice(built, plan, services)


def _has_fewer(diagnosis: Diagnosis, wanted: Pattern) -> bool:
    """Whether the pattern that a cable is instead of the one wanted has fewer conductors."""
    return diagnosis.nearest is not None and len(pattern_named(diagnosis.nearest.pattern).conductors) < len(
        wanted.conductors
    )


def _order_matters(findings: tuple[Finding, ...], known: Knowledge) -> bool:
    """Whether it is worth knowing what the plugs hold: not for foreign voltage, equipment or leakage alone."""
    worth = (
        "open",
        "short",
        "miswire",
        "reversed-pair",
        "crossed-pairs",
        "split-pair",
        "high-resistance",
        "screen-short",
    )
    return bool(known.near_colours or known.far_colours) or any(finding.fault in worth for finding in findings)


def _nets(laid: LaidReading) -> Nets:
    """Return the nets of conductors as (near contacts, far contacts), the screens left out."""
    layout = laid.layout
    found: Nets = []
    for group in laid.groups:
        kept = [place for place in group if place not in layout.screens]
        if kept:
            found.append((layout.near(kept), layout.far(kept)))
    return found


def _count(pattern: Pattern, routes: NamePairs, groups: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]) -> int:
    """Return how many conductors the cable has: as many as the pattern wants; where more arrive, all the plug takes."""
    arrive = {near for near, _ in routes} | {contact for near, _ in groups for contact in near}
    wanted = len(pattern.conductors)
    return wanted if len(arrive) <= wanted else len(pattern.near_connector.conductor_contacts)


def _evidence(
    pattern: Pattern,
    diagnosis: Diagnosis,
    routes: NamePairs,
    groups: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...],
    known: Knowledge,
) -> "Evidence":
    from wiremap.judge.plugs.evidence import Evidence, Opened

    pairing = diagnosis.pairs
    pairs: NamePairs = ()
    if pairing is not None and pairing.verdict != "cannot tell":
        pairs = tuple(pair for pair in pairing.pairs if pair not in pairing.by_exclusion)
    opened = []
    for finding in diagnosis.findings:
        if finding.fault == "open" and finding.end is not None and finding.detail != ONE_OF:
            opened += [Opened("near", c, finding.end) for c in finding.near if c != pattern.near_screen]
            opened += [Opened("far", c, finding.end) for c in finding.far if c != pattern.far_screen]
    sure = pairing is not None and pairing.verdict == "confirmed"
    seen = known.near_colours, known.far_colours
    return Evidence(routes, groups, pairs, sure, tuple(opened), *seen, known.sound, known.unread)


def _services(laid: LaidReading, diagnosis: Diagnosis, known: Knowledge, kind: "Kind | None") -> "tuple[Service, ...]":
    pattern = laid.layout.pattern
    if pattern.use != "ethernet" or (diagnosis.remote is not None and diagnosis.remote.certainty != "exact"):
        return ()
    from wiremap.judge.remedy.cable_seen import cable_seen
    from wiremap.judge.remedy.services import services

    cable = cable_seen(laid, diagnosis, kind)
    return services(pattern, cable, known.port_near, known.port_far, known_limits=laid.limits)
