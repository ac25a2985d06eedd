"""Options and arguments, each with one meaning in every command."""

from pathlib import Path
from typing import Annotated

import typer

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
        "--near-colours", metavar="1=COLOUR,...", help="Colours read off the near plug; - = an empty contact."
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
Save = Annotated[
    Path | None,
    typer.Option("--save", metavar="PATH", help="Keep a capture: a folder, or a new file ending in .json."),
]
Job = Annotated[
    list[str] | None,
    typer.Option(
        "--job",
        metavar="KEY=VALUE",
        help="vessel, site, cable, near, far, who, note, photo, done, work; may be repeated.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object a line.")]
Bell = Annotated[bool, typer.Option("--bell", help="Ring when done: pass once, undecided twice, fail three times.")]
Files = Annotated[list[Path], typer.Argument(metavar="FILE...", help="CSV, reading (JSON) or capture.")]
Trust = Annotated[
    list[str] | None,
    typer.Option("--trust", metavar="KEY", help="A public key (64 hex digits or a PEM file); may be repeated."),
]
Key = Annotated[
    str | None,
    typer.Option("--key", metavar="FILE|none", help="Secret key to sign with; else your own, made on first use."),
]
