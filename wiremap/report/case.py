"""One cable as it was judged, with what is needed to speak of it."""

import textwrap
from dataclasses import dataclass

from wiremap.cable.colours import ColourSet
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import Termination, carried, known_as
from wiremap.judge.remedy.advice import Advice
from wiremap.judge.verdict import Diagnosis
from wiremap.reading.reading import Reading
from wiremap.report.wire_rows import Nets, Row, wire_rows
from wiremap.report.words.faults import MISPLACED, Ends, urgent_first, what_is_wrong
from wiremap.report.words.next_steps import next_step

OF_ORDER = (*MISPLACED, "split-pair")  # what reasoning about both plugs says more of than about the fault alone


@dataclass(frozen=True, slots=True)
class Case:
    """One cable as tested, with what is needed to speak of it.

    nets: of the reading. pattern: what was asked for, else the nearest, None = neither. label: what the job calls
    the cable. order, colours: what the near plug holds and what that looks like, None = not known; order_told: whether
    somebody said so, rather than that it is usual.
    required: checks that were asked for. shown: the reading as its rows show it, where a remote stands for the far
    plug. advice: which end, what to do, what would run. places: where remotes are, (letter, place).
    """

    reading: Reading
    nets: Nets
    diagnosis: Diagnosis
    pattern: Pattern | None
    ends: Ends
    label: str = ""
    order: Termination | None = None
    order_told: bool = False
    colours: ColourSet | None = None
    required: tuple[str, ...] = ()
    shown: Reading | None = None
    advice: Advice | None = None
    places: tuple[tuple[str, str], ...] = ()
    ports_told: bool = False

    def rows(self) -> tuple[Row, ...]:
        """Return the wire map's rows."""
        reading = self.shown or self.reading
        return wire_rows(reading, self.nets, self.diagnosis, self.pattern, self.ends, self.order, self.colours)

    def of_order(self) -> bool:
        """Whether the order in the plugs is what is most urgently wrong."""
        return any(finding.fault in OF_ORDER for finding in urgent_first(self.diagnosis.findings)[:1])

    def sentences(self) -> tuple[str, ...]:
        """Return what is wrong with it, most urgent first."""
        return what_is_wrong(self.diagnosis, self.ends, self.pattern)

    def next_step(self) -> str:
        """Return what to do with it now."""
        orders = None
        other_kind = self.diagnosis.nearest is not None and self.diagnosis.nearest.away == 0
        if other_kind and self.pattern and self.pattern.far_connector and self.order:
            known = known_as(self.pattern.far_connector, carried(self.order, self.pattern))
            orders = (self.order.name, known.name) if known else None
        if self.advice is not None and self.diagnosis.expect is not None and self.of_order() and not other_kind:
            from wiremap.report.words.repair import next_of

            now = next_of(self.advice, self.ends)
            if now is not None:
                return now
        return next_step(self.diagnosis, self.ends, self.pattern, orders, self.required)

    def more_lines(self, width: int) -> list[str]:
        """Return what stands below the wire map: remote, loops, what the plugs hold, what would run."""
        remote, loops, advice = self.diagnosis.remote, self.diagnosis.loops, self.advice
        if remote is None and not loops and (advice is None or advice == Advice()):
            return []
        from wiremap.report.words import repair as said

        lines = textwrap.wrap(said.remote_line(remote, self.places), width) if remote is not None else []
        lines += said.loop_lines(loops)
        if advice is not None and self.colours is not None and self.of_order():
            lines += said.as_built_lines(advice, self.ends, self.colours, width)
        return lines

    def service_lines(self, width: int) -> list[str]:
        """Return what would run on the cable as it is, a table; of a good cable only when its ports were told."""
        if self.advice is None or not self.advice.services:
            return []
        if self.diagnosis.verdict == "pass" and not self.ports_told:
            return []
        from wiremap.report.words.repair import service_lines

        return service_lines(self.advice.services, width)


def colour_heading(case: Case) -> str:
    """Return what stands over the colours: the termination they follow from, and whether somebody said so."""
    order = case.order
    return "" if order is None else f"colour ({order.name})" if case.order_told else f"colour, if {order.name}"


def cells(row: Row, case: Case) -> tuple[str, str, str, str]:
    """Return a row of the wire map in words: near contact, colour, far contacts, what there is to say of it."""
    if row.near is None:
        return "-", "", ", ".join(row.far), "; ".join(row.notes) or "nothing arrives"
    unchecked = {item.what for item in case.diagnosis.not_checked}
    if row.notes:
        note = "; ".join(row.notes)
    elif row.near == case.ends.near_screen:
        note = "not asked for" if "screen" in unchecked else "ok"
    else:
        note = "ok" if case.diagnosis.expect and "continuity" not in unchecked else ""
    return row.near, row.said, ", ".join(row.far) or ("-" if row.measured else "?"), note
