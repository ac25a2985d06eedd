"""Rows to scans: where one begins and ends, which are whole, and which came alike often enough to be believed."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from wiremap.reading.talk.language import Language
from wiremap.reading.talk.names import Name, one_kind
from wiremap.reading.talk.rows import Heading, Talk, TalkItem, TalkRow


class Scan(Struct, frozen=True):
    """One whole scan, comparable: its rows in order (of links: each once, sorted) and the names of its columns."""

    rows: tuple[TalkRow, ...]
    columns: tuple[Name, ...] = ()


class Scans(Struct, frozen=True):
    """The scans of a text in order, None = one that was broken. mark: the line that links stand between, "" = none."""

    found: tuple[Scan | None, ...]
    mark: str = ""


class AlikeScan(Struct, frozen=True):
    """The one scan that came alike. times: how often in all; broken: scans that were not whole or not alike."""

    scan: Scan
    times: int
    broken: int
    mark: str


class UnsteadyError(Exception):
    """No scan came alike often enough, or two different ones did; whole, broken: how many there were of either."""

    def __init__(self, what: str, whole: int, broken: int) -> None:
        super().__init__(what)
        self.what, self.whole, self.broken = what, whole, broken


def scans_of(found: Iterable[TalkItem], language: Language) -> Scans:
    """Return the scans that rows make in a language."""
    every = list(found)
    if language.form == "links":
        return _links(every, language)
    rows = [item for item in every if isinstance(item, TalkRow)]
    if language.form in ("cells", "json") and rows and sum(row.label is None for row in rows) > len(rows) // 2:
        return Scans(tuple(_bare(every)))
    return Scans(tuple(_labelled(every, language)))


def steady(scans: Scans, least: int) -> AlikeScan:
    """Return the scan that came alike so many times in a row, one more where any was broken; else UnsteadyError.

    Two different ones that each did so are two cables, and none is believed.
    """
    whole = [scan for scan in scans.found if scan is not None]
    if any(scan is None for scan in scans.found) and least > 1:
        least += 1
    believed: dict[Scan, int] = {}
    run = 0
    for at, scan in enumerate(whole):
        run = run + 1 if at and scan == whole[at - 1] else 1
        if run >= least:
            believed[scan] = max(believed.get(scan, 0), run)
    broken = len(scans.found) - len(whole)
    if len(believed) > 1:
        raise UnsteadyError(f"{len(believed)} different cables stand in it", len(whole), broken)
    if not believed:
        times = "twice" if least == 2 else f"{least} times"
        raise UnsteadyError(f"no scan came {times} in a row alike", len(whole), broken)
    (scan,) = believed
    same = sum(one == scan for one in whole)
    if 2 * same <= len(whole):
        raise UnsteadyError("most scans differ from the one that came alike", len(whole), broken)
    return AlikeScan(scan, same, len(scans.found) - same, scans.mark)


def _labelled(every: Sequence[TalkItem], language: Language) -> Iterator[Scan | None]:
    """Yield scans of rows that say their contact: going back begins a new one; whole is what has the usual contacts."""
    pieces: list[tuple[list[TalkRow], tuple[Name, ...]]] = []
    columns: tuple[Name, ...] = ()
    rows: list[TalkRow] = []
    order = _order(every)
    for item in [*every, None]:
        if isinstance(item, TalkRow) and item.label is not None:
            if rows and order[item.label] <= order[rows[-1].label or item.label]:
                pieces.append((rows, columns))
                rows = []
            rows.append(item)
        elif isinstance(item, Heading) or item is None:
            if rows:
                pieces.append((rows, columns))
                rows = []
            columns = item.names if isinstance(item, Heading) else ()
    usual = Counter(tuple(row.label for row in rows) for rows, _ in pieces)
    if not usual:
        return
    best, _ = max(usual.items(), key=lambda entry: (entry[1], len(entry[0])))
    for rows, heading in pieces:
        labels = tuple(row.label for row in rows)
        width = {len(row.cells) for row in rows}
        even = language.form not in ("cells", "json") or len(width) == 1 or _lists(rows)
        whole = labels == best and even and _in_order([name for name in best if name is not None])
        yield Scan(tuple(rows), heading) if whole and one_kind([n for n in labels if n]) else None


def _lists(rows: Sequence[TalkRow]) -> bool:
    """Whether rows of JSON name contacts, as many as there are, and are no cells."""
    return any(cell not in ("0", "1") for row in rows for cell in row.cells) or len({len(r.cells) for r in rows}) > 1


def _order(every: Sequence[TalkItem]) -> dict[Name, int]:
    """Return the place of every label in the order a tester goes through them: near, then far, as first seen."""
    seen: dict[Name, None] = {}
    for item in every:
        if isinstance(item, TalkRow) and item.label is not None:
            seen.setdefault(item.label)
    numbers = [(("near", None, "far").index(name.end), name) for name in seen]
    if not any(name.number == 0 or name.number is None for _, name in numbers):
        seen = dict.fromkeys(name for _, name in sorted(numbers, key=lambda one: (one[0], one[1].number or 0)))
        return {name: place for place, name in enumerate(seen)}
    # A screen may stand before or behind the numbers: where it was usually seen.
    after = Counter(
        (a.label, b.label)
        for a, b in pairwise(every)
        if isinstance(a, TalkRow) and isinstance(b, TalkRow) and a.label and b.label
    )
    place: dict[Name, float] = {}
    for end, name in numbers:
        if name.number is not None:
            place[name] = 100 * end + name.number
            continue
        same = [other for _, other in numbers if other.end == name.end and other.number is not None]
        first = min(same, key=lambda one: one.number or 0, default=name)
        last = max(same, key=lambda one: one.number or 0, default=name)
        place[name] = 100 * end + (-1 if after[name, first] > after[last, name] else 90)
    ordered = sorted(place, key=lambda name: place[name])
    return {name: number for number, name in enumerate(ordered)}


def _in_order(labels: Sequence[Name]) -> bool:
    """Whether the numbers of each end follow one another without a gap, but for the screen."""
    for end in {name.end for name in labels}:
        numbers = [name.number for name in labels if name.end == end and name.number is not None]
        if not numbers or numbers[0] > 1 or numbers != list(range(numbers[0], numbers[0] + len(numbers))):
            return False
    return True


def _bare(every: Sequence[TalkItem]) -> Iterator[Scan | None]:
    """Yield scans of rows without a label: as many rows as cells stand together, and something else around them."""
    columns: tuple[Name, ...] = ()
    rows: list[TalkRow] = []
    for item in [*every, None]:
        if isinstance(item, TalkRow):
            rows.append(item)
            continue
        if rows:
            yield _square(rows, columns)
            rows, columns = [], ()
        if isinstance(item, Heading):
            columns = item.names
        elif isinstance(item, Talk) and item.text:
            columns = ()


def _square(rows: Sequence[TalkRow], columns: tuple[Name, ...]) -> Scan | None:
    """Return rows as a scan when they are as many as their cells, their own numbers in a first column left out."""
    width = {len(row.cells) for row in rows}
    if len(width) != 1 or any(row.label is not None for row in rows):
        return None
    if width == {len(rows)}:
        return Scan(tuple(rows), columns)
    first = [row.cells[0] for row in rows]
    if width == {len(rows) + 1} and first in ([str(n + k) for n in range(len(rows))] for k in (0, 1)):
        labelled = (TalkRow(Name(None, int(row.cells[0])), row.cells[1:]) for row in rows)
        return Scan(tuple(labelled), columns)
    return None


def _links(every: Sequence[TalkItem], language: Language) -> Scans:
    """Return scans of links: what stands between two equal marks with nothing unexplained inside, the ends left out."""
    shapes = Counter(item.text for item in every if isinstance(item, Talk))
    named = {shape: count for shape, count in shapes.items() if shape and count > 2}
    if language.begin:
        mark = language.begin
    elif named:
        mark = max(named, key=lambda shape: named[shape])
    else:
        mark = ""
    if shapes[mark] < 3:
        return Scans((), mark)
    pieces: list[list[TalkItem]] = [[]]
    for item in every:
        if isinstance(item, Talk) and item.text == mark:
            pieces.append([])
        else:
            pieces[-1].append(item)
    inner = [piece for piece in pieces[1:-1] if piece or mark]
    usual = Counter(shape for piece in inner for shape in {item.text for item in piece if isinstance(item, Talk)})
    found: list[Scan | None] = []
    for piece in inner:
        links = {row for item in piece if isinstance(item, tuple) for row in item}
        talks = {item.text for item in piece if isinstance(item, Talk)}
        sound = all(not talk or 2 * usual[talk] > len(inner) for talk in talks)
        found.append(Scan(tuple(sorted(links, key=repr))) if sound else None)
    return Scans(tuple(found), mark)
