"""The tester in the hand, put together: options, tester, book, doors, and the code on the terminal."""

import textwrap
import time
from pathlib import Path

from msgspec.structs import replace

from wiremap.bench.handset import Shot, wanted_with
from wiremap.bench.handset_book import HandsetBook
from wiremap.bench.handset_loop import HandsetLoop
from wiremap.bench.mend.handset_mend import HandsetMend
from wiremap.bench.sockets import TesterSockets, sides
from wiremap.cli.choices import adapters, far_word, language_of_tester
from wiremap.cli.mending import Start, words_kept
from wiremap.cli.options import CableOptions
from wiremap.cli.output import talk, terminal, write_json
from wiremap.cli.screen import Screen
from wiremap.judge.case import Case, JobNames, Requirements, judge_case
from wiremap.judge.findings import Verdict
from wiremap.phone.app import Served, Streams
from wiremap.phone.doors import Doors, Rates
from wiremap.phone.guard import Here
from wiremap.phone.serve import address_to_serve, code_lines, code_url, here_of, listening, serve
from wiremap.reading.reading import Reading
from wiremap.records.captures.keep import job_of
from wiremap.records.captures.work_list import work_list
from wiremap.records.handset_file import handset_path
from wiremap.records.home import home
from wiremap.records.keys import choose_key
from wiremap.records.new_file import check_folder, make_folder

CODE_COLOURS = "97;40"  # bright white on black (ECMA-48, SGR), whatever the terminal's own are
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
        count = self._doors.phones_in
        lines = [f"{count} phone{'s' if count != 1 else ''} in. The code opens once, within ten minutes."]
        lines.append(f"Captures: {self._folder}. Ctrl-C ends it.")
        if self._mark:
            lines.append(f"Certificate {self._mark}: compare it, when the phone warns.")
        return lines

    def leave(self) -> None:
        """Go below the page."""
        self._screen.leave()


def for_terminal_page(url: str, lines: list[str]) -> str:
    """Return the page: the code in black and white, where the terminal has room for it, the address, what is said.

    What does not fit below the code is cut: the code is what the page is for.
    """
    where = terminal()
    code = code_lines(url)
    said = [part for line in (url, *lines) for part in textwrap.wrap(line, where.width)]
    rows = (where.height or len(code) + len(said) + 1) - 1  # the cursor's own
    if not where.blocks or len(code[0]) > where.width or len(code) >= rows:
        return "\n".join([NO_ROOM.format(len(code[0]), len(code) + 3), *said][:rows]) + "\n"
    drawn = [where.styled(line, CODE_COLOURS) for line in code]
    return "\n".join([*drawn, *said[: rows - len(code)]]) + "\n"
