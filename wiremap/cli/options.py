"""Options and arguments, each with one meaning in every command."""

import functools
import inspect
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec import Struct

if TYPE_CHECKING:
    from wiremap.cable.kinds import Kind
    from wiremap.judge.case import Requirements

Expect = Annotated[
    str | None, typer.Option("--expect", metavar="NAME|FILE.toml", help="The pattern the cable should have.")
]
Screen = Annotated[
    str | None,
    typer.Option("--screen", metavar="any|both|near|far|none", help="Where the screen must be joined."),
]
Require = Annotated[
    list[str] | None,
    typer.Option(
        "--require",
        metavar="CHECK,...",
        help="Checks without which there is no pass (split-pairs, length, screen, ...).",
    ),
]
Terminators = Annotated[
    int | None,
    typer.Option(
        "--terminators",
        metavar="N",
        min=0,
        max=6,
        help="How many terminators a bus must have; else none or two are right.",
    ),
]
KindOfCable = Annotated[
    str | None,
    typer.Option("--kind", metavar="KIND|FILE.toml", help="The kind of cable, such as cat6-utp."),
]
Far = Annotated[
    str,
    typer.Option(
        "--far", metavar="tester|open|joined|remote|equipment", help="What the far plug is in; open = in nothing."
    ),
]
TesterAddress = Annotated[
    str | None,
    typer.Option(
        "--tester",
        metavar="ADDRESS",
        help="A serial device, socket://HOST:PORT, or sim[:NAME|FILE.toml]; else the only tester found.",
    ),
]
NearAdapter = Annotated[
    str | None,
    typer.Option(
        "--near-adapter", metavar="NAME", help="Adapter from the cable's near plug to the tester, such as m12d-rj45."
    ),
]
FarAdapter = Annotated[str | None, typer.Option("--far-adapter", metavar="NAME", help="The same at the far plug.")]
NearOrder = Annotated[
    str | None,
    typer.Option("--near-order", metavar="NAME|FILE.toml", help="How the near plug is terminated, such as T568A."),
]
NearColours = Annotated[
    str | None,
    typer.Option(
        "--near-colours", metavar="1=COLOUR,...", help="Colours read off the near plug; - = empty, ? = cannot be told."
    ),
]
FarColours = Annotated[
    str | None, typer.Option("--far-colours", metavar="1=COLOUR,...", help="Colours read off the far plug.")
]
Sound = Annotated[
    list[str] | None, typer.Option("--sound", metavar="near|far", help="A plug that is known to be right.")
]
Closed = Annotated[
    list[str] | None,
    typer.Option("--closed", metavar="END[=MINUTES]", help="A plug that cannot be looked into, or takes so long."),
]
Joint = Annotated[
    list[str] | None,
    typer.Option("--joint", metavar='"NAME=9m"', help="A place where the run is joined, metres from the near end."),
]
Remote = Annotated[
    list[str] | None, typer.Option("--remote", metavar="B=PLACE", help="Where a remote was put; may be repeated.")
]
PortNear = Annotated[
    str | None, typer.Option("--port-near", metavar="auto|fixed-mdi|fixed-mdi-x", help="The port at the near end.")
]
PortFar = Annotated[str | None, typer.Option("--port-far", metavar="auto|...", help="The port at the far end.")]
Services = Annotated[
    bool, typer.Option("--services", help="Show all services with reasons and clauses, not in four lines.")
]
Repeat = Annotated[bool, typer.Option("--repeat", help="Measure again and again until interrupted.")]
Colours = Annotated[
    str | None, typer.Option("--colours", metavar="NAME|FILE.toml", help="The colours of the cable's conductors.")
]
Cells = Annotated[
    str | None,
    typer.Option("--cells", metavar="continuity|ohms", help="What 0 and 1 in a CSV file mean."),
]
Talks = Annotated[
    Path | None,
    typer.Option("--talks", metavar="FILE.toml", help="The language of a tester that prints its own text."),
]
Address = Annotated[
    str | None, typer.Option("--address", metavar="IP", help="The address to serve, where the machine has several.")
]
ServedPort = Annotated[int, typer.Option("--port", min=1, max=65535, help="The port to serve.")]
HostName = Annotated[str | None, typer.Option("--name", metavar="HOST", help="A name of this machine on that network.")]
Tls = Annotated[bool, typer.Option("--tls", help="Serve https, with a certificate of our own.")]
PHONE_PORT = 8712  # fixed, so that cookies and the page outlive a restart
Save = Annotated[
    Path | None,
    typer.Option("--save", metavar="PATH", help="Keep a capture: a folder, or a new file ending in .json."),
]
Job = Annotated[
    list[str] | None,
    typer.Option(
        "--job",
        metavar="KEY=VALUE",
        help="vessel, site, cable, near, far, who, note, photo, re-terminated, done, work; may be repeated.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object a line.")]
