"""What the near end alone shows of a run whose far plug is in a remote, in a plug that joins all, or in equipment.

remote: which contact each conductor reaches, opens and shorts; not resistance, pairs or length. joined: opens, and
each conductor's resistance with its unbalance; not the order, nor shorts. equipment (power off): for each pair
whether the loop through the winding closes; nothing else.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from wiremap.contact import Contact, far_contact, near_contact
from wiremap.judge.findings import Check, Finding, NotChecked, Reason
from wiremap.judge.wiring.electrical import UNBALANCE
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.judge.wiring.remote import RemoteSeen, read_remote
from wiremap.reading.joined import is_joined

if TYPE_CHECKING:
    from wiremap.reading.reading import Ohm, Reading

LOOP = 2  # conductors, out and back, that a far plug which joins all puts between two near contacts
ORDER_CHECKS: tuple[Check, ...] = ("continuity", "shorts", "screen", "split-pairs", "length")


class Loop(Struct, frozen=True):
    """A near pair's loop: out on one conductor, back on the other; ohm None = open.

    unbalance: (Rmax - Rmin) / (Rmax + Rmin) of its conductors, None = not known.
    """

    pair: tuple[str, str]
    ohm: float | None
    unbalance: float | None = None

    def to_builtins(self) -> dict[str, object]:
        """Return the loop as it stands in JSON."""
        unbalance = None if self.unbalance is None else round(self.unbalance, 5)
        return {"pair": list(self.pair), "ohm": self.ohm, "unbalance": unbalance}


class NearOnly(Struct, frozen=True):
    """What a joined plug or equipment shows. loops: of the pairs whose loop has ohms, or is open."""

    loops: tuple[Loop, ...]
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]


def _near_ohms(laid: LaidReading) -> "dict[tuple[str, str], Ohm]":
    """Return what was measured between each two near contacts, by name, both ways round."""
    near, names = laid.layout.near_places, laid.layout.names
    return {(names[a], names[b]): laid.rows[a][b] for a in near for b in near if a != b}


def seen_remote(laid: LaidReading) -> RemoteSeen:
    """Return what a remote shows in a reading whose far plug is in one."""
    pattern = laid.layout.pattern
    expected = dict(pattern.conductors)
    if pattern.near_screen and pattern.far_screen:
        expected[pattern.near_screen] = pattern.far_screen
    return read_remote(_near_names(laid), pattern.far_contacts, _near_ohms(laid), laid.limits, expected)


def as_both_ends(reading: "Reading", seen: RemoteSeen, far_contacts: tuple[str, ...]) -> "Reading":
    """Return the reading as if both plugs had been in the tester; None where the remote cannot tell."""
    contacts = (*map(near_contact, reading.near_contacts), *map(far_contact, far_contacts))
    net: dict[Contact, int] = {}
    unknown: set[Contact] = set()
    groups: list[tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]] = [(one.near, one.far) for one in seen.nets]
    groups += [(contacts, ((),)) for contacts in seen.silent]
    for number, (near, sets) in enumerate(groups):
        net |= dict.fromkeys(map(near_contact, near), number)
        if len(sets) == 1 and seen.certainty == "exact":
            net |= dict.fromkeys(map(far_contact, sets[0]), number)
        else:
            unknown |= set(map(near_contact, near))
    if seen.certainty != "exact":
        unknown |= set(map(far_contact, far_contacts))

    def between(a: Contact, b: Contact) -> "Ohm":
        if a == b:
            return 0.0
        if a in net and net[a] == net.get(b):
            return "joined"
        if a.end == b.end == "near":
            return "open"
        return None if a in unknown or b in unknown else "open"

    rows = tuple(tuple(between(a, b) for b in contacts) for a in contacts)
    return replace(
        reading,
        far="tester",
        far_contacts=far_contacts,
        resistance_ohm=rows,
        low_level_ohm=None,
        calibration=None,  # of the tester's far contacts, which these are not
        capacitance=None,
        echoes=(),
        traces=(),
        events=tuple(event for event in reading.events if {event.a, event.b} <= set(contacts)),
    )


def through_remote(not_checked: Iterable[NotChecked], seen: RemoteSeen) -> tuple[NotChecked, ...]:
    """Return what was not checked, said with the reason that belongs to a remote."""
    said: dict[NotChecked, None] = {}
    for item in not_checked:
        why: Reason = "remote-unsure" if item.what in ("continuity", "shorts") else "far-remote"
        said[replace(item, why=item.why if item.what == "foreign-voltage" else why)] = None
    if seen.certainty != "exact":
        said[NotChecked("continuity", "remote-unsure")] = None
    return tuple(said)


def _near_names(laid: LaidReading) -> tuple[str, ...]:
    return laid.layout.near(laid.layout.near_places)


def joined_conductor_ohms(laid: LaidReading) -> dict[str, float]:
    """Return each near contact's conductor to a far plug that joins all, ohms; empty with fewer than three.

    Near contacts i and j show a_i + a_j; from three on each follows, by least squares.
    """
    ohm, names = _near_ohms(laid), _near_names(laid)
    most_ohm = LOOP * laid.limits.joined_ohm
    alive = [
        contact
        for contact in names
        if any(is_joined(ohm[contact, other], most_ohm) for other in names if other != contact)
    ]
    count = len(alive)
    loops = {(a, b): ohm[a, b] for a in alive for b in alive if a != b}
    if count < 3 or not all(is_joined(value, most_ohm) and value != "joined" for value in loops.values()):
        return {}
    rows = {a: sum(_number(loops[a, b]) for b in alive if b != a) for a in alive}
    total = sum(rows.values()) / 2 / (count - 1)
    return {contact: max(0.0, (row - total) / (count - 2)) for contact, row in rows.items()}


def _number(value: "Ohm") -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def joined_plug(laid: LaidReading) -> NearOnly:
    """Return opens, loops and unbalance of a run whose far plug joins all its contacts."""
    pattern, limits = laid.layout.pattern, laid.limits
    ohm = _near_ohms(laid)
    single = joined_conductor_ohms(laid)
    loops, findings = [], []
    not_checked: dict[NotChecked, None] = {NotChecked(check, "far-joined"): None for check in ORDER_CHECKS}
    if laid.reading.joined_only:
        not_checked[NotChecked("leakage", "continuity-only")] = None
    most_ohm = LOOP * limits.joined_ohm
    used = [near for near, _ in pattern.conductors]
    opened = [
        near for near in used if not any(is_joined(ohm[near, other], most_ohm) for other in used if other != near)
    ]
    findings += [Finding("open", (near,), ()) for near in opened]
    for plus, minus in pattern.near_pairs:
        if plus not in used or minus not in used:
            continue
        value = ohm[plus, minus]
        if not is_joined(value, most_ohm):
            loops.append(Loop((plus, minus), None))
            continue
        if value == "joined":
            not_checked[NotChecked("resistance-unbalance", "continuity-only")] = None
            continue
        ends = (single.get(plus), single.get(minus))
        if ends[0] is None or ends[1] is None:
            loops.append(Loop((plus, minus), _number(value)))
            not_checked[NotChecked("resistance-unbalance", "not-measured")] = None
            continue
        low, high = sorted((ends[0], ends[1]))
        loops.append(Loop((plus, minus), _number(value), (high - low) / (high + low) if high else 0.0))
        limit = max(limits.unbalance_ratio * (low + high), limits.unbalance_floor_ohm)
        if limit < limits.unbalance_resolutions * laid.step_ohm:
            not_checked[NotChecked("resistance-unbalance", "resolution")] = None
        elif high - low > limit:
            unbalanced = Finding(
                "resistance-unbalance",
                (plus, minus),
                (),
                None,
                value=high - low,
                limit=limit,
                unit="ohm",
                detail=UNBALANCE,
            )
            findings.append(unbalanced)
    return NearOnly(tuple(loops), tuple(findings), tuple(not_checked))


def equipment(laid: LaidReading) -> NearOnly:
    """Return for each pair whether its loop closes through the winding of equipment that is switched off.

    A pair that does not is only likely broken: equipment need not have a winding on every pair.
    """
    pattern = laid.layout.pattern
    ohm = _near_ohms(laid)
    loops, findings = [], []
    used = {near for near, _ in pattern.conductors}
    for plus, minus in pattern.near_pairs:
        if plus in used and minus in used:
            value = ohm[plus, minus]
            closed = is_joined(value, laid.limits.equipment_loop_ohm)
            if value != "joined":
                loops.append(Loop((plus, minus), _number(value) if closed else None))
            if not closed:
                findings.append(Finding("open", (plus, minus), (), certainty="likely"))
    checks: tuple[Check, ...] = (*ORDER_CHECKS, "resistance-unbalance")
    not_checked = [NotChecked(check, "far-equipment") for check in checks]
    if laid.reading.joined_only:
        not_checked.append(NotChecked("leakage", "continuity-only"))
    return NearOnly(tuple(loops), tuple(findings), tuple(not_checked))
