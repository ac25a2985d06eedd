"""The termination card of one plug: which conductor goes into which contact, and what to mind when making it.

Contacts stand in the order in which they are seen with the plug's contacts up. The page is for a terminal; the
picture (card_picture) is for the print that lies beside the tool.
"""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from wiremap.cable.colours import Colour, ColourSet
from wiremap.cable.connectors import Connector
from wiremap.cable.workmanship import workmanship, workmanship_limits
from wiremap.report.words.faults import capital

CAUTIONS = (
    "Power off and both ends unplugged before you cut or crimp; a powered line is up to 57 V.",
    "Count the offcuts out: a strand left in equipment shorts it.",
    "Aloft or near antennas that transmit: switched off, locked, a notice at the controls, a harness.",
    "Follow your local codes; where they ask for a licensed person, ask one.",
)
EMPTY_WORD = "empty"


class CardLine(Struct, frozen=True):
    """One contact. colour None: nothing goes in. mate: the contact its twisted partner goes into.

    now_in: the contact that the conductor is in now, "" = it is not in the plug, None = not known or not told.
    changes: whether another conductor is in the contact now.
    """

    contact: str
    colour: Colour | None
    said: str
    mate: str | None
    now_in: str | None
    changes: bool


class Card(Struct, frozen=True):
    """A card. end: what the end is called. named: the order, as a termination, None = it has no name.

    why: what the card is for, one sentence. told: whether what is in the plug now is known, so that `now_in`
    means something. screen: what is said of the screen's contact, None where the plug has none. look_first: it is the
    usual order, and not yet known whether this plug is to be made so.
    """

    plug: Connector
    end: str
    pattern: str
    named: str | None
    why: str
    lines: tuple[CardLine, ...]
    told: bool
    screen: str | None
    look_first: bool = False

    @property
    def title(self) -> str:
        """Return what stands over the card."""
        named = "LOOK FIRST" if self.look_first else self.named
        return f"{self.plug.title}, {self.end} end" + (f": {named}" if named else "")


def card(
    plug: Connector,
    colours: ColourSet,
    held: Mapping[str, str | None],
    *,
    end: str,
    pattern: str,
    named: str | None,
    why: str = "",
    now: Mapping[str, str | None] | None = None,
) -> Card:
    """Return the card for a plug that is to hold these conductors by contact; now: what it holds at present."""
    at = {conductor: contact for contact, conductor in held.items() if conductor is not None}
    was = {conductor: contact for contact, conductor in (now or {}).items() if conductor is not None}
    lines = []
    for contact in plug.conductor_contacts:
        conductor = held.get(contact)
        colour = colours.colour(conductor) if conductor else None
        mates = [at[mate] for mate in colours.mates(conductor) if mate in at] if conductor else []
        before = was.get(conductor, "") if now is not None and conductor else None
        changes = now is not None and now.get(contact) != conductor
        said = colours.said(conductor) if conductor else EMPTY_WORD
        lines.append(CardLine(contact, colour, said, mates[0] if mates else None, before, changes))
    screen = None
    if plug.screen is not None:
        where = "the shell" if plug.screen == "S" else f"contact {plug.screen}"
        screen = f"{colours.screen} to {where}, where the cable has one"
    return Card(plug, end, pattern, named, why, tuple(lines), now is not None, screen)


def card_of_moves(plug: Connector, moves: Sequence[tuple[str, str]], *, end: str, pattern: str, why: str) -> Card:
    """Return the card of a plug whose colours nobody knows: what is in which contact now and moves where.

    moves: (from contact, to contact) at this plug; what is pushed out of a contact goes
    where one is left empty, and what is not named stays.
    """
    comes_from = {to: source for source, to in moves}
    moved = set(comes_from.values())
    pushed_out = [contact for contact in comes_from if contact not in moved]
    vacated = [contact for contact in plug.conductor_contacts if contact in moved and contact not in comes_from]
    comes_from |= dict(zip(vacated, pushed_out, strict=False))
    lines = []
    for contact in plug.conductor_contacts:
        source = comes_from.get(contact, contact)
        said = "what is in it now" if source == contact else f"what is in {source} now"
        if source in pushed_out:
            said += ", else what hangs loose"
        lines.append(CardLine(contact, None, said, None, source, source != contact))
    return Card(plug, end, pattern, None, why, tuple(lines), False, None)


def work_lengths(plug: Connector) -> tuple[str, ...]:
    """Return the lengths to mind, one a line."""
    work, limits = workmanship(plug), workmanship_limits()
    said = []
    if work.strip_mm is not None and work.trim_mm is not None:
        field = f" ({work.field_trim_mm:.0f} mm in a field plug)" if work.field_trim_mm else ""
        said.append(f"Strip {work.strip_mm:.0f} mm of sheath; trim to {work.trim_mm:.0f} mm{field}.")
    said.append(f"Untwist at most {limits.untwist_mm:.0f} mm.")
    said.append(f"Bend no tighter than {limits.bend_diameters:.0f} x the cable's diameter (radius).")
    return tuple(said)


def first(plug: Connector) -> str:
    """Return what goes onto the cable before anything else."""
    return "On the cable first: " + ", ".join(workmanship(plug).first) + "."


def making(made: Card) -> tuple[str, ...]:
    """Return how the plug is made, in three paragraphs: before, lengths, and the making itself."""
    screen = (f"{capital(made.screen)}.",) if made.screen else ()
    return first(made.plug), " ".join(work_lengths(made.plug)), " ".join((*screen, *workmanship(made.plug).finish))


def to_builtins(made: Card) -> dict[str, object]:
    """Return the card as it stands in JSON."""
    lines = [
        {
            "contact": line.contact,
            "conductor": line.colour.name if line.colour else None,
            "twisted_with": line.mate,
            "now_in": line.now_in,
            "changes": line.changes,
        }
        for line in made.lines
    ]
    head = {"connector": made.plug.name, "end": made.end, "pattern": made.pattern, "termination": made.named}
    look = {"look_first": True} if made.look_first else {}
    return head | look | {"why": made.why or None, "lines": lines}
