"""One cable as it was judged: what was required of it, what its job calls it, what was found, what follows."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field
from msgspec.structs import force_setattr

from wiremap.cable.colours import ColourSet, colour_set
from wiremap.cable.limits import Limits, limits
from wiremap.cable.patterns import SCREEN_RULES, Pattern, ScreenRule, pattern
from wiremap.cable.terminations import Termination, termination, usual_for
from wiremap.errors import UsageError, spelled_out
from wiremap.judge.findings import CHECKS
from wiremap.judge.remedy.advice import Advice, advice_on
from wiremap.judge.remedy.knowledge import Colours, Statements
from wiremap.judge.run.length.specified import WantedLength
from wiremap.judge.verdict import Diagnosis, Options, judged, to_builtins
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.judge.wiring.terminators import check_wanted
from wiremap.reading.reading import Reading

if TYPE_CHECKING:
    from wiremap.cable.kinds import Kind


class Requirements(Struct, frozen=True):
    """What a cable must be, and what is known of it beside the reading.

    expect: the pattern, None = none is asked for. screen: where it must be joined, None = as the pattern says.
    require: checks without which there is no pass. near_order: how the near plug is terminated, colours: what the
    conductors look like, None = as is usual. statements: what the user knows of the plugs. length: how long it must
    be, None = nobody said. terminators: how many a bus must have, None = as many as its pattern allows. kind: of cable,
    None = nobody named one.
    """

    expect: Pattern | None = None
    screen: ScreenRule | None = None
    require: tuple[str, ...] = ()
    near_order: Termination | None = None
    colours: ColourSet | None = None
    statements: Statements = field(default_factory=Statements)
    length: WantedLength | None = None
    terminators: int | None = None
    kind: "Kind | None" = None

    def to_builtins(self) -> dict[str, Any]:
        """Return what the judge was told beside pattern and colours, as a capture keeps it."""
        plain: dict[str, Any] = {"screen": self.screen, "require": list(self.require)}
        if self.length is not None:
            plain["length"] = self.length.to_builtins()
        if self.terminators is not None:
            plain["terminators"] = self.terminators
        if self.kind is not None:
            plain["kind"] = {self.kind.name: self.kind.to_builtins()}
        said = self.statements.to_builtins()
        return plain | ({"told": said} if said else {})


def requirements(
    expect: str | None = None,
    screen: str | None = None,
    require: Sequence[str] | None = None,
    near_order: str | None = None,
    colours: str | None = None,
    statements: Statements | None = None,
    length: WantedLength | None = None,
    terminators: int | None = None,
    cable: "Kind | None" = None,
) -> Requirements:
    """Return requirements from the words of options, None and "" = not said; each check may be a list "a,b".

    cable: the kind of cable that somebody named.

    UsageError or FileError names the option whose word cannot be used, before anything is measured.
    """
    if screen and screen not in SCREEN_RULES:
        raise UsageError(f"--screen {screen}: not known", "Give one of " + ", ".join(SCREEN_RULES) + ".")
    checks = tuple(dict.fromkeys(word for words in require or () for word in words.split(",") if word))
    for check in checks:
        if check not in CHECKS:
            raise UsageError(f"--require {check}: no such check", "Give some of " + ", ".join(CHECKS) + ".")
    expected = pattern(expect) if expect else None
    check_wanted(terminators, expected)
    return Requirements(
        expected,
        screen or None,
        checks,
        termination(near_order) if near_order else None,
        colour_set(colours) if colours else None,
        statements or Statements(),
        length,
        terminators,
        cable,
    )


class JobNames(Struct, frozen=True):
    """What a job calls the cable and its ends, as it can be shown; "" = nothing was said."""

    near: str = ""
    far: str = ""
    cable: str = ""

    def __post_init__(self) -> None:
        for key in ("near", "far", "cable"):
            force_setattr(self, key, spelled_out(getattr(self, key), lines=False))


class Case(Struct, frozen=True):
    """One cable as it was judged.

    pattern: what was asked for, else the nearest, None = neither. laid: the reading as it was laid out to be judged,
    None where no pattern has its plugs.
    order, colours: what the near plug holds and what that looks like, None = not known. near_colours: what was
    seen in it, (contact, colour), where no order was named. advice: which end, what to
    do, what would run. read_as: how a table was read, "" when it was none.
    """

    reading: Reading
    requirements: Requirements
    names: JobNames
    diagnosis: Diagnosis
    pattern: Pattern | None
    laid: LaidReading | None
    order: Termination | None = None
    colours: ColourSet | None = None
    advice: Advice = field(default_factory=Advice)
    near_colours: Colours = ()
    read_as: str = ""

    @property
    def shown(self) -> Reading:
        """Return the reading as its rows show it, where a remote stands for the far plug."""
        return self.reading if self.laid is None else self.laid.reading

    def to_builtins(self) -> dict[str, Any]:
        """Return diagnosis and advice as they stand in JSON and in captures; what was not made is absent."""
        return to_builtins(self.diagnosis) | self.advice.to_builtins()


def colours_read(case: Case) -> bool:
    """Whether the near plug is shown as it was read: where nothing else is known, or it differs from what is usual."""
    if case.reading.origin == "eyes":
        return True
    usual = dict(case.order.conductors) if case.order else {}
    return any(usual.get(contact) not in meant for contact, meant in _meant(case).items())


def near_holds(case: Case) -> dict[str, str]:
    """Return what is in the contacts of the near plug, as far as it is known or usual: contact -> conductor.

    What was read off goes before what is usual; once it differs, the rest is there only when it is settled.
    """
    if not colours_read(case):
        return dict(case.order.conductors) if case.order else {}
    built = case.advice.as_built
    shown = dict(built.near_now) if built is not None and built.settled else {}
    shown |= {contact: next(iter(meant)) for contact, meant in _meant(case).items() if len(meant) == 1}
    return {contact: name for contact, name in shown.items() if name is not None}


def read_in_plugs(case: Case) -> tuple[dict[str, str], dict[str, str]]:
    """Return what was read in the near and in the far plug: contact -> what it looks like, "" for an empty one."""
    known, pattern, said = case.colours, case.pattern, case.requirements.statements
    if known is None or pattern is None:
        return {}, {}
    from wiremap.cable.mistakes import EMPTY
    from wiremap.judge.plugs.evidence import read_off, seen_as

    def looks(word: str) -> str:
        names = seen_as(known, word, known.names)
        return known.said(*names) if len(names) == 1 else known.colour(min(names)).looks

    plugs = (said.near_colours, pattern.near_connector), (said.far_colours, pattern.far_connector)
    near, far = (
        {contact: "" if word == EMPTY else looks(word) for contact, word in read_off(text, plug)}
        if text and plug
        else {}
        for text, plug in plugs
    )
    return near, far


def _meant(case: Case) -> dict[str, frozenset[str | None]]:
    """Return the conductors that each colour read off the near plug can mean; None: an empty contact."""
    if case.colours is None or not case.near_colours:
        return {}
    from wiremap.cable.mistakes import EMPTY
    from wiremap.judge.plugs.evidence import seen_as

    known = case.colours
    return {
        contact: frozenset([None]) if word == EMPTY else frozenset(seen_as(known, word, known.names))
        for contact, word in case.near_colours
    }


def read_by_eye(wanted: Requirements) -> Reading:
    """Return the reading that the colours stated for both plugs make, of the plugs that the pattern has.

    UsageError where pattern or colours are missing, or do not fit each other; see `reading_by_eye`.
    """
    from wiremap.judge.plugs.by_eye import reading_by_eye
    from wiremap.judge.plugs.evidence import read_off

    said = wanted.statements
    for option, word in (("--near-colours", said.near_colours), ("--far-colours", said.far_colours)):
        if not word:
            raise UsageError(
                f"there is no file to judge, and {option} is missing",
                "Give a file; or the colours read through both plugs, as --near-colours 1=white-orange,2=orange "
                "--far-colours 1=white-orange,2=orange.",
            )
    if wanted.expect is None:
        raise UsageError(
            "there is no file to judge, and --expect is missing",
            "Say what the cable should be, as --expect straight: it says which plugs the colours were read in.",
        )
    colours = _near_plug(wanted, wanted.expect)[1]
    if colours is None:
        raise UsageError(
            f"nothing says which colours a cable for '{wanted.expect.name}' has",
            "Name them, as --colours tia.",
        )
    far_plug = wanted.expect.far_connector or wanted.expect.near_connector
    near = read_off(said.near_colours, wanted.expect.near_connector)
    return reading_by_eye(wanted.expect, colours, near, read_off(said.far_colours, far_plug))


def _near_plug(wanted: Requirements, likeliest: Pattern) -> tuple[Termination | None, ColourSet | None]:
    """Return how the near plug is terminated and what the conductors look like, as was said or is usual."""
    order = wanted.near_order or usual_for(likeliest, wanted.colours.names if wanted.colours else None)
    return order, wanted.colours or (colour_set(order.colours) if order else None)


def check_near_order(order: Termination | None, cable: Pattern) -> None:
    """Refuse a termination, None = none was named, of another plug than a pattern's near one; UsageError says which."""
    if order is not None and order.connector != cable.near_connector:
        raise UsageError(
            f"--near-order {order.name} is for {order.connector.title}, the near plug is {cable.near_connector.title}",
            "Name how the near plug of this cable is terminated.",
        )


