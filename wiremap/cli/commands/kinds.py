"""`wiremap kinds`: the kinds of cable that --kind knows, and those of your own."""

from typing import TYPE_CHECKING

from wiremap.cli import options

if TYPE_CHECKING:
    from wiremap.cable.kinds import Kind


def command(as_json: options.Json = False) -> None:
    """List the kinds of cable that can be named with --kind, with their figures and whose those are."""
    from wiremap.cli.output import error_content, talk, write_json, write_line
    from wiremap.errors import WiremapError
    from wiremap.records.own_kinds import kinds_to_name, own_kind, own_kind_names
    from wiremap.report.words.measurements import kind_line

    found = list(kinds_to_name())
    broken = []
    for name in own_kind_names():
        try:
            found.append(own_kind(name))
        except WiremapError as error:
            broken.append(error)
    widest = max(len(one.name) for one in found)
    for one in found:
        if as_json:
            write_json(_content(one))
        else:
            write_line(f"{one.name:<{widest}}  {kind_line(one)}", widest + 2)
    for trouble in broken:
        if as_json:
            write_json(error_content(trouble))
        else:
            talk(f"{trouble.what}\nhint: {trouble.hint}")


def _content(one: "Kind") -> dict[str, object]:
    return {"command": "kinds", "kind": one.name, **one.to_builtins()}
