"""What is said of a cable whose colours were read and that nobody measured: what was seen, what to read or do next."""

from collections.abc import Mapping, Sequence

from wiremap.cable.colours import ColourSet
from wiremap.contact import ENDS, Contact, End
from wiremap.judge.case import Case, read_in_plugs
from wiremap.reading.reading import Reading
from wiremap.report.words.faults import CAUSES, Ends, capital, contacts_named, finding_sentence, listed, nothing_arrives

RIGHT = "By their colours all conductors sit where {expect} wants them."
NOTHING_WRONG = "Nothing is wrong with it as {expect}, as far as its colours were read."
OTHER_CABLE = "By its colours this is a {other} cable, but {expect} was asked for."
NONE_COMMON = "No conductor that was read at the {near} end was read at the {far} end."
MEASURE = "Measure it before you rely on it: colours show no open, no short and no break inside the cable."
SERVES = "It has all that {expect} wants, and more. " + MEASURE
NO_CONDUCTOR = "See whether the cable has a conductor for {contacts}: if so re-terminate both plugs, else replace it."
AGAIN = "Look again at both plugs; nothing read in one was read in the other."


def sentences_by_eye(case: Case, ends: Ends) -> tuple[str, ...]:
    """Return what is wrong by the colours, conductors seen in one plug only first; the first sentence stands alone."""
    diagnosis, lone = case.diagnosis, _in_one_plug(case, ends)
    words = {"expect": diagnosis.expect or "any pattern", "near": ends.near, "far": ends.far}
    if not diagnosis.findings:
        first = RIGHT if diagnosis.verdict == "pass" else NOTHING_WRONG
        return (first.format(**words), *lone)
    if nothing_arrives(diagnosis, case.pattern):
        return (NONE_COMMON.format(**words),)
    if diagnosis.expect is not None and diagnosis.nearest is not None and diagnosis.nearest.away == 0:
        return (OTHER_CABLE.format(other=diagnosis.nearest.pattern, **words), *lone)
    if diagnosis.cause in CAUSES:
        return (CAUSES[diagnosis.cause], *lone)
    others = [finding for finding in diagnosis.findings if finding.fault != "open"]
    return (*lone, *_empty(case, ends), *(finding_sentence(finding, ends, case.pattern) for finding in others))


def next_by_eye(case: Case, ends: Ends, serves: bool) -> str | None:
    """Return what to do where the colours call for something else than a measurement would; None: they do not.

    serves: whether the cable is another pattern that does as well.
    """
    found = case.diagnosis.findings
    if nothing_arrives(case.diagnosis, case.pattern):
        return AGAIN
    if "continuity" in {item.what for item in case.diagnosis.not_checked}:
        return _read_on(case, ends)
    if serves:
        return SERVES.format(expect=case.diagnosis.expect)
    if not found:
        return MEASURE if case.diagnosis.verdict == "pass" else None
    if all(finding.fault == "open" and finding.end is None for finding in found) and not any(_alone(case.reading)):
        empty = tuple(name for finding in found for name in finding.near or finding.far)
        return NO_CONDUCTOR.format(contacts=contacts_named(empty, empty, ends))
    return None


def _read_on(case: Case, ends: Ends) -> str:
    """Return which contacts are still to be read, and how what looks alike is told apart."""
    near, far = read_in_plugs(case)
    unread = contacts_named(_unread(case.reading.near_contacts, near), _unread(case.reading.far_contacts, far), ends)
    steps = [f"Read {unread} too (--near-colours, --far-colours; - where it is empty)." if unread else ""]
    looks = _alike(case)
    if looks:
        mate = _a_mate(case.colours, looks[0]) if case.colours else None
        follow = (
            "follow each to the colour it is twisted with, in both plugs "
            f'(--near-colours "1={looks[0]} with {mate}", and so on).'
        )
        steps.append(f"{capital(listed(looks))} conductors look alike: {follow if mate else 'measure them.'}")
    return " ".join(step for step in steps if step)


def _unread(plug: Sequence[str], read: Mapping[str, str]) -> list[str]:
    return [contact for contact in plug if contact not in read]


def _alike(case: Case) -> list[str]:
    """Return what was read and could be several conductors, each once."""
    known = {contact for group in case.reading.twisted for contact in group}
    near, far = read_in_plugs(case)
    words = [(Contact("near", at), word) for at, word in near.items()]
    words += [(Contact("far", at), word) for at, word in far.items()]
    return list(dict.fromkeys(word for contact, word in words if word and contact not in known))


def _a_mate(colours: ColourSet, looks: str) -> str | None:
    """Return the looks of a conductor that one with these looks is twisted with, None where none is."""
    mates = (mate for name in colours.names if colours.colour(name).looks == looks for mate in colours.mates(name))
    return next((colours.colour(mate).looks for mate in mates), None)


def _in_one_plug(case: Case, ends: Ends) -> list[str]:
    """Return of each plug which conductors were read in it and nowhere in the other one."""
    said = []
    for end, alone, read in zip(ENDS, _alone(case.reading), read_in_plugs(case), strict=True):
        if alone:
            here, there = (ends.near, ends.far) if end == "near" else (ends.far, ends.near)
            names = listed(read.get(contact.name, "a conductor") for contact in alone)
            places = f"{here} {listed(contact.name for contact in alone)}"
            verb = "sits" if len(alone) == 1 else "sit"
            said.append(
                f"{capital(names)} ({places}) {verb} nowhere in the plug at the {there} end: cut off there, or misread."
            )
    return said


def _alone(reading: Reading) -> tuple[tuple[Contact, ...], tuple[Contact, ...]]:
    """Return the contacts, near and far, that hold a conductor which sits nowhere in the other plug; () where none."""
    holding = [contact for group in reading.twisted for contact in group]
    count = len(reading.near_contacts)
    found: dict[End, list[Contact]] = {"near": [], "far": []}
    for contact in reading.contacts:
        row = reading.resistance_ohm[reading.contacts.index(contact)]
        if contact in holding and all(
            cell == "open" for cell in (row[count:] if contact.end == "near" else row[:count])
        ):
            found[contact.end].append(contact)
    return tuple(found["near"]), tuple(found["far"])


def _empty(case: Case, ends: Ends) -> list[str]:
    """Return which contacts that should hold a conductor hold none."""
    lone = {contact for alone in _alone(case.reading) for contact in alone}
    opens = [finding for finding in case.diagnosis.findings if finding.fault == "open"]
    near = [name for one in opens for name in one.near if Contact("near", name) not in lone]
    far = [name for one in opens for name in one.far if Contact("far", name) not in lone]
    if not near and not far:
        return []
    both = " in both plugs" if near == far else ""
    single = len(near) == 1 if both else len(near) + len(far) == 1
    return [f"{capital(contacts_named(near, far, ends))} {'is' if single else 'are'} empty{both}."]
