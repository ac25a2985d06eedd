"""What every test stands on: no test touches the keys, lots and calibrations of whoever runs it."""

from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True, scope="session")
def _own_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("WIREMAP_HOME", str(tmp_path_factory.mktemp("home")))
        yield


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the longest test first, so that at the end no worker waits for it alone."""
    items.sort(key=lambda item: item.name != "test_every_line_runs")
