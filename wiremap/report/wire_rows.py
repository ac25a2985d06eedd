"""The wire map as rows, one a conductor: near contact, colour, far contact, what is wrong with it."""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from wiremap.cable.colours import Colour, ColourSet
from wiremap.cable.patterns import Pattern
from wiremap.contact import Contact
from wiremap.errors import UsageError
from wiremap.judge.case import Case, colours_read, near_holds, read_in_plugs
from wiremap.judge.findings import MISPLACED, ONE_OF, Finding
from wiremap.judge.verdict import Diagnosis
from wiremap.report.words.cases import ends_of
from wiremap.report.words.faults import Ends, amount_found, listed
from wiremap.report.words.terminators import terminators_note

NOT_ASKED = "not asked for"


MOST_NAMED = 4  # contacts that one line of the wire map names; of more it says how many


class Row(Struct, frozen=True):
    """One conductor as it is.

    near: its contact at the near end, None for contacts of the far end that nothing arrives at. said: its colour
    by name, "" where nobody knows. colour: the same to be drawn, None for the screen and where nobody knows.
    far: the far contacts it reaches, or the near ones ("near 3") in a plug that joins its own contacts.
    notes: what is wrong, empty when nothing is. measured: whether anything was measured between this contact and
    others; where not, an empty `far` says nothing.
    """

    near: str | None
    said: str
    colour: Colour | None
    far: tuple[str, ...]
    notes: tuple[str, ...]
    measured: bool = True


def wire_rows(case: Case) -> tuple[Row, ...]:
    """Return the rows: near contacts in the plug's order, the screen last, then far contacts that nothing arrives at.

    Contacts that the pattern does not use and that reach nothing are left out. UsageError when the near order names
    a conductor that the colours do not have.
    """
    held, read = near_holds(case), read_in_plugs(case)[0] if colours_read(case) else {}
    diagnosis, pattern, ends = case.diagnosis, case.pattern, ends_of(case)
    near_contacts, far_contacts, measured = _laid_out(case)
    nets = case.laid.joined_contacts if case.laid and pattern else ()
    net_of = {contact: net for net in nets for contact in net}
    route = dict(pattern.conductors) if pattern else {}
    joined_here = {contact for _, group in (pattern.joins if pattern else ()) for contact in group}
    rows = []
    shown: set[str] = set()
    for name in _screen_last(near_contacts, ends.near_screen):
        net = net_of.get(Contact("near", name), frozenset())
        far = tuple(other for other in far_contacts if Contact("far", other) in net)
        notes = _notes(Contact("near", name), diagnosis, pattern, ends)
        if not far and len(net_of.get(Contact("far", route.get(name, "")), ())) == 1:
            shown.add(route[name])
        shown.update(far)
        if name in joined_here:
            others = (other for other in near_contacts if other != name and Contact("near", other) in net)
            far += tuple(f"{ends.near} {other}" for other in others)
        idle = pattern is not None and name not in route and name not in joined_here and name != ends.near_screen
        if far or notes or not idle:
            said, colour = _colour(name, ends, held, case.colours)
            if not said and case.colours and read.get(name):  # one of several that look alike
                said = read[name]
                colour = next((one for one in case.colours.conductors if one.looks == said), None)
            rows.append(Row(name, said, colour, far, notes, measured[name]))
    lost: dict[tuple[str, ...], list[str]] = {}
    for name in far_contacts if case.shown.far == "tester" else ():
        notes = _notes(Contact("far", name), diagnosis, pattern, ends)
        if name not in shown and (notes or name in route.values()):
            lost.setdefault(notes, []).append(name)
    rows.extend(Row(None, "", None, tuple(names), notes) for notes, names in lost.items())
    return tuple(rows)


def _laid_out(case: Case) -> tuple[tuple[str, ...], tuple[str, ...], dict[str, bool]]:
    """Return near and far contacts in order, and which near ones were measured, as `Row.measured` says.

    Measured is against far contacts, or others where there are none: against any, by eye against all.
    """
    near, far = case.shown.near_contacts, case.shown.far_contacts
    rows: Sequence[Sequence[object]] = case.shown.resistance_ohm
    if case.laid is not None:
        layout = case.laid.layout
        near, far, rows = layout.near(layout.near_places), layout.far(layout.far_places), case.laid.rows
    enough = all if case.shown.origin == "eyes" else any
    against = slice(len(near), None) if far else slice(len(near))
    return near, far, {name: enough(cell is not None for cell in rows[i][against]) for i, name in enumerate(near)}


def _screen_last(contacts: tuple[str, ...], screen: str | None) -> list[str]:
    return sorted(contacts, key=lambda name: name == screen)


