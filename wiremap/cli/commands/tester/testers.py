"""`wiremap testers`: what is connected."""

import typer

from wiremap.cli import options


def command(as_json: options.Json = False) -> None:
    """List the testers that are connected, and why a port could not be asked."""
    from wiremap.cli.output import error_content, talk, write_json, write_line
    from wiremap.records.commissions import STANDINGS, commission_of
    from wiremap.tester.measure import find_testers

    found = find_testers()
    for port in found:
        who = port.tester
        record = None if who is None else commission_of(who)
        if as_json:
            known = None if who is None else {"model": who.model, "serial": who.serial, "firmware": who.firmware}
            if known is not None and record is not None:
                known["commissioned"] = record.judged
            trouble = {} if port.problem is None else error_content(port.problem)
            write_json({"command": "testers", "address": port.address, "tester": known, **trouble})
        elif who is not None:
            state = "" if record is None else f", {STANDINGS[record.judged]}"
            write_line(f"{port.address}  {who.model}, serial {who.serial}, firmware {who.firmware}{state}", 2)
        elif port.problem is not None:
            write_line(f"{port.address}  {port.problem.what}", 2)
            talk(f"hint: {port.problem.hint}")
    sound = sum(port.tester is not None for port in found)
    if as_json:
        write_json({"summary": {"ports": len(found), "testers": sound}})
    elif not found:
        talk("No tester is connected.\n\nhint: plug one in; `wiremap test --tester sim` starts the simulator.")
    raise typer.Exit(0 if sound else 5)
