"""What judges changes elsewhere is what judges them here, and the oldest libraries are those that are allowed."""

import pkgutil
import re
import shlex
import subprocess
import tomllib
from importlib import import_module
from importlib.metadata import PackageNotFoundError
from pathlib import Path
from typing import Any

import pytest
import yaml

import tests.long
from tests import oldest

TOP = Path(__file__).parents[1]
needs_checkout = pytest.mark.skipif(not (TOP / ".ci" / "run").exists(), reason="no hidden files beside the tests")


def matrix() -> dict[str, Any]:
    """Return the matrix as a YAML reader has it."""
    text = (TOP / ".github" / "workflows" / "matrix.yml").read_text(encoding="utf-8")
    read: dict[str, Any] = yaml.safe_load(text)
    return read


def bare(command: str) -> str:
    """Return a command without where its program lies: as module of Python, or by its name in an environment."""
    return re.sub(r"^(\"\$bin/python\" -m |python -m |\"\$bin/|bash )", "", command).replace('"', "").strip()


@needs_checkout
def test_the_matrix_runs_what_the_judge_runs() -> None:
    """Every step of the matrix is a command of `.ci/run`, or of the README's test command, on each Python allowed."""
    jobs = matrix()["jobs"]
    judge = (TOP / ".ci" / "run").read_text(encoding="utf-8")
    there = {bare(line.strip()) for line in judge.splitlines()}
    options = re.search(r'PYTEST_ADDOPTS="([^"]*)"', judge)
    assert options
    assert ".venv/bin/pytest" in (TOP / "README.md").read_text(encoding="utf-8")
    there.add("pytest " + re.sub(r" --durations=\d+", "", options[1]))
    runs = [bare(step["run"]) for step in jobs["checks"]["steps"] if "run" in step]
    installs, commands = runs[0], runs[1:]
    assert set(commands) <= there, set(commands) - there
    assert {"ruff check .", "ruff format --check .", "mypy", "tests.long --share 0.01"} <= set(commands)
    extras = set(re.findall(r"\w+", installs.partition("[")[2]))
    assert extras == {"test", "lint", "fleet"}
    assert (TOP / ".ci" / "oldest").stat().st_mode & 0o100
    assert [bare(step["run"]) for step in jobs["oldest"]["steps"] if "run" in step] == [".ci/oldest"]


@needs_checkout
def test_the_matrix_has_every_python_and_system_that_is_promised() -> None:
    """From the oldest Python that is allowed on, on the three systems that DEVELOPERS.md names."""
    wanted = matrix()["jobs"]["checks"]["strategy"]["matrix"]
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    first = project["requires-python"].removeprefix(">=")
    assert wanted["python"][0] == first == matrix()["jobs"]["oldest"]["steps"][1]["with"]["python-version"]
    minors = [int(version.partition(".")[2]) for version in wanted["python"]]
    assert minors == list(range(minors[0], minors[0] + len(minors)))
    systems = {"ubuntu-latest": "Linux", "macos-latest": "macOS", "windows-latest": "Windows"}
    assert [systems[name] for name in wanted["system"]] == ["Linux", "macOS", "Windows"]
    said = " ".join((TOP / "DEVELOPERS.md").read_text(encoding="utf-8").split())
    assert "on Linux, macOS or Windows" in said


@needs_checkout
def test_scripts_are_whole_and_ask_no_host_of_their_own() -> None:
    """Shell accepts every script, and no file of the judge names a registry."""
    files = [*(TOP / ".ci").iterdir(), *(TOP / ".github").rglob("*.yml")]
    assert len(files) >= 4
    for path in files:
        text = path.read_text(encoding="utf-8")
        assert "http" not in text, path
        if text.startswith("#!"):
            subprocess.run(["bash", "-n", str(path)], check=True)


def test_every_library_has_an_oldest_version() -> None:
    """Each library that the suite runs with has one lower bound, and one constraint that is this version exactly."""
    found = oldest.oldest()
    project = tomllib.loads(oldest.PROJECT.read_text(encoding="utf-8"))["project"]
    lines = project["dependencies"] + [
        one for extra in oldest.EXTRAS for one in project["optional-dependencies"][extra]
    ]
    assert {re.split(r"[><=;\[ ]", line)[0] for line in lines} == set(found)
    for line in lines:
        name = re.split(r"[><=;\[ ]", line)[0]
        assert re.search(rf"[>=]={re.escape(found[name])}\b", line), line


@pytest.mark.parametrize("line", ["numpy", "numpy<3", "numpy>=2,!=2.1", "numpy~=2.0"])
def test_a_library_without_an_oldest_version_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    """A bound that says no oldest version, or says it in another way, is named."""
    path = tmp_path / "pyproject.toml"
    extras = "".join(f"{extra} = []\n" for extra in oldest.EXTRAS)
    path.write_text(f'[project]\ndependencies = ["{line}"]\n[project.optional-dependencies]\n{extras}')
    monkeypatch.setattr(oldest, "PROJECT", path)
    with pytest.raises(ValueError, match=re.escape(line)):
        oldest.oldest()


def test_another_version_than_the_oldest_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a library is newer than the oldest, or missing, it is said; zeros at the end of a version mean nothing."""
    versions = {"numpy": "2.0.0", "rich": "14.1"}

    def version(name: str) -> str:
        if name not in versions:
            raise PackageNotFoundError(name)
        return versions[name]

    monkeypatch.setattr("importlib.metadata.version", version)
    monkeypatch.setattr(oldest, "oldest", lambda: {"numpy": "2.0", "rich": "13.8", "segno": "1.6"})
    assert oldest.others_installed() == [
        "rich: 14.1 is installed, 13.8 is the oldest that is allowed",
        "segno: none is installed, 1.6 is the oldest that is allowed",
    ]


def test_words_of_a_command_are_compared_as_a_shell_reads_them() -> None:
    """A step that differs from the judge's by more than where its program lies is seen."""
    assert bare('"$bin/ruff" check .') == bare("python -m ruff check .") == "ruff check ."
    assert bare('"$bin/python" -m tests.long --share 0.01') == shlex.join(["tests.long", "--share", "0.01"])
    assert bare("python -m ruff check wiremap") != bare('"$bin/ruff" check .')


def test_the_commands_that_numbers_come_from_are_there() -> None:
    """Every `python -m tests.long WORD...` of DEVELOPERS.md names a check; every benchmark that is named is there."""
    said = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    modules = (module.name for module in pkgutil.iter_modules(tests.long.__path__) if module.name != "__main__")
    names = [check.name for module in modules for check in import_module(f"tests.long.{module}").CHECKS]
    words = [word for text in re.findall(r"`python -m tests\.long ([a-z :-]+)`", said) for word in text.split()]
    assert len(words) >= 5
    for word in words:
        assert any(word in name for name in names), word
    benchmarks = set(re.findall(r"python -m tests\.benchmarks\.(\w+)", said))
    assert {"captures", "soak", "start"} <= benchmarks
    for name in benchmarks:
        assert (TOP / "tests" / "benchmarks" / f"{name}.py").is_file(), name