def judge_case(
    reading: Reading,
    wanted: Requirements | None = None,
    names: JobNames | None = None,
    used: Limits | None = None,
) -> Case:
    """Judge a reading, and say what follows; used: limits, None = those that ship.

    UsageError when the reading, the near order or what the user states does not fit the pattern.
    """
    wanted, names, used = wanted or Requirements(), names or JobNames(), used or limits()
    options = Options(wanted.screen, wanted.require, used, wanted.length, wanted.terminators, wanted.kind)
    found = judged(reading, wanted.expect, options)
    diagnosis, laid = found.diagnosis, found.laid
    likeliest = wanted.expect or (pattern(diagnosis.nearest.pattern) if diagnosis.nearest else None)
    if likeliest is None or laid is None:
        return Case(reading, wanted, names, diagnosis, None, laid, wanted.near_order, wanted.colours)
    order, colours = _near_plug(wanted, likeliest)
    check_near_order(order, likeliest)
    known = wanted.statements.in_contacts_of(likeliest, wanted.near_order, colours)
    advice = advice_on(laid, diagnosis, known, colours, wanted.kind)
    seen = known.near_colours if wanted.near_order is None else ()
    if reading.origin == "eyes":
        seen = wanted.statements.in_contacts_of(likeliest, None, colours).near_colours
    return Case(reading, wanted, names, diagnosis, likeliest, laid, order, colours, advice, seen)
