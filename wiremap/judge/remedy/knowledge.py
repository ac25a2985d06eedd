"""What a user knows of the plugs beside what is measured: in the user's words, and in the contacts of a pattern."""

from collections.abc import Sequence
from typing import Any, cast

from msgspec import Struct

from wiremap.cable.colours import ColourSet, colour_set
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import Termination
from wiremap.contact import ENDS, End
from wiremap.errors import FileError, UsageError
from wiremap.judge.remedy.joints import Joint, joint_from
from wiremap.judge.remedy.service import PORTS, Port

MINUTES = {"near": 1.0, "far": 5.0}  # to look into a plug, where nobody said: the far one must be gone to
Colours = tuple[tuple[str, str], ...]


class Knowledge(Struct, frozen=True):
    """What a user knows of the plugs, in the contacts of a pattern.

    near_colours, far_colours: (contact, colour seen in it). sound: ends declared to be right. near_minutes,
    far_minutes: to look into a plug, None = it cannot be. joints: where the run is joined. port_near,
    port_far: what it runs between. unread: contacts that were looked into and whose colour could not be told.
    """

    near_colours: Colours = ()
    far_colours: Colours = ()
    sound: tuple[End, ...] = ()
    near_minutes: float | None = MINUTES["near"]
    far_minutes: float | None = MINUTES["far"]
    joints: tuple[Joint, ...] = ()
    port_near: Port = "auto"
    port_far: Port = "auto"
    unread: tuple[tuple[End, str], ...] = ()


class Statements(Struct, frozen=True):
    """What a user says of the plugs, in the words of the options of the same names; "" and () = nothing was said.

    near_colours, far_colours: "1=white-orange,2=orange", "3=?" = it could not be told. sound: ends, "near".
    closed: "far", or "far=60" with the minutes it takes to open. joints: "mast foot=9m". remotes: "B=mast".
    port_near, port_far: one of PORTS.
    UsageError for a word that fits no cable at all.
    """

    near_colours: str = ""
    far_colours: str = ""
    sound: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    remotes: tuple[str, ...] = ()
    port_near: str = ""
    port_far: str = ""

    def __post_init__(self) -> None:
        """Check every word as far as it can be before anything is measured."""
        for word in self.sound:
            _one_of("--sound", word, ENDS)
        for word in self.closed:
            _minutes(word)
        for word in self.joints:
            joint_from(word)
        for option, word in (("--port-near", self.port_near), ("--port-far", self.port_far)):
            if word:
                _one_of(option, word, PORTS)
        if self.remotes:
            from wiremap.cable.remotes import remote_set

            for letter, _ in self.remote_places:
                remote_set().remote(letter)

    @property
    def remote_places(self) -> tuple[tuple[str, str], ...]:
        """Return where remotes are, (letter, what the place is called)."""
        return tuple(_letter_and_place(word) for word in self.remotes)

    def over(self, earlier: "Statements") -> "Statements":
        """Return what was said, with what was said earlier of all that nothing is said of now."""
        now, before = self.to_builtins(), earlier.to_builtins()
        return statements_from_builtins(before | now)

    def to_builtins(self) -> dict[str, Any]:
        """Return what was said, for a capture; what was not said is left out."""
        values = {name: getattr(self, name) for name in self.__struct_fields__}
        return {name: list(value) if isinstance(value, tuple) else value for name, value in values.items() if value}

    def in_contacts_of(
        self, pattern: Pattern, near_order: Termination | None = None, colours: ColourSet | None = None
    ) -> Knowledge:
        """Return what was said in the contacts of a pattern; UsageError where it does not fit its plugs, or itself.

        near_order: how the near plug is terminated, when somebody said so; it is what would be seen in all contacts.
        colours: of the cable, None = those that the near order is usually made with.
        """
        near_colours: Colours = near_order.conductors if near_order else ()
        far_colours: Colours = ()
        unread: list[tuple[End, str]] = []
        if self.near_colours or self.far_colours:
            from wiremap.judge.plugs.evidence import as_ordered, not_told, read_off

            if self.near_colours:
                read = read_off(self.near_colours, pattern.near_connector)
                seen_in = colours or (colour_set(near_order.colours) if near_order else None)
                near_colours = as_ordered(near_order, read, seen_in) if near_order and seen_in else read
                unread += [("near", contact) for contact in not_told(self.near_colours, pattern.near_connector)]
            if self.far_colours:
                if pattern.far_connector is None:
                    raise UsageError("--far-colours: the pattern has one plug only", "Give --near-colours.")
                far_colours = read_off(self.far_colours, pattern.far_connector)
                unread += [("far", contact) for contact in not_told(self.far_colours, pattern.far_connector)]
        minutes: dict[str, float | None] = {**MINUTES, **dict(map(_minutes, self.closed))}
        return Knowledge(
            near_colours,
            far_colours,
            cast(tuple[End, ...], self.sound),
            minutes["near"],
            minutes["far"],
            tuple(map(joint_from, self.joints)),
            cast(Port, self.port_near or "auto"),
            cast(Port, self.port_far or "auto"),
            tuple(unread),
        )


def statements(
    near_colours: str | None = None,
    far_colours: str | None = None,
    sound: Sequence[str] | None = None,
    closed: Sequence[str] | None = None,
    joints: Sequence[str] | None = None,
    remotes: Sequence[str] | None = None,
    port_near: str | None = None,
    port_far: str | None = None,
) -> Statements:
    """Return statements from the values of options, None = not said; UsageError for a word that fits no cable."""
    return Statements(
        near_colours or "",
        far_colours or "",
        tuple(sound or ()),
        tuple(closed or ()),
        tuple(joints or ()),
        tuple(remotes or ()),
        port_near or "",
        port_far or "",
    )


def statements_from_builtins(plain: object) -> Statements:
    """Return what a capture's rules say that the user knew; FileError for junk."""
    if not isinstance(plain, dict):
        raise FileError(f"rules: told is {plain!r}", "Allowed there: an object.")
    values: dict[str, Any] = {}
    for name, unsaid in zip(Statements.__struct_fields__, Statements.__struct_defaults__, strict=True):
        value = plain.get(name, unsaid)
        values[name] = str(value) if unsaid == "" else tuple(map(str, value))
    try:
        return Statements(**values)
    except UsageError as error:
        raise FileError(f"rules: told: {error.what}", error.hint) from error


def _one_of(option: str, word: str, allowed: Sequence[str]) -> None:
    if word not in allowed:
        raise UsageError(f"{option} {word}: not known", "Give one of " + ", ".join(allowed) + ".")


def _letter_and_place(word: str) -> tuple[str, str]:
    letter, equals, place = word.partition("=")
    if not letter or not equals or not place:
        raise UsageError(f"--remote {word}: cannot be used", "Write it as --remote B=mast.")
    return letter, place


def _minutes(word: str) -> tuple[str, float | None]:
    end, equals, value = word.partition("=")
    _one_of("--closed", end, ENDS)
    if not equals:
        return end, None
    try:
        minutes = float(value)
    except ValueError:
        minutes = 0.0
    if not 0.0 < minutes < 1e6:
        raise UsageError(f"--closed {word}: no time", "Give minutes it takes to open, as --closed far=60.")
    return end, minutes
