"""The command line as a whole: help, version, what is loaded, interrupts and crashes."""

import contextlib
import inspect
import os
import signal
import subprocess
import sys
import time
import tomllib
from importlib import import_module
from pathlib import Path

import pytest

import wiremap
from tests.cli.running import process, run
from wiremap.cli.app import COMMANDS
from wiremap.cli.options import CableOptions
from wiremap.judge.verdict import Diagnosis
from wiremap.records.captures.files import load

OWN = {"PYTHONPATH": os.pathsep.join(sys.path)}


def loaded_by(program: str) -> set[str]:
    """Return the modules that a program has loaded when it ends."""
    code = f"import sys\n{program}\nprint(*sorted(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **OWN}, capture_output=True, text=True, check=True
    )
    return set(done.stdout.splitlines()[-1].split())


def loaded_by_judging(table: str, folder: Path) -> set[str]:
    """Return the modules that are loaded when `wiremap judge` has shown the page of a table with M12 D plugs."""
    file = folder / "cable.csv"
    file.write_text(table, encoding="utf-8")
    words = ["judge", str(file), "--expect", "m12d-m12d"]
    return loaded_by(f"from wiremap.cli.app import run\ntry: run({words!r})\nexcept SystemExit: pass")


def test_importing_wiremap_loads_nothing_heavy() -> None:
    """`import wiremap` loads neither the serial line, the command line, nor pictures."""
    assert not loaded_by("import wiremap") & {"serial", "typer", "matplotlib", "numpy", "msgspec", "rich"}


def test_public_names_are_there() -> None:
    """Every public name is what its own room has, and using them all loads no command line and no pictures."""
    names = "import wiremap\nfor name in wiremap.__all__: getattr(wiremap, name)"
    assert not loaded_by(names) & {"typer", "matplotlib", "rich"}
    assert wiremap.Diagnosis is Diagnosis
    assert wiremap.load is load
    with pytest.raises(AttributeError, match="no_such_name"):
        _ = wiremap.no_such_name


NEVER = {
    "serial",
    "matplotlib",
    "rich",
    "cryptography",
    "rfc8785",
    "platformdirs",
    "wiremap.records.captures.capture",
    "wiremap.records.new_file",
    "wiremap.records.own_kinds",
    "wiremap.report.content",
}


def of_the_run(names: set[str]) -> set[str]:
    """Return the modules among these that look at capacitances and echoes, which a table has none of."""
    rooms = {name for name in names if name.startswith("wiremap.judge.run.") or name == "wiremap.judge.wiring.remote"}
    return rooms - {"wiremap.judge.run.length", "wiremap.judge.run.length.specified"}


def test_judging_a_table_that_passes_loads_little(tmp_path: Path) -> None:
    """Judging a table that passes loads no line, pictures, keys or arrays, and nothing only a reading needs."""
    found = loaded_by_judging("1,0,0,0\n0,1,0,0\n0,0,1,0\n0,0,0,1\n", tmp_path)
    assert {"wiremap.report.terminal.page", "wiremap.judge.remedy.advice"} <= found
    assert not found & (NEVER | {"numpy", "wiremap.judge.remedy.repair"})
    assert not any(name.startswith("wiremap.judge.plugs.") for name in found)
    assert not of_the_run(found)
    assert not any(name.startswith(("wiremap.tester", "wiremap.bench", "wiremap.reading.talk.")) for name in found)


def test_judging_a_table_that_fails_loads_the_repair_alone(tmp_path: Path) -> None:
    """Judging a table that fails loads what works out the repair, and else no more than one that passes."""
    found = loaded_by_judging("1,0,0,0\n0,1,0,0\n0,0,0,1\n0,0,1,0\n", tmp_path)
    assert {"wiremap.judge.remedy.repair", "wiremap.judge.plugs.as_built"} <= found
    assert not found & NEVER
    assert not of_the_run(found)


def test_judging_a_capture_loads_what_its_reading_needs() -> None:
    """The checks above would see the rooms they forbid: a capture with capacitances and echoes loads them."""
    file = next((Path(__file__).parents[2] / "captures").glob("*.json"))
    found = loaded_by(f"from wiremap.cli.app import run\ntry: run(['judge', {str(file)!r}])\nexcept SystemExit: pass")
    assert "numpy" in found
    assert {"wiremap.judge.run.pairing.pairing", "wiremap.judge.run.capacitance"} <= of_the_run(found)
    assert "wiremap.records.captures.capture" in found


def test_every_command_has_help() -> None:
    """Every command is listed with a sentence, and its own help says what it does and every option of it."""
    listed = run("--help")
    assert listed.code == 0
    for name in COMMANDS:
        assert f"\n  {name}" in listed.out
        own = run(name, "--help")
        assert own.code == 0
        assert f"Usage: wiremap {name}" in own.out
        for line in own.out.splitlines():
            if line.startswith("  --"):
                assert "  " in line.strip() or len(line) > 30


def test_no_command_prints_help_and_wrong_ones_exit_2() -> None:
    """Without a command the help is shown; an unknown command or option is a usage error."""
    assert process().out.startswith("Usage: wiremap")
    wrong = run("tset")
    assert (wrong.code, wrong.out) == (2, "")
    assert "tset" in wrong.err
    assert run("judge").code == 2
    assert run("judge", "--nope", "x").code == 2


def test_version() -> None:
    """--version prints the version that the package carries."""
    assert run("--version").out == f"wiremap {wiremap.__version__}\n"


