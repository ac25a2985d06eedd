"""When something in a cable holds."""

from typing import Annotated

from msgspec import Meta, Struct

from firmware_sim.cable_model.written.toml_file import wrong

Start = Annotated[float, Meta(ge=0, le=1e6)]
Spell = Annotated[float, Meta(ge=1e-6, le=1e6)]


class When(Struct, frozen=True, forbid_unknown_fields=True):
    """When something holds: from `from_s` for `for_s` (None = for good), again every `every_s` (None = once)."""

    from_s: Start = 0.0
    for_s: Spell | None = None
    every_s: Spell | None = None

    @property
    def always(self) -> bool:
        """Whether it holds from the start and for good."""
        return self.from_s == 0 and self.for_s is None


def checked_when(source: str, place: str, table: When) -> When:
    """Return the moments in a table that has them beside its own keys; place: the table's key and a dot."""
    if table.every_s is not None and (table.for_s is None or table.for_s >= table.every_s):
        raise wrong(source, place + "every_s", table.every_s, "more than for_s, which must be given with it")
    return When(table.from_s, table.for_s, table.every_s)
