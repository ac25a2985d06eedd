from pathlib import Path

from tests.phone.kills import killed_often


def test_killed_while_keep_is_pressed(tmp_path: Path) -> None:
    """Ten kills: each test that was to be kept is kept once, whole, and nothing that was said to be kept is lost."""
    assert killed_often(tmp_path, 1, 10).endswith("of 10 tests kept")