def times_open(process_id: int, what: Path) -> int:
    """Return how many of a process's open files are this one; those closed meanwhile do not count."""
    count = 0
    for file in Path(f"/proc/{process_id}/fd").iterdir():
        with contextlib.suppress(FileNotFoundError):
            count += file.readlink() == what
    return count


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="sees in /proc that the command waits")
def test_an_interrupt_is_130() -> None:
    """Ctrl-C while a command waits ends it with 130, a word on stderr and no traceback."""
    end, writer = os.pipe()  # as a shell gives one: <(...)
    heard = (
        "import os, signal, sys; signal.signal(signal.SIGINT, signal.SIG_DFL); os.execv(sys.executable, sys.argv[1:])"
    )
    command = [sys.executable, "-m", "wiremap", "judge", f"/dev/fd/{end}"]
    waiting = subprocess.Popen(
        [sys.executable, "-c", heard, *command],  # a shell's work in the background is started deaf to Ctrl-C
        env={**os.environ, **OWN},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        pass_fds=(end,),
    )
    while times_open(waiting.pid, Path(f"/proc/self/fd/{end}").readlink()) < 2:
        assert waiting.poll() is None
        time.sleep(0.01)
    for _ in range(30):  # one that comes just before a read begins does not end it: Python's own race
        waiting.send_signal(signal.SIGINT)
        with contextlib.suppress(subprocess.TimeoutExpired):
            out, err = waiting.communicate(timeout=1)
            break
    waiting.kill()
    os.close(end)
    os.close(writer)
    assert waiting.returncode == 130
    assert out == ""
    assert err == "wiremap: interrupted\n"


def test_a_closed_pipe_is_no_traceback(tmp_path: Path) -> None:
    """When the reader of stdout goes away the command ends quietly."""
    (tmp_path / "c.csv").write_text("1,0,0,0\n0,1,0,0\n0,0,1,0\n0,0,0,1\n", encoding="utf-8")
    done = subprocess.run(
        f"{sys.executable} -m wiremap judge {' '.join(['c.csv'] * 3000)} --json | head -n 1",
        shell=True,
        cwd=tmp_path,
        env={**os.environ, **OWN},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.stdout.count("\n") == 1
    assert done.stderr == ""


def test_a_crash_is_70_and_no_verdict(tmp_path: Path) -> None:
    """An error of the program itself is exit code 70, never a verdict, and where it happened is kept."""
    file = tmp_path / "cable.csv"
    file.write_text("1,0,0,0\n0,1,0,0\n0,0,1,0\n0,0,0,1\n", encoding="utf-8")
    broken = tmp_path / "sitecustomize.py"
    broken.write_text("import wiremap.judge.verdict as v\nv.judged = lambda *a: 1 / 0\n", encoding="utf-8")
    done = process(
        "judge",
        str(file),
        environment={"PYTHONPATH": os.pathsep.join([str(tmp_path), *sys.path]), "WIREMAP_HOME": str(tmp_path)},
    )
    assert done.code == 70
    assert "ZeroDivisionError" in next(tmp_path.glob("broken/*/report.txt")).read_text()
    assert done.out == ""
    assert "ZeroDivisionError" in done.err


@pytest.mark.parametrize("encoding", ["ascii", "utf-8"])
def test_any_output_encoding_is_served(tmp_path: Path, encoding: str) -> None:
    """An output that cannot encode a name gets a replacement, not a crash."""
    file = tmp_path / "cable.csv"
    file.write_text("1,0,0,0\n0,1,0,0\n0,0,1,0\n0,0,0,1\n", encoding="utf-8")
    words = ("judge", str(file), "--expect", "m12d-m12d", "--job", "near=Brücke")
    done = process(*words, environment={"PYTHONIOENCODING": encoding})
    assert done.code == 0
    assert ("Brücke" if encoding == "utf-8" else "Br?cke") in done.out


def test_the_shell_completes_commands_and_options() -> None:
    """`--show-completion` prints a script for the shell, and what that script asks is answered."""
    named = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}  # the shell that is named, not the one that runs this
    script = _completed(named, "--show-completion", "bash")
    assert "complete -o default -F _wiremap_completion wiremap" in script
    asking = {"_WIREMAP_COMPLETE": "complete_bash"}
    assert _completed({**asking, "COMP_WORDS": "wiremap te", "COMP_CWORD": "1"}).split() == ["test", "testers"]
    assert _completed({**asking, "COMP_WORDS": "wiremap pinout --ex", "COMP_CWORD": "2"}).split() == ["--expect"]


def _completed(more: dict[str, str], *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "wiremap", *words],
        env={**os.environ, **OWN, **more},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return done.stdout


def test_the_licence_stands_in_the_package() -> None:
    """The licence's text is in the package, and named where a wheel is made from."""
    settings = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
    assert settings["project"]["license-files"] == ["wiremap/LICENSE"]
    text = Path(wiremap.__file__).with_name("LICENSE").read_text(encoding="utf-8")
    assert text.startswith(f"{settings['project']['license']} License")


@pytest.mark.parametrize("name", ["test", "judge"])
def test_the_options_of_one_cable_are_read_as_they_are_given(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A command that judges one cable has every field of CableOptions as an option, and gets what was given for it."""
    command = import_module(COMMANDS[name]).command
    options = set(CableOptions.__struct_fields__)
    assert options <= set(inspect.signature(command).parameters)

    class _ReadError(BaseException):
        pass

    def stop(given: CableOptions) -> None:
        raise _ReadError(given)

    monkeypatch.setattr(CableOptions, "requirements", stop)
    words = ("x.csv",) if name == "judge" else ()
    with pytest.raises(_ReadError) as seen:
        run(name, *words, "--expect", "straight", "--sound", "near", "--sound", "far", "--port-far", "auto", "--json")
    assert seen.value.args == (CableOptions("straight", sound=["near", "far"], port_far="auto", as_json=True),)
