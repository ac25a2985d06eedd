"""What is in the plugs now, which end is wrong, and where to look next.

Nothing here claims more than the evidence: a pair exchanged with its mate, or with another pair as a whole,
measures the same whichever plug it is in, and is said to be either end until somebody looks.
"""

import math

import numpy as np
from msgspec.structs import replace

from wiremap.cable.colours import ColourSet
from wiremap.cable.connectors import Connector
from wiremap.cable.habits import Habits, habits
from wiremap.cable.mistakes import EMPTY
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import known_as
from wiremap.contact import End
from wiremap.errors import UsageError
from wiremap.judge.findings import Place
from wiremap.judge.plugs.evidence import Evidence, Reads
from wiremap.judge.plugs.found import AsBuilt, Effort, Holds, LikelyOrder, Look, WrongEnd
from wiremap.judge.plugs.orders import Chances, Places, Rows
from wiremap.judge.plugs.posterior import posterior
from wiremap.judge.plugs.prior import Belief, belief
from wiremap.judge.plugs.question import Posterior

NEGLIGIBLE = 1e-9  # of one order of 40 320: all below it together are less than 5e-5
ORDERS_LISTED = 4
ADDED_UP = 128
MOST_LOOK_MINUTES = 30.0  # what takes longer to open is opened for a repair, not for a look (assumption)


def as_built(
    pattern: Pattern,
    colours: ColourSet,
    evidence: Evidence,
    conductors: int,
    effort: Effort | None = None,
    breaks: tuple[Place | None, ...] = (),
    known_habits: Habits | None = None,
) -> AsBuilt | None:
    """Work out what the plugs of a cable hold.

    conductors: how many the cable has. breaks: where opens and shorts were found to be, None = not known; an end
    with one is at fault whatever its order. Returns None where no usual order is known for such a cable, or it
    has too many open contacts to work out. UsageError when what was read does not fit what was measured.
    """
    believed = belief(pattern, colours, known_habits or habits(), conductors)
    if believed is None:
        return None
    near, used, emptied = _agreeing(believed, colours, evidence)
    if near is None:
        if evidence.near_reads or evidence.far_reads or evidence.sound:
            from wiremap.judge.plugs.contradictions import contradiction

            raise _refused(contradiction(used, colours, believed.conductors))
        return None
    far = _other(near) or posterior(_turned(believed), colours, used.swapped(), together=False)
    if far is None:
        return None
    breaks = (*breaks, *(end for end, _ in emptied))
    if emptied:
        near, far = _without(near, emptied, "near", believed), _without(far, emptied, "far", believed)
    near_most = _most(near.chance)
    far_most = near_most if far.chance is near.chance else _most(far.chance)
    near_orders = _likeliest(near, near_most, believed, "near")
    far_orders = _likeliest(far, far_most, believed, "far")
    near_now, far_now, together = _together(near, near_most, far, believed)
    near_at_fault = 1.0 - near.right * _whole(breaks, "near", believed.habits)
    far_at_fault = 1.0 - far.right * _whole(breaks, "far", believed.habits)
    effort = effort or Effort()
    sure = believed.habits.settled_closed if any(map(_is_closed, effort.minutes)) else believed.habits.settled
    look = None if together >= sure else _next_look(near, far, believed, colours, evidence, effort)
    settled = together >= believed.habits.settled and look is None
    wrong_end = _named(near_at_fault, far_at_fault, believed.habits.named)
    return AsBuilt(
        colours.name, near_at_fault, far_at_fault, wrong_end, near_orders, far_orders, near_now, far_now, settled, look
    )


def _agreeing(
    believed: Belief, colours: ColourSet, evidence: Evidence
) -> tuple[Posterior | None, Evidence, tuple[tuple[End, str], ...]]:
    """Return the near plug's posterior, the evidence that it is of, and the contacts that are empty beside it.

    A conductor may be in neither plug's contact: which one it is, an empty contact does not say. And what was seen
    goes before what capacitance said of the pairs.
    """
    near = posterior(believed, colours, evidence)
    emptied = _emptied(evidence) if near is None else ()
    if emptied:
        evidence = replace(
            evidence,
            near_reads=tuple(read for read in evidence.near_reads if ("near", read[0]) not in emptied),
            far_reads=tuple(read for read in evidence.far_reads if ("far", read[0]) not in emptied),
        )
        near = posterior(believed, colours, evidence)
    if near is None and evidence.pairs and evidence.pairs_sure:
        evidence = replace(evidence, pairs_sure=False)
        near = posterior(believed, colours, evidence)
    return near, evidence, emptied


