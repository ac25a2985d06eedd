"""The tester in the hand, put together: options, tester, book, doors, and the code on the terminal."""

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from msgspec.structs import replace

from wiremap.bench.handset import Shot, wanted_with
from wiremap.bench.handset_book import HandsetBook
from wiremap.bench.handset_loop import HandsetLoop
from wiremap.bench.mend.handset_mend import HandsetMend
from wiremap.bench.sockets import TesterSockets, sides
from wiremap.cli.choices import adapters, far_word, language_of_tester
from wiremap.cli.lot_desk import LotDesk
from wiremap.cli.mending import Start, words_kept
from wiremap.cli.options import CableOptions
from wiremap.cli.output import talk, terminal, write_json
from wiremap.cli.screen import Screen
from wiremap.judge.case import Case, JobNames, Requirements, judge_case
from wiremap.judge.findings import Verdict
from wiremap.lines import in_lines
from wiremap.phone.app import Served, Streams
from wiremap.phone.doors import Doors, Rates
from wiremap.phone.guard import Here
from wiremap.phone.lot.desk import PhoneDesk
from wiremap.phone.lot.fragment import lot_event
from wiremap.phone.serve import address_to_serve, code_lines, code_url, here_of, listening, serve, serving
from wiremap.phone.wishes import lot_wish_sent
from wiremap.reading.reading import Reading
from wiremap.records.captures.keep import job_of
from wiremap.records.captures.work_list import work_list
from wiremap.records.handset_file import handset_path
from wiremap.records.home import home
from wiremap.records.keys import choose_key
from wiremap.records.lots.ledger_entry import Entry
from wiremap.records.new_file import check_folder, make_folder
from wiremap.report.terminal.display import Terminal

CODE_COLOURS = "97;40"  # bright white on black (ECMA-48, SGR), whatever the terminal's own are
TALLEST = 1000  # rows of a terminal that does not say how many it has
NO_ROOM = "The code needs a window of {} x {}, with block characters. Until then open this address:"
Where = tuple[str | None, int, str | None, bool]  # address, port, name, whether https


def serve_tester(cable: CableOptions, tester: str | None, far: str, talks: Path | None, where: Where) -> None:
    """Serve phones until it is interrupted; what can be refused is, before the tester is opened."""
    far_is, (asked, port, name, tls) = far_word(far), where
    address = address_to_serve(asked)
    folder = cable.save or home() / "phone" / "captures"
    if cable.save is None:
        make_folder(folder)
    check_folder(folder)
    job, names, work = job_of(cable.job)
    wanted = cable.requirements()
    start = Start(None, tester, far_is, None, talks)
    near, far_adapter = adapters(cable.near_adapter, cable.far_adapter)
    language = language_of_tester(talks, tester)
    book = HandsetBook(handset_path(port), folder, choose_key(cable.key), job, work)
    handset = book.read(names.cable)
    if names.cable and handset.label != names.cable and not handset.mending:
        handset = replace(handset, label=names.cable)

    def known(shot: Shot) -> Requirements:
        return wanted_with(wanted, shot)

    def called(label: str) -> JobNames:
        return replace(names, cable=label)

    def judge(shot: Shot) -> Case:
        return judge_case(shot.reading, known(shot), called(shot.label))

    def bare(reading: Reading) -> tuple[Verdict, Case]:
        case = judge_case(reading, wanted, names)
        return case.diagnosis.verdict, case

    mend = HandsetMend(known, called, lambda label: words_kept(start, _labelled(cable, label)), work_list().items)
    certificate, mark = _certificate(tls, (address, name))
    here = here_of(address, name, port, tls)
    doors = Doors(home() / "phone" / f"doors-{port}.json", port, tls, time.time)
    with listening(address, port) as line, TesterSockets(tester, bare, near, far_adapter, language) as sockets:
        loop = HandsetLoop(sockets, book, handset, judge, sides(wanted.expect), far_is, time.monotonic, mend)
        served = Served(loop, doors, Rates(time.monotonic), time.monotonic, Streams())
        code = Code(here, doors, folder, mark, cable.as_json)
        serve(served, loop, here, line, certificate, code.show)
    code.leave()


def _labelled(cable: CableOptions, label: str) -> CableOptions:
    """Return the options with a label in the place of the job's own, as `wiremap mend` is to find them."""
    job = [word for word in cable.job or () if not word.startswith("cable=")]
    return replace(cable, job=[*job, f"cable={label}"] if label else job)


def _certificate(tls: bool, names: tuple[str, str | None]) -> tuple[Path | None, str]:
    if not tls:
        return None, ""
    from wiremap.phone.tls import certificate

    return certificate(home() / "phone", tuple(name for name in names if name))


