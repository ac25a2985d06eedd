"""What the user knows of the plugs and says on the command line, beside what is measured."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from wiremap.cable.colours import ColourSet, colour_set
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import Termination
from wiremap.contact import ENDS, End
from wiremap.errors import UsageError

if TYPE_CHECKING:
    from wiremap.judge.remedy.advice import Told

MINUTES = {"near": 1.0, "far": 5.0}


@dataclass(frozen=True, slots=True)
class Telling:
    """The words of --near-colours, --far-colours, --sound, --closed, --joint, --remote, --port-near, --port-far."""

    near_colours: str = ""
    far_colours: str = ""
    sound: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    remotes: tuple[str, ...] = ()
    port_near: str = ""
    port_far: str = ""

    def to_builtins(self) -> dict[str, Any]:
        """Return what was said, for a capture; what was not said is left out."""
        said = {
            "near_colours": self.near_colours,
            "far_colours": self.far_colours,
            "sound": list(self.sound),
            "closed": list(self.closed),
            "joints": list(self.joints),
            "remotes": list(self.remotes),
            "port_near": self.port_near,
            "port_far": self.port_far,
        }
        return {key: value for key, value in said.items() if value}

    @property
    def places(self) -> tuple[tuple[str, str], ...]:
        """Return where remotes are, (letter, place)."""
        return tuple(_pair("--remote", word, "B=mast") for word in self.remotes)


def telling(
    near_colours: str | None = None,
    far_colours: str | None = None,
    sound: Sequence[str] | None = None,
    closed: Sequence[str] | None = None,
    joints: Sequence[str] | None = None,
    remotes: Sequence[str] | None = None,
    port_near: str | None = None,
    port_far: str | None = None,
) -> Telling:
    """Return what was said, checked as far as it can be before anything is measured; UsageError names the word."""
    said = Telling(
        near_colours or "",
        far_colours or "",
        tuple(sound or ()),
        tuple(closed or ()),
        tuple(joints or ()),
        tuple(remotes or ()),
        port_near or "",
        port_far or "",
    )
    for word in said.sound:
        _one_of("--sound", word, ENDS)
    for word in said.closed:
        _minutes(word)
    if said.joints:
        from wiremap.judge.remedy.joints import joint_from

        for word in said.joints:
            joint_from(word)
    if said.port_near or said.port_far:
        from wiremap.judge.remedy.services import PORTS

        for option, word in (("--port-near", said.port_near), ("--port-far", said.port_far)):
            if word:
                _one_of(option, word, PORTS)
    if said.places:
        from wiremap.cable.remotes import remote_set

        for letter, _ in said.places:
            remote_set().remote(letter)
    return said


def telling_from(kept: Mapping[str, Any]) -> Telling:
    """Return what a capture says was told."""

    def text(key: str) -> str:
        return str(kept.get(key, ""))

    def words(key: str) -> tuple[str, ...]:
        return tuple(map(str, kept.get(key, ())))

    return Telling(
        text("near_colours"),
        text("far_colours"),
        words("sound"),
        words("closed"),
        words("joints"),
        words("remotes"),
        text("port_near"),
        text("port_far"),
    )


def _one_of(option: str, word: str, allowed: Sequence[str]) -> None:
    if word not in allowed:
        raise UsageError(f"{option} {word}: not known", "Give one of " + ", ".join(allowed) + ".")


def _pair(option: str, word: str, example: str) -> tuple[str, str]:
    name, equals, value = word.partition("=")
    if not name or not equals or not value:
        raise UsageError(f"{option} {word}: cannot be used", f"Write it as {option} {example}.")
    return name, value


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


def told(said: Telling, pattern: Pattern, near_order: Termination | None, colours: ColourSet | None = None) -> "Told":
    """Return what was said in the contacts of a pattern; UsageError where it does not fit its plugs, or itself.

    near_order: how the near plug is terminated, when somebody said so; it is what would be read off all contacts.
    colours: of the cable, None = those that the near order is usually made with.
    """
    from wiremap.judge.remedy.advice import Told

    near_reads: tuple[tuple[str, str], ...] = near_order.conductors if near_order else ()
    far_reads: tuple[tuple[str, str], ...] = ()
    if said.near_colours or said.far_colours:
        from wiremap.judge.plugs.evidence import as_ordered, read_off

        if said.near_colours:
            read = read_off(said.near_colours, pattern.near_connector)
            seen_in = colours or (colour_set(near_order.colours) if near_order else None)
            near_reads = as_ordered(near_order, read, seen_in) if near_order and seen_in else read
        if said.far_colours:
            if pattern.far_connector is None:
                raise UsageError("--far-colours: the pattern has one plug only", "Give --near-colours.")
            far_reads = read_off(said.far_colours, pattern.far_connector)
    minutes: dict[str, float | None] = {**MINUTES, **dict(map(_minutes, said.closed))}
    from wiremap.judge.remedy.joints import joint_from

    return Told(
        near_reads,
        far_reads,
        cast(tuple[End, ...], said.sound),
        minutes["near"],
        minutes["far"],
        tuple(map(joint_from, said.joints)),
        cast(Any, said.port_near or "auto"),
        cast(Any, said.port_far or "auto"),
    )
