"""`wiremap batch`: sweep a lot of cables hands-free."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from wiremap.cli import options

if TYPE_CHECKING:
    from contextlib import ExitStack

    from wiremap.cli.phone_desk import LotPhones, Where
    from wiremap.judge.case import Requirements
    from wiremap.reading.talk.language import Language
    from wiremap.records.lots.plan import LotPlan

IDLE_WITHOUT_KEYS_S = 60.0


def command(
    lot: Annotated[str, typer.Argument(metavar="LOT", help="Name of the lot; one that exists goes on.")],
    tester: options.TesterAddress = None,
    talks: options.Talks = None,
    plan: Annotated[Path | None, typer.Option("--plan", metavar="FILE.toml", help="The lot's job file.")] = None,
    expect: options.Expect = None,
    screen: options.Screen = None,
    require: options.Require = None,
    terminators: options.Terminators = None,
    near_adapter: options.NearAdapter = None,
    far_adapter: options.FarAdapter = None,
    kind: options.KindOfCable = None,
    near_order: options.NearOrder = None,
    colours: options.Colours = None,
    count: Annotated[
        int | None, typer.Option("--count", min=1, max=1_000_000, help="How many cables the lot has.")
    ] = None,
    prefix: Annotated[str | None, typer.Option("--prefix", help="Labels are this and a running number.")] = None,
    scan: Annotated[bool, typer.Option("--scan", help="Labels are scanned with a barcode reader.")] = False,
    idle: Annotated[
        float | None,
        typer.Option("--idle", metavar="MINUTES", min=0, help="Stop when no cable was put in or tested for so long."),
    ] = None,
    key: options.Key = None,
    as_json: options.Json = False,
    bell: Annotated[bool, typer.Option("--bell/--no-bell", help="Ring for each verdict.")] = True,
    phone: Annotated[bool, typer.Option("--phone", help="Serve a page for phones: the lot in the hand.")] = False,
    address: options.Address = None,
    port: options.ServedPort = options.PHONE_PORT,
    name: options.HostName = None,
    tls: options.Tls = False,
) -> None:
    """Sweep a lot of cables: plug one in, read the verdict, take it out, take the next. Every test is kept.

    Keys: space or Enter goes on with what the page says; r tests the last cable again, n notes, s skips a label,
    u takes the last label back, l types a label, q stops. With --phone a phone shows it, too, and asks for the same.
    """
    from wiremap.cli.choices import language_of_tester

    said: dict[str, Any] = {
        "expect": expect,
        "screen": screen,
        "require": tuple(require or ()),
        "count": count,
        "prefix": prefix,
        "scanned": scan,
        "near_adapter": near_adapter,
        "far_adapter": far_adapter,
        "near_order": near_order,
        "colours": colours,
        "kind": kind,
    }
    said = {name: value for name, value in said.items() if value}
    if terminators is not None:  # none at all is a number, too
        said["terminators"] = terminators
    where = _where(phone, address, port, name, tls)
    settings = _settings(lot, plan, said)
    language = language_of_tester(talks, tester)
    raise typer.Exit(_sweep(lot, settings, tester, language, key, _idle_s(settings, idle), as_json, bell, where))


def _where(phone: bool, address: str | None, port: int, name: str | None, tls: bool) -> "Where | None":
    """Return where phones are served, None = nowhere; UsageError where they cannot be, or none were asked for."""
    from wiremap.errors import UsageError

    if phone:
        from wiremap.cli.commands.phone import phone_needs

        phone_needs()
        return address, port, name, tls
    if address or name or tls or port != options.PHONE_PORT:
        raise UsageError("--address, --port, --name and --tls are for phones", "Give --phone too.")
    return None


def _settings(lot: str, plan: Path | None, said: "dict[str, Any]") -> "LotPlan":
    """Return the lot's settings: the job file's, what the command line says in their place, or those it began with."""
    from msgspec.structs import replace

    from wiremap.errors import FileError, UsageError
    from wiremap.records.lots.plan import LotPlan, at_home, lot_folder, read_plan, settled_plan

    read = read_plan(plan) if plan else LotPlan()
    try:
        planned = at_home(replace(read, **said))
    except FileError as error:
        raise UsageError(error.what, error.hint) from error
    return settled_plan(lot_folder(lot), planned if said or plan else None)


def _idle_s(settings: "LotPlan", minutes: float | None) -> float | None:
    """Return after how many seconds without a cable the lot stops, None = never, which only a terminal may say."""
    from wiremap.cli.keyboard import Keyboard
    from wiremap.errors import UsageError

    if minutes is not None:
        return 60 * minutes
    if Keyboard().is_terminal:
        return None
    if not settings.count:
        raise UsageError(
            "without a terminal there is no key that could stop the lot",
            "Say how many cables it has, as --count 48, or how long to wait for one, as --idle 10 (minutes).",
        )
    return IDLE_WITHOUT_KEYS_S


def _requirements(lot: str, settings: "LotPlan") -> "Requirements":
    """Return what every cable of the lot must be; UsageError where nothing is expected of them."""
    from wiremap.errors import UsageError
    from wiremap.judge.case import requirements
    from wiremap.judge.run.length.specified import WantedLength
    from wiremap.records.own_kinds import kind_called

    wanted = requirements(
        settings.expect,
        settings.screen,
        settings.require,
        settings.near_order,
        settings.colours,
        length=WantedLength(settings.length_m, settings.tolerance_m) if settings.length_m else None,
        terminators=settings.terminators,
        cable=kind_called(settings.kind) if settings.kind else None,
    )
    if wanted.expect is None:
        raise UsageError(
            f"lot {lot}: nothing is expected of its cables", "Say what they should be, as --expect straight."
        )
    return wanted


def _phones(where: "Where | None", begun: "ExitStack") -> "LotPhones | None":
    """Return the phones of a lot, whose line is open as long as what was begun; None where there are none."""
    if where is None:
        return None
    from wiremap.cli.phone_desk import LotPhones

    phones = LotPhones(where)
    begun.callback(phones.close)
    return phones


def _sweep(
    lot: str,
    settings: "LotPlan",
    tester: str | None,
    language: "Language | None",
    key: str | None,
    idle_s: float | None,
    as_json: bool,
    bell: bool,
    where: "Where | None",
) -> int:
    """Sweep the lot, and return the exit code of what its cables are now; what can be checked is, before it begins."""
    import time
    from contextlib import ExitStack

    from wiremap.bench.driver import run_sweep
    from wiremap.bench.lot_book import LotBook, plan_for_sweep, resumed
    from wiremap.bench.sockets import TesterSockets, sides
    from wiremap.cli.choices import adapters
    from wiremap.cli.keyboard import Keyboard
    from wiremap.cli.lot_desk import LotDesk
    from wiremap.cli.output import EXIT, exit_code_of_many
    from wiremap.judge.case import Case, JobNames, judge_case
    from wiremap.judge.findings import Verdict
    from wiremap.reading.reading import Reading
    from wiremap.records.keys import choose_key
    from wiremap.records.lots.ledger import newest_of_tester, open_ledger
    from wiremap.records.lots.plan import keep_plan, lot_folder, lots_folder

    wanted = _requirements(lot, settings)
    near, far = adapters(settings.near_adapter, settings.far_adapter)
    signing = choose_key(key)

    def judge(reading: Reading) -> tuple[Verdict, Case]:
        case = judge_case(reading, wanted, JobNames(settings.near, settings.far))
        return case.diagnosis.verdict, case

    with ExitStack() as begun:
        phones = _phones(where, begun)
        sockets = begun.enter_context(TesterSockets(tester, judge, near, far, language))
        keep_plan(lot_folder(lot), settings)
        ledger = begun.enter_context(open_ledger(lot_folder(lot)))
        keyboard = begun.enter_context(Keyboard().single_keys())
        book = LotBook(ledger, lot, settings, signing)
        desk = LotDesk(lot, book, keyboard, as_json, bell, idle_s, phones.code if phones else None)
        desk.found()
        newest = newest_of_tester(lots_folder(), sockets.serial or "")
        start = resumed(ledger.entries, plan_for_sweep(settings, sides(wanted.expect)), newest)
        beside = begun.enter_context(phones.beside(desk, lot, ledger.entries)) if phones else desk
        run_sweep(start, sockets, book, beside, time.monotonic)
        newest_verdicts = desk.farewell()
    return exit_code_of_many({EXIT[verdict] for verdict in newest_verdicts})
