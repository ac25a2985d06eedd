"""Whatever page or message names a command of the program names one that it has, with options that it takes."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
import typer

from wiremap.cli.app import COMMANDS, build

TOP = Path(__file__).resolve().parent.parent
PAGES = [TOP / "README.md", TOP / "DEVELOPERS.md", *sorted((TOP / "firmware_sim").glob("*.md"))]
OF_ALL = frozenset({"--help", "--version", "--install-completion", "--show-completion"})
NAMED = re.compile(r"(?<![\w./-])wiremap (?=[a-z-])([^`\n|;&>]*)")
BLOCKS = re.MULTILINE | re.DOTALL
OPTION = re.compile(r"(?<!\S)--[a-z][a-z-]*")


@cache
def options_of(command: str) -> frozenset[str]:
    """Return the options of a command, as the program that is run parses them."""
    group = typer.main.get_command(build(tuple(COMMANDS)))
    assert isinstance(group, typer.core.TyperGroup)
    options = [taken for taken in group.commands[command].params if taken.param_type_name == "option"]
    return OF_ALL.union(*(option.opts for option in options))


def misnamed(text: str) -> list[str]:
    """Return the commands between backticks, in blocks and indented lines of a text that the program would refuse."""
    said = [*re.findall(r"`(wiremap [^`]*)`", text), *re.findall(r"^(?:```.*?^```|    wiremap .*?)$", text, BLOCKS)]
    found = []
    for named in (named for where in said for named in NAMED.findall(where)):
        command = named.split()[0]
        taken = options_of(command) if command in COMMANDS else OF_ALL
        if not (command in COMMANDS or command in OF_ALL) or not set(OPTION.findall(named)) <= taken:
            found.append(f"wiremap {named}".strip())
    return found


def quotes(path: Path) -> Iterator[str]:
    """Yield what stands between backticks in the texts of a module, and in its documentation."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.JoinedStr):
            parts = [part.value if isinstance(part, ast.Constant) else "X" for part in node.values]
            yield "".join(str(part) for part in parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_pages_name_commands_that_are_there(page: Path) -> None:
    """Every `wiremap ...` on a page is a command with options of its own."""
    assert misnamed(page.read_text(encoding="utf-8")) == []


def test_every_command_and_option_is_in_the_readme() -> None:
    """Every command and every option of every command stands in README.md."""
    readme = PAGES[0].read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"`wiremap {command}" in readme
        for option in options_of(command):
            assert f"`{option}" in readme, f"{command} {option}"


def test_messages_name_commands_that_are_there() -> None:
    """Every `wiremap ...` in a sentence of the program or of the simulator is one, too."""
    paths = [path for top in ("wiremap", "firmware_sim") for path in sorted((TOP / top).rglob("*.py"))]
    texts = [(path, text) for path in paths for text in quotes(path)]
    assert len(texts) > 1000
    assert [(path.name, wrong) for path, text in texts for wrong in misnamed(text)] == []


@pytest.mark.parametrize(
    "text", ["`wiremap pinout --order T568B`", "```\n$ wiremap tset --tester sim\n```", "    wiremap phone --lot x\n"]
)
def test_a_command_that_is_not_there_is_seen(text: str) -> None:
    """A command or an option that does not exist is found, between backticks, in a block and in an indented line."""
    assert misnamed(text)
