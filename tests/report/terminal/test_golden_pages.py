import pytest

from tests.report.terminal.golden_pages import FOLDER, PAGES


@pytest.mark.parametrize("name", PAGES)
def test_pages_are_as_they_were_looked_at(name: str) -> None:
    """Each page says and looks as it did when it was looked at in a terminal."""
    assert PAGES[name]() == FOLDER.joinpath(f"{name}.txt").read_text(encoding="utf-8")


def test_no_golden_page_is_left_over() -> None:
    """Every golden page belongs to a cable."""
    assert {path.stem for path in FOLDER.glob("*.txt")} == set(PAGES)
