"""When something in a cable holds."""

from dataclasses import dataclass

from firmware_sim.cable_model.toml_table import Table


@dataclass(frozen=True, slots=True)
class When:
    """When something holds: from `from_s` for `for_s` (None = for good), again every `every_s` (None = once)."""

    from_s: float = 0.0
    for_s: float | None = None
    every_s: float | None = None

    @property
    def always(self) -> bool:
        """Whether it holds from the start and for good."""
        return self.from_s == 0 and self.for_s is None


def take_when(table: Table) -> When:
    """Take from_s, for_s and every_s."""
    from_s = table.take_number("from_s", 0, 1e6, 0.0)
    for_s = table.take_optional_number("for_s", 1e-6, 1e6)
    every_s = table.take_optional_number("every_s", 1e-6, 1e6)
    if every_s is not None and (for_s is None or for_s >= every_s):
        raise table.wrong("every_s", every_s, "more than for_s, which must be given with it")
    return When(from_s, for_s, every_s)
