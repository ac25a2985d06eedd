"""What the far plug is in, and a foreign voltage there: the table [attached] of a description."""

from dataclasses import dataclass

from firmware_sim.board.levels import LINK_PULSE_MV, POE_PROBING_MV, SALT_CELL_MV
from firmware_sim.cable_model.plugs import CONTACTS
from firmware_sim.cable_model.toml_table import Table
from firmware_sim.cable_model.when import When, take_when

VOLTAGES = ("none", "dc", "ac", "injector", "poe-probe", "link", "cell")
PORTS = ("four-pair", "two-pair", "tied")
FARS = ("tester", "open", "joined", "remote-A", "remote-B", "remote-C", "remote-D", "equipment")

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


def take_attached(table: Table, connector: str) -> Attached:
    """Take the table [attached]; connector: the far plug."""
    far = table.take_choice("far", FARS, "tester")
    port = table.take_choice("port", PORTS, "four-pair")
    kind = table.take_choice("kind", VOLTAGES, "none")
    contact, other = _BETWEEN.get(kind, ((), ()))
    given = []
    for key, otherwise in (("contact", contact), ("other", other)):
        value = table.take_text_or_words(key) if table.has(key) else otherwise
        names = (value,) if isinstance(value, str) else value
        if not set(names) <= set(CONTACTS[connector]):
            raise table.wrong(key, list(names), "contacts of the far plug: " + ", ".join(CONTACTS[connector]))
        given.append(names)
    if kind != "none" and not given[0]:
        raise table.wrong("contact", "missing", "contacts of the far plug: " + ", ".join(CONTACTS[connector]))
    volt, source_ohm = _SOURCES[kind]
    attached = Attached(
        far,
        port,
        kind,
        given[0],
        given[1],
        table.take_number("volt", -400, 400, volt),
        table.take_number("source_ohm", 0, 1e9, source_ohm),
        take_when(table),
    )
    table.finish()
    return attached
