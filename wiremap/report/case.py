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
    near_reads: what was read off the near plug, (contact, colour).
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
    near_reads: tuple[tuple[str, str], ...] = ()

    def rows(self) -> tuple[Row, ...]:
        """Return the wire map's rows."""
        reading = self.shown or self.reading
        held = self.near_holds()
        return wire_rows(reading, self.nets, self.diagnosis, self.pattern, self.ends, held, self.colours)

    def read_differs(self) -> bool:
        """Whether what was read off the near plug is not what it is usually made with."""
        usual = dict(self.order.conductors) if self.order else {}
        return any(usual.get(contact) not in seen for contact, seen in self._read().items())

    def near_holds(self) -> dict[str, str]:
        """Return what is in the contacts of the near plug, as far as it is known or usual: contact -> conductor.

        What was read off goes before what is usual; once it differs, the rest is shown only when it is settled.
        """
        if not self.near_reads or not self.read_differs():
            return dict(self.order.conductors) if self.order else {}
        built = self.advice.as_built if self.advice else None
        if built is not None and built.settled:
            return {contact: name for contact, name in built.near_orders[0].conductors if name is not None}
        sure = {contact: next(iter(seen)) for contact, seen in self._read().items() if len(seen) == 1}
        return {contact: name for contact, name in sure.items() if name is not None}

    def _read(self) -> dict[str, frozenset[str | None]]:
        """Return the conductors that each colour read off the near plug can mean; None: an empty contact."""
        if self.colours is None or not self.near_reads:
            return {}
        from wiremap.judge.plugs.evidence import EMPTY, seen_as

        known = self.colours
        return {
            contact: frozenset([None]) if word == EMPTY else frozenset(seen_as(known, word, known.names))
            for contact, word in self.near_reads
        }

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
    if case.near_reads and case.read_differs():
        return "colour, as read"
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
