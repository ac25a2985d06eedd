"""Which of the things that were said of the plugs cannot be, in words: shown where no order of them agrees."""

from itertools import combinations

from wiremap.cable.colours import ColourSet
from wiremap.cable.mistakes import EMPTY
from wiremap.contact import End
from wiremap.judge.plugs.evidence import Evidence, Reads, seen_as


def contradiction(evidence: Evidence, colours: ColourSet, conductors: tuple[str, ...]) -> str:
    """Return the first two things that contradict each other, as "near 4 was seen as blue and far 4 as brown, ...".

    conductors: names of those in the cable. "" where no two of them do, but only all of them together.
    """
    found = (
        _empty_and_joined(evidence)
        or _twice("near", evidence.near_reads, colours, conductors)
        or _twice("far", evidence.far_reads, colours, conductors)
        or _along_a_conductor(evidence, colours, conductors)
    )
    if not found and evidence.sound:
        ends = " and ".join(evidence.sound)
        return f"with the {ends} plug as intended no order of the other, or of what was seen, gives what was measured"
    return found


def _empty_and_joined(evidence: Evidence) -> str:
    sides: tuple[tuple[End, Reads, int], ...] = (("near", evidence.near_reads, 0), ("far", evidence.far_reads, 1))
    for end, reads, side in sides:
        for contact, word in reads:
            if word == EMPTY:
                for route in evidence.routes:
                    if route[side] == contact:
                        return f"{end} {contact} was seen as empty, yet near {route[0]} is joined to far {route[1]}"
                for group in evidence.groups:
                    if contact in group[side] and group[1 - side] and _all_empty(group[side], reads):
                        other = "far" if end == "near" else "near"
                        named = ", ".join(group[1 - side])
                        return f"{end} {contact} was seen as empty, yet it is joined to {other} {named}"
    return ""


def _all_empty(contacts: tuple[str, ...], reads: Reads) -> bool:
    return all(dict(reads).get(contact) == EMPTY for contact in contacts)


def _twice(end: End, reads: Reads, colours: ColourSet, conductors: tuple[str, ...]) -> str:
    for (one, word), (other, again) in combinations([read for read in reads if read[1] != EMPTY], 2):
        seen = seen_as(colours, word, conductors)
        if len(seen) == 1 and seen == seen_as(colours, again, conductors):
            return f"{end} {one} and {end} {other} were both seen as {word}, of which the cable has one"
    return ""


def _along_a_conductor(evidence: Evidence, colours: ColourSet, conductors: tuple[str, ...]) -> str:
    near, far = dict(evidence.near_reads), dict(evidence.far_reads)
    leads = dict(evidence.routes)
    for here, word in near.items():
        for there, other in far.items():
            if EMPTY in (word, other):
                continue
            ours, theirs = seen_as(colours, word, conductors), seen_as(colours, other, conductors)
            one = f"near {here} was seen as {word} and far {there} as {other}"
            if leads.get(here) == there and not ours & theirs:
                return f"{one}, yet one conductor joins them"
            elsewhere = here in leads and leads[here] != there
            if elsewhere and len(ours) == 1 and ours == theirs:
                return f"{one}, yet near {here} is joined to far {leads[here]}"
    return ""