Cores = Annotated[
    int, typer.Option("--cores", metavar="N", min=1, max=64, help="Work on so many files at once, each on its core.")
]
Bell = Annotated[bool, typer.Option("--bell", help="Ring when done: pass once, undecided twice, fail three times.")]
Files = Annotated[
    list[Path] | None,
    typer.Argument(
        metavar="[FILE...]", help="CSV, reading (JSON), capture, text of a tester; - = standard input; none = eyes."
    ),
]
Trust = Annotated[
    list[str] | None,
    typer.Option("--trust", metavar="KEY", help="A public key (64 hex digits or a PEM file); may be repeated."),
]
Key = Annotated[
    str | None,
    typer.Option("--key", metavar="FILE|none", help="Secret key to sign with; else your own, made on first use."),
]


class CableOptions(Struct, frozen=True):
    """The options that every command has which judges one cable and shows its page; each field is an option."""

    expect: Expect = None
    screen: Screen = None
    require: Require = None
    terminators: Terminators = None
    near_adapter: NearAdapter = None
    far_adapter: FarAdapter = None
    kind: KindOfCable = None
    near_order: NearOrder = None
    colours: Colours = None
    near_colours: NearColours = None
    far_colours: FarColours = None
    sound: Sound = None
    closed: Closed = None
    joint: Joint = None
    remote: Remote = None
    port_near: PortNear = None
    port_far: PortFar = None
    services: Services = False
    save: Save = None
    job: Job = None
    key: Key = None
    as_json: Json = False

    def requirements(self) -> "Requirements":
        """Return what the cable must be and what is known of it; UsageError or FileError for a word that cannot be."""
        from wiremap.judge.case import requirements
        from wiremap.judge.remedy.knowledge import statements

        known = statements(
            self.near_colours,
            self.far_colours,
            self.sound,
            self.closed,
            self.joint,
            self.remote,
            self.port_near,
            self.port_far,
        )
        return requirements(
            self.expect,
            self.screen,
            self.require,
            self.near_order,
            self.colours,
            known,
            terminators=self.terminators,
            cable=self._kind(),
        )

    def _kind(self) -> "Kind | None":
        """Return the kind of cable that was named, None where none was."""
        if not self.kind:
            return None
        from wiremap.records.own_kinds import kind_called

        return kind_called(self.kind)


def with_cable_options(command: Callable[..., None]) -> Callable[..., None]:
    """Return a command whose parameter of the type CableOptions is read from the options that are its fields."""
    own = inspect.signature(command, eval_str=True).parameters.values()
    fields = inspect.signature(CableOptions).parameters.values()
    (bundle,) = (parameter.name for parameter in own if parameter.annotation is CableOptions)

    @functools.wraps(command)
    def command_of_options(**given: Any) -> None:
        cable = CableOptions(**{field.name: given.pop(field.name) for field in fields})
        command(**given, **{bundle: cable})

    shown = [one for parameter in own for one in (fields if parameter.name == bundle else (parameter,))]
    parameters = [one.replace(kind=inspect.Parameter.KEYWORD_ONLY) for one in shown]
    command_of_options.__dict__["__signature__"] = inspect.Signature(parameters)
    return command_of_options
