"""The oldest versions that pyproject.toml allows: as constraints for pip, and whether they are what is installed.

python -m tests.oldest: one line `name==version` for every library. python -m tests.oldest --installed: exit 1, and say
which, where another version than the oldest stands in this environment.
"""

import importlib.metadata
import re
import sys
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parents[1] / "pyproject.toml"
EXTRAS = ("fleet", "phone", "test")  # what the suite runs with; lint looks at the code and is no part of running it
BOUND = re.compile(r"(?P<name>[A-Za-z0-9._-]+)(?:>=|==)(?P<version>[0-9][0-9a-z.]*)(?:,<[0-9.]+)?(?:;.*)?")


def oldest() -> dict[str, str]:
    """Return the oldest version of every library, by its name; ValueError names one without a lower bound."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    lines = [*project["dependencies"], *(line for extra in EXTRAS for line in project["optional-dependencies"][extra])]
    found: dict[str, str] = {}
    for line in lines:
        match = BOUND.fullmatch(line.replace(" ", ""))
        if match is None:
            raise ValueError(f"{line}: says no oldest version")
        if found.setdefault(match["name"], match["version"]) != match["version"]:
            raise ValueError(f"{match['name']}: has two oldest versions, {found[match['name']]} and {match['version']}")
    return found


def others_installed() -> list[str]:
    """Return the libraries of which this environment has another version than the oldest, and which."""
    found = []
    for name, version in oldest().items():
        try:
            there = importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:
            there = "none"
        if _release(there) != _release(version):
            found.append(f"{name}: {there} is installed, {version} is the oldest that is allowed")
    return found


def _release(version: str) -> str:
    """Return a version without the zeros at its end: 3.4 and 3.4.0 are one."""
    return re.sub(r"(\.0)+$", "", version)


def main() -> int:
    """Print the constraints, or what is installed instead."""
    if "--installed" not in sys.argv[1:]:
        sys.stdout.write("".join(f"{name}=={version}\n" for name, version in oldest().items()))
        return 0
    others = others_installed()
    sys.stdout.write("".join(line + "\n" for line in others))
    return 1 if others else 0


if __name__ == "__main__":
    sys.exit(main())
