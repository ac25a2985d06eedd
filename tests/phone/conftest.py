"""Every test of the phone has a home of its own: repairs without a label share a file."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _own_repairs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path / "home"))