def _refused(why: str) -> UsageError:
    return UsageError(
        "what was read off the plugs, or declared sound, does not fit what was measured" + (f": {why}" if why else ""),
        "Look again: the contact number, the end and the colour; contact 1 is at the left with the "
        "contacts up and the cable towards you.",
    )


def _emptied(evidence: Evidence) -> tuple[tuple[End, str], ...]:
    """Return the contacts that were seen to be empty and may be: open ones, and those that a strand may have reached.

    Where a short goes from one plug to the other, at least one of its contacts in each has a conductor.
    """
    sides: tuple[tuple[End, Reads], ...] = (("near", evidence.near_reads), ("far", evidence.far_reads))
    found: list[tuple[End, str]] = []
    for side, (end, reads) in enumerate(sides):
        empty = {contact for contact, word in reads if word == EMPTY}
        held = {route[side] for route in evidence.routes}
        for group in evidence.groups:
            if group[1 - side] and set(group[side]) <= empty:
                held |= set(group[side])
        found += [(end, contact) for contact in sorted(empty - held)]
    return tuple(found)


def _without(found: Posterior, emptied: tuple[tuple[End, str], ...], end: End, known: Belief) -> Posterior:
    """Return a posterior with the contacts empty that were seen to be, of this plug and of the other."""

    def emptied_rows(rows: Rows, which: End) -> Rows:
        plug = known.near_plug if which == "near" else known.far_plug
        places = [plug.conductor_contacts.index(contact) for side, contact in emptied if side == which]
        changed = rows.copy()
        changed[:, places] = -1
        return changed

    other: End = "far" if end == "near" else "near"
    likeliest = found.likeliest
    if likeliest is not None:
        ours, theirs = (
            _row(emptied_rows(np.array([row], dtype=np.int8), which)[0])
            for row, which in zip(likeliest[:2], (end, other), strict=True)
        )
        likeliest = (ours, theirs, likeliest[2])
    other_rows = None if found.other_rows is None else emptied_rows(found.other_rows, other)
    return replace(found, rows=emptied_rows(found.rows, end), other_rows=other_rows, likeliest=likeliest)


def _is_closed(minutes: float | None) -> bool:
    """Whether a plug is too hard to open for a look."""
    return minutes is None or minutes > MOST_LOOK_MINUTES


def _named(near: float, far: float, least: float) -> WrongEnd:
    if near >= least and far >= least:
        return "both"
    if near >= least and far < 0.5:
        return "near"
    if far >= least and near < 0.5:
        return "far"
    return "either"


def _whole(breaks: tuple[Place | None, ...], end: End, known: Habits) -> float:
    """Return the chance that none of the breaks is at this end."""
    return math.prod((0.0 if place == end else 1.0) if place else 1.0 - known.place(end) for place in breaks)


def _together(near: Posterior, most: Places, far: Posterior, known: Belief) -> tuple[Holds, Holds, float]:
    """Return the likeliest pair of orders that go together, and its chance; of each plug alone where not determined.

    most: where the near plug's likeliest rows stand.
    """
    if near.other_rows is not None:
        chances: dict[tuple[tuple[int, ...], tuple[int, ...]], float] = {}
        for ours, theirs, chance in zip(
            _as_orders(near.rows[most]), _as_orders(near.other_rows[most]), near.chance[most].tolist(), strict=True
        ):
            chances[ours, theirs] = chances.get((ours, theirs), 0.0) + chance
        (ours, theirs), chance = min(chances.items(), key=lambda item: (-item[1], item[0]))
    elif near.likeliest is not None:
        ours, theirs, chance = near.likeliest
    else:
        places = int(near.chance.argmax()), int(far.chance.argmax())
        ours, theirs = _row(near.rows[places[0]]), _row(far.rows[places[1]])
        chance = float(min(near.chance[places[0]], far.chance[places[1]]))
    contacts = known.near_plug.conductor_contacts, known.far_plug.conductor_contacts
    near_holds, far_holds = (
        tuple(zip(plug, known.names(row), strict=True)) for plug, row in zip(contacts, (ours, theirs), strict=True)
    )
    return near_holds, far_holds, chance


def _row(row: Rows) -> tuple[int, ...]:
    return tuple(row.tolist())


