"""Without the libraries for phones the program is whole but for `wiremap phone`, which says how to get them."""

import subprocess
import sys
from pathlib import Path

from wiremap.cli.app import COMMANDS
from wiremap.cli.commands.phone import NEEDED

LIBRARIES = (*NEEDED, "h11", "segno")
START = "import sys; sys.argv[1:] = {words!r}; from wiremap.__main__ import main; main()"


def python(code: str) -> subprocess.CompletedProcess[str]:
    """Run a piece of Python as a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path[:0] = {sys.path!r}; {code}"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def test_without_the_extra_it_says_how_to_get_it() -> None:
    """Each library that is missing is named, and what installs them all; it is a wrong call, not a fault."""
    block = f"sys.modules.update(dict.fromkeys({NEEDED!r}))"  # what is None there cannot be imported
    done = python(f"{block}; {START.format(words=['phone', '--tester', 'sim'])}")
    assert done.returncode == 2
    assert "starlette, uvicorn, ifaddr must be installed" in done.stderr
    assert "pip install 'wiremap[phone]'" in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr
    one = python(f"sys.modules['ifaddr'] = None; {START.format(words=['phone'])}")
    assert one.returncode == 2
    assert "for phones ifaddr must be installed" in one.stderr


def test_with_it_a_call_is_not_refused_so() -> None:
    """Counter-check: with the libraries there, what is refused is something else."""
    done = python(START.format(words=["phone", "--address", "0.0.0.0"]))
    assert done.returncode == 2
    assert "must be installed" not in done.stderr
    assert "every network at once" in done.stderr


def test_no_command_loads_them_before_it_needs_them() -> None:
    """Every command's module is loaded, and the program's start: none of the libraries is there."""
    modules = ["wiremap.cli.app", *COMMANDS.values()]
    code = f"import importlib; [importlib.import_module(name) for name in {modules!r}]"
    done = python(f"{code}; print(sorted(set({LIBRARIES!r}) & set(sys.modules)))")
    assert done.stdout == "[]\n", done.stderr


def test_a_cable_is_judged_without_them(tmp_path: Path) -> None:
    """With all of them out of reach a table is judged as ever."""
    table = tmp_path / "table.csv"
    rows = [[int(row == column) for column in range(8)] for row in range(8)]
    table.write_text("\n".join(",".join(map(str, row)) for row in rows) + "\n", encoding="utf-8")
    words = ["judge", str(table), "--cells", "continuity", "--expect", "straight"]
    done = python(f"sys.modules.update(dict.fromkeys({LIBRARIES!r})); {START.format(words=words)}")
    assert done.returncode == 0, done.stderr
    assert "PASS" in done.stdout
