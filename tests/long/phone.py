"""The phone at full count."""

from pathlib import Path
from tempfile import TemporaryDirectory

from tests.long import Check
from tests.phone.kills import killed_often


def killed(seed: int, count: int) -> str:
    """The program is killed at any moment while Keep is pressed: one capture a test, whole, none lost."""
    with TemporaryDirectory() as folder:
        return killed_often(Path(folder), seed, count)


CHECKS = (Check("phone: killed while Keep is pressed", killed, 100, least=2),)