def _as_orders(rows: Rows) -> list[tuple[int, ...]]:
    return list(map(tuple, rows.tolist()))


def _most(chance: Chances) -> Places:
    """Return where the likeliest rows stand, many more than are listed, since an order may stand there repeatedly."""
    some = min(len(chance), ADDED_UP)
    return np.argpartition(-chance, some - 1)[:some]


def _other(near: Posterior) -> Posterior | None:
    """Return the far plug's posterior where each near order goes with exactly one far order."""
    if near.other_rows is None or near.other_right is None:
        return None
    return Posterior(near.other_rows, near.chance, near.other_right, near.rows, near.right)


def _turned(known: Belief) -> Belief:
    return Belief(
        known.habits,
        known.conductors,
        known.far_plug,
        known.near_plug,
        known.intended,
        known.far,
        known.near,
        tuple(tuple((far, near, chance) for near, far, chance in orders) for orders in known.both),
        known.both_shifted,
    )


def _likeliest(found: Posterior, most: Places, known: Belief, end: End) -> tuple[LikelyOrder, ...]:
    chances: dict[tuple[int, ...], float] = {}
    for row, chance in zip(_as_orders(found.rows[most]), found.chance[most].tolist(), strict=True):
        chances[row] = chances.get(row, 0.0) + chance
    best = sorted(chances.items(), key=lambda item: (-item[1], item[0]))[:ORDERS_LISTED]
    return tuple(_described(row, chance, known, end) for row, chance in best if chance > 0.0)


def _described(row: tuple[int, ...], chance: float, known: Belief, end: End) -> LikelyOrder:
    plug = known.near_plug if end == "near" else known.far_plug
    names = known.names(row)
    conductors = tuple(zip(plug.conductor_contacts, names, strict=True))
    plugs = known.near if end == "near" else known.far
    differing = [
        tuple(contact for contact, a, b in zip(plug.conductor_contacts, row, one.intended, strict=True) if a != b)
        for one in plugs
    ]
    nearest = min(range(len(plugs)), key=lambda place: (len(differing[place]), -known.intended[place].weight))
    like = _name_of(plug, known.names(plugs[nearest].intended))
    return LikelyOrder(
        conductors,
        chance,
        _name_of(plug, names),
        like or known.intended[nearest].name,
        differing[nearest],
        like is None,
    )


def _name_of(plug: Connector, order: tuple[str | None, ...]) -> str | None:
    held = tuple((c, name) for c, name in zip(plug.conductor_contacts, order, strict=True) if name is not None)
    termination = known_as(plug, held)
    return termination.name if termination else None


def _labels(known: Belief, colours: ColourSet) -> Places:
    """Return for each conductor number the number of what the eye sees; the last entry is an empty contact's."""
    looks = [colours.colour(name).looks for name in known.conductors]
    return np.array([*(looks.index(look) for look in looks), len(looks)], dtype=np.intp)


def colour_chances(held: Rows, chance: Chances, labels: Places) -> Chances:
    """Return the chance of each look in each contact, shape (contacts, looks); held: (contacts, R)."""
    size = len(labels)
    return np.stack([np.bincount(labels[conductors], chance, minlength=size) for conductors in held])


def _next_look(
    near: Posterior, far: Posterior, known: Belief, colours: ColourSet, evidence: Evidence, effort: Effort
) -> Look | None:
    labels = _labels(known, colours)
    best: Look | None = None
    sides: tuple[tuple[End, Posterior, Connector, Reads, float | None], ...] = (
        ("near", near, known.near_plug, evidence.near_reads, effort.near_minutes),
        ("far", far, known.far_plug, evidence.far_reads, effort.far_minutes),
    )
    for end, found, plug, reads, minutes in sides:
        if minutes is None or _is_closed(minutes):
            continue
        counts = np.flatnonzero(found.chance > NEGLIGIBLE)
        chances = colour_chances(found.rows.T[:, counts], found.chance[counts], labels)
        for contact, row in zip(plug.conductor_contacts, chances, strict=True):
            some = row[row > 0.0] / row.sum()
            bits = float(-(some * np.log2(some)).sum())
            if contact in dict(reads) or (end, contact) in evidence.unread or bits < known.habits.least_bits:
                continue
            if best is None or bits / minutes > best.bits / best.minutes + 1e-12:
                best = Look(end, contact, bits, minutes)
    return best
