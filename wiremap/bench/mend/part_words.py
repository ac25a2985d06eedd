"""What a guided repair says of a part that is tested: a plug that is moved alone, a piece of the run, a lead."""

from wiremap.bench.mend.course.pieces import Piece
from wiremap.bench.mend.events import Asked, Mend
from wiremap.bench.mend.known import Known
from wiremap.bench.mend.stage import Stage
from wiremap.contact import End
from wiremap.report.words.faults import Ends, listed

MOVE_ONE = (
    "Something comes and goes. Move {plug} and the cable behind it, and nothing else, while it is tested: so it is "
    "found in which plug it is."
)
OPEN_JOINT = (
    "Open the joint {joint}. Put the plug there of the piece that begins at {plug} into the tester, in place of the "
    "far one: that piece is tested alone."
)
KNOWN_LEAD = (
    "Before the cable is given up: take it out, and put a lead known to be good into both sockets. If that shows "
    "the fault too, the tester has it."
)
SWAP_LEAD = (
    "Put another lead, known to be good, between the tester and {plug}: a fault that goes was the lead's, one that "
    "stays is behind the socket."
)
PIECE = "The fault is between {begins} and {ends}: see to {joints} first, else replace that piece alone."
SOCKET = (
    "A lead known to be good shows it too: the fault is in the tester or its sockets, not in this cable. Clean its "
    "sockets, or take another tester."
)
LEAD_WAS_IT = "The fault went with the old lead at {end}: throw that lead away."
BEHIND_SOCKET = "With another lead it stayed: it is behind {plug}."
JOIN_AGAIN = "Put the run together again at {joints}."
READY = {"piece": "test this piece", "lead": "test this lead"}


def plug_named(mend: Mend, end: str | None, ends: Ends) -> str:
    """Return what a plug of the cable is called; where a lead is between, it is a socket."""
    return f"the {ends.near if end == 'near' else ends.far} {'socket' if end in mend.leads else 'plug'}"


def part_now(mend: Mend, asked: Asked, ends: Ends) -> str:
    """Return what to do so that a part is tested."""
    if asked.kind == "piece":
        return OPEN_JOINT.format(joint=asked.contacts[0], plug=plug_named(mend, "near", ends))
    if asked.kind == "move-one":
        return MOVE_ONE.format(plug=plug_named(mend, asked.end, ends))
    return KNOWN_LEAD if asked.end is None else SWAP_LEAD.format(plug=plug_named(mend, asked.end, ends))


def piece_words(mend: Mend, piece: Piece | None, ends: Ends) -> str:
    """Return that a fault is in a piece of the run, and what to do; "" where it may be anywhere in it."""
    if piece is None or piece.is_whole:
        return ""
    joints = "that joint" if piece.plugs else "both joints"
    begins, other = _bounds(mend, piece, ends)
    return PIECE.format(begins=begins, ends=other, joints=joints)


def in_piece_words(mend: Mend, piece: Piece | None, ends: Ends) -> tuple[str, ...]:
    """Return between what a fault is, as far as that was found; nothing where it may be anywhere in the run."""
    if piece is None or piece.is_whole:
        return ()
    begins, other = _bounds(mend, piece, ends)
    return (f"It is between {begins} and {other}.",)


def _bounds(mend: Mend, piece: Piece, ends: Ends) -> tuple[str, str]:
    begins = plug_named(mend, "near", ends) if piece.begins is None else f"the joint {piece.begins.name}"
    return begins, plug_named(mend, "far", ends) if piece.ends is None else f"the joint {piece.ends.name}"


def of_leads(known: Known, stage: Stage, mend: Mend, ends: Ends) -> tuple[str, ...]:
    """Return what an exchange of leads has shown."""
    swapped: list[End] = [one.end for one in known.done if one.work == "swap-lead" and one.end is not None]
    if not swapped or stage.case is None or not known.tested:
        return ()
    if stage.case.diagnosis.verdict != "pass":
        return tuple(BEHIND_SOCKET.format(plug=plug_named(mend, end, ends)) for end in swapped)
    if known.made or any(one.work != "swap-lead" for one in known.done):
        return ()
    return tuple(LEAD_WAS_IT.format(end=f"the {ends.near if end == 'near' else ends.far} end") for end in swapped[-1:])


def joined_again(known: Known) -> str:
    """Return that the run is to be put together again, "" where no joint is open."""
    return JOIN_AGAIN.format(joints=listed(list(dict.fromkeys(known.opened)))) if known.opened else ""