def phones_in(count: int) -> str:
    """Return how many phones are in, and what the code is good for."""
    return f"{count} phone{'s' if count != 1 else ''} in. The code opens once, within ten minutes."


class Code:
    """The page on the laptop's terminal: the code to scan, the address, who is in; drawn anew when that changes."""

    def __init__(self, here: Here, doors: Doors, folder: Path, mark: str, as_json: bool) -> None:
        """Make it; mark: the certificate's fingerprint, "" = none."""
        self._here = here
        self._doors = doors
        self._folder = folder
        self._mark = mark
        self._json = as_json
        self._screen = Screen(as_json)
        self._shown = ("", -1)

    def show(self) -> None:
        """Show it, where something of it has changed."""
        now = (code_url(self._here, self._doors.secret()), self._doors.phones_in)
        if now == self._shown:
            return
        self._shown = now
        if self._json:
            write_json({"command": "phone", "url": now[0], "phones": now[1], "captures": str(self._folder)})
        elif self._screen.draws:
            self._screen.page(for_terminal_page(now[0], self._lines()))
        else:
            talk("\n".join([now[0], *self._lines()]))

    def _lines(self) -> list[str]:
        mark = [f"Certificate {self._mark}, for when the phone warns."] if self._mark else []
        said = f"{phones_in(self._doors.phones_in)} Ctrl-C ends it."
        return [said, *mark, f"Captures: {self._folder}"]  # a folder's name may be of any length

    def leave(self) -> None:
        """Go below the page."""
        self._screen.leave()


def for_terminal_page(url: str, lines: list[str]) -> str:
    """Return the page: the code, the address, what is said, all that the terminal has rows for."""
    where = terminal()
    rows = (where.height or TALLEST) - 1  # the cursor's own
    return "\n".join(code_page(url, lines, where, rows)) + "\n"


def code_page(url: str, lines: list[str], where: Terminal, rows: int) -> list[str]:
    """Return the code in black and white, where there is room for it, the address, what is said; in so many rows.

    What does not fit below the code is cut: the code is what the page is for.
    """
    code = code_lines(url)
    said = [part for line in (url, *lines) for part in in_lines(line, where.width)]
    if not where.blocks or len(code[0]) > where.width or len(code) >= rows:
        height = (where.height or TALLEST) - rows + len(code) + 2
        return [NO_ROOM.format(len(code[0]), height), *said][:rows]
    return [*(where.styled(line, CODE_COLOURS) for line in code), *said[: rows - len(code)]]


class LotCode:
    """The code below the page of a lot, the address, who is in; where it has no room, the address alone."""

    def __init__(self, here: Here, doors: Doors, mark: str) -> None:
        """Make it; mark: the certificate's fingerprint, "" = none."""
        self._here = here
        self._doors = doors
        self._mark = mark
        self._said = ""

    def lines(self, where: Terminal, rows: int) -> list[str]:
        """Return the lines below the page, at most so many."""
        return code_page(code_url(self._here, self._doors.secret()), self._about(), where, rows)

    def say(self) -> None:
        """Say the address, and who is in, when that has changed."""
        url = code_url(self._here, self._doors.secret())
        if url != self._said:
            self._said = url
            talk("\n".join([url, *self._about()]))

    def _about(self) -> list[str]:
        mark = [f"Certificate {self._mark}: compare it, when the phone warns."] if self._mark else []
        return [phones_in(self._doors.phones_in), *mark]


class LotPhones:
    """Phones of a lot: the line they come in by, and what the terminal shows of it."""

    def __init__(self, where: Where) -> None:
        """Listen; UsageError where that cannot be."""
        asked, port, name, tls = where
        address = address_to_serve(asked)
        self._certificate, mark = _certificate(tls, (address, name))
        self._here = here_of(address, name, port, tls)
        self._doors = Doors(home() / "phone" / f"doors-{port}.json", port, tls, time.time)
        self._line = listening(address, port)
        self.code = LotCode(self._here, self._doors, mark)

    def close(self) -> None:
        """Listen no more."""
        self._line.close()

    @contextmanager
    def beside(self, desk: LotDesk, lot: str, entries: Sequence[Entry]) -> Iterator[PhoneDesk]:
        """Give a desk that phones look on, too, while this lasts."""
        phones = PhoneDesk(desk, lot, desk.standing, entries, time.monotonic)
        desk.on_typing = phones.typing
        clock = time.monotonic
        served = Served(phones, self._doors, Rates(clock), clock, Streams(), lot_event, lot_wish_sent, False)
        with serving(served, self._here, self._line, self._certificate):
            try:
                yield phones
            finally:
                phones.end()
