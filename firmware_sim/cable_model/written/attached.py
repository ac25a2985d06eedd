"""What the far plug is in, and a foreign voltage there: the table [attached] of a description."""

from dataclasses import dataclass

from firmware_sim.board.levels import LINK_PULSE_MV, POE_PROBING_MV, SALT_CELL_MV
from firmware_sim.cable_model.written.cable_file import AttachedTable
from firmware_sim.cable_model.written.plugs import CONTACTS
from firmware_sim.cable_model.written.toml_file import missing, wrong
from firmware_sim.cable_model.written.when import When, checked_when

_SOURCES: dict[str, tuple[float, float]] = {  # volt and source ohm when none are given (resistances: assumptions)
    "none": (0.0, 1.0),
    "dc": (12.0, 1.0),
    "ac": (12.0, 10.0),
    "injector": (48.0, 1.0),
    "poe-probe": (POE_PROBING_MV[1] / 1000, 45_000.0),
    "link": (LINK_PULSE_MV / 1000, 100.0),
    "cell": (sum(SALT_CELL_MV) / 2000, 5_000.0),
}
_BETWEEN: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {  # far plug contacts when none are given
    "injector": (("4", "5"), ("7", "8")),
    "poe-probe": (("3", "6"), ("1", "2")),
    "link": (("1",), ("2",)),
}


@dataclass(frozen=True, slots=True)
class Attached:
    """What the far plug is in, and a foreign voltage there; kind "none" = no voltage."""

    far: str
    port: str
    kind: str
    contact: tuple[str, ...]
    other: tuple[str, ...]
    volt: float
    source_ohm: float
    when: When


def resolve_attached(source: str, table: AttachedTable, connector: str) -> Attached:
    """Give the table [attached] what its kind of voltage brings with it; connector: the far plug."""
    known = CONTACTS[connector]
    allowed = "contacts of the far plug: " + ", ".join(known)
    contact, other = _BETWEEN.get(table.kind, ((), ()))
    given = []
    for key, value, otherwise in (("contact", table.contact, contact), ("other", table.other, other)):
        names = otherwise if value is None else (value,) if isinstance(value, str) else value
        if not set(names) <= set(known):
            raise wrong(source, f"attached.{key}", list(names), allowed)
        given.append(names)
    if table.kind != "none" and not given[0]:
        raise missing(source, "attached.contact", allowed)
    volt, source_ohm = _SOURCES[table.kind]
    return Attached(
        table.far,
        table.port,
        table.kind,
        given[0],
        given[1],
        volt if table.volt is None else table.volt,
        source_ohm if table.source_ohm is None else table.source_ohm,
        checked_when(source, "attached.", table),
    )