def _colour(name: str, ends: Ends, held: Mapping[str, str], colours: ColourSet | None) -> tuple[str, Colour | None]:
    if colours is None:
        return "", None
    if name == ends.near_screen:
        return colours.screen, None
    conductor = held.get(name)
    if conductor is None:
        return "", None
    if conductor not in colours.names:
        raise UsageError(
            f"the near plug has a conductor '{conductor}', which the colours '{colours.name}' have not",
            f"Give --near-order a termination file that names {', '.join(colours.names)}.",
        )
    return colours.said(conductor), colours.colour(conductor)


def _notes(contact: Contact, diagnosis: Diagnosis, pattern: Pattern | None, ends: Ends) -> tuple[str, ...]:
    end, name = contact.end, contact.name
    concerned = [f for f in diagnosis.findings if name in (f.near if end == "near" else f.far)]
    if end == "far":  # what is misplaced is said beside the near contact it comes from
        concerned = [f for f in concerned if f.fault not in MISPLACED]
    seen = diagnosis.terminators
    return tuple(
        dict.fromkeys(
            terminators_note(finding, seen, (ends.near, ends.far))
            if finding.fault == "terminators"
            else _note(finding, end, name, pattern, ends)
            for finding in concerned
        )
    )


def _note(finding: Finding, end: str, name: str, pattern: Pattern | None, ends: Ends) -> str:
    found = amount_found(finding)
    measured = f"{found}, " if found else ""
    match finding.fault:
        case "reversed-pair" | "crossed-pairs" | "miswire":
            wanted = dict(pattern.conductors).get(name) if pattern else None
            return f"belongs at {wanted}" if wanted else "should be empty"
        case "open":
            place = ends.at(finding.end)
            which = listed(finding.near or finding.far, "or") + " " if finding.detail == ONE_OF else ""
            return f"{which}open {place}".rstrip() + (f", {finding.at_m:.1f} m in" if finding.at_m is not None else "")
        case "leakage" if finding.unit == "V":
            return f"{measured}of its own"
        case "short" | "screen-short" | "leakage":
            return _touching(finding, end, name, ends, measured)
        case "split-pair":
            return "split pair"
        case "split-section":
            return f"{measured}split"
        case "high-resistance":
            return f"{measured}too much"
        case "resistance-unbalance":
            return f"{measured}unbalanced pair"
        case "screen-open":
            return f"open {ends.at(finding.end)}".rstrip()
        case "foreign-voltage":
            return f"{measured}not from the tester"
        case "equipment-attached":
            return "equipment attached"
        case "contact-film":
            return "film on the contact"
        case "conductor-metal":
            return f"{measured}thin or not copper"
        case "intermittent":
            return "comes and goes"
        case _:
            return finding.fault.replace("-", " ")


def _touching(finding: Finding, end: str, name: str, ends: Ends, measured: str) -> str:
    """Return what a contact is shorted to or leaks into: the others of its end, else those of the other end."""
    here = [other for other in (finding.near if end == "near" else finding.far) if other != name]
    there = [other for other in (finding.far if end == "near" else finding.near) if other != name]
    other_name = ends.far if end == "near" else ends.near
    screens = (ends.near_screen, ends.far_screen)
    others = ["screen" if other in screens else other for other in here]
    others = others or [f"{other_name} {'screen' if other in screens else other}" for other in there]
    if not others:
        return "shorted"
    named = listed(others) if len(others) <= MOST_NAMED else f"{len(others)} others"
    return f"{measured}leaks to {named}" if finding.fault == "leakage" else f"shorted to {named}"


def colour_heading(case: Case) -> str:
    """Return what stands over the colours: the termination they follow from, and whether somebody said so."""
    if colours_read(case):
        return "colour, as read"
    if case.order is None:
        return ""
    return f"colour ({case.order.name})" if case.requirements.near_order else f"colour, if {case.order.name}"


def row_words(row: Row, case: Case) -> tuple[str, str, str, str]:
    """Return a row of the wire map in words: near contact, colour, far contacts, what there is to say of it."""
    if row.near is None:
        return "-", "", ", ".join(row.far), "; ".join(row.notes) or "nothing arrives"
    unchecked = {item.what for item in case.diagnosis.not_checked}
    if row.notes:
        note = "; ".join(row.notes)
    elif row.near == ends_of(case).near_screen:
        note = NOT_ASKED if "screen" in unchecked else "ok"
    else:
        note = "ok" if case.diagnosis.expect and "continuity" not in unchecked else _seen(row.near, case)
    return row.near, row.said, ", ".join(row.far) or ("-" if row.measured else "?"), note


def _seen(near: str, case: Case) -> str:
    """Return what was seen of a contact whose far end was not: "" where nothing was."""
    unchecked = {item.what for item in case.diagnosis.not_checked}
    for loop in case.diagnosis.loops:
        if near in loop.pair and loop.ohm is not None:
            return f"gets through, loop {loop.ohm:.2f} ohm"
    return "touches no other" if case.reading.far == "open" and "shorts" not in unchecked else ""
