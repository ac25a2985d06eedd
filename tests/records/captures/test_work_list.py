"""The work list is ticked by name, is a file of the user's own, and says what it is."""

from pathlib import Path

import pytest

from wiremap.errors import FileError, UsageError
from wiremap.records.captures.capture import Work
from wiremap.records.captures.work_list import job_and_work, read_work_list, work_list


def test_the_list_that_ships_names_the_work_of_a_retermination() -> None:
    """The list that ships has power off first, and boot, strain relief, sealing and the customer in it."""
    items = work_list().items
    assert items[0][0] == "power-off"
    assert {"boot-first", "re-terminated", "strain-relief", "sealing", "customer-told"} <= dict(items).keys()


def test_lines_are_ticked_by_name() -> None:
    """done=NAME,... ticks these and leaves the others open; all ticks all; nothing said is no list."""
    job, work = job_and_work(["cable=x", "done=power-off, re-terminated", "done=sealing"])
    assert job.cable == "x"
    done = [item.item for item in work if item.done]
    assert len(done) == 3
    assert len(work) == len(work_list().items)
    assert all(item.done for item in job_and_work(["done=all"])[1])
    assert job_and_work(["cable=x"])[1] == ()
    with pytest.raises(UsageError, match="not in the work list"):
        job_and_work(["done=polished"])


def test_a_list_of_the_users_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list in the user's folder, or one that is named, takes the place of the one that ships."""
    text = 'format = 1\ntitle = "Mine"\n[[item]]\nname = "tea"\ntext = "Tea made."\n'
    monkeypatch.setenv("WIREMAP_HOME", str(tmp_path))
    (tmp_path / "work_list.toml").write_text(text, encoding="utf-8")
    assert job_and_work(["done=tea"])[1] == (Work("Tea made.", True),)
    other = tmp_path / "other.toml"
    other.write_text(text.replace("tea", "cake"), encoding="utf-8")
    assert job_and_work([f"work={other}"])[1] == (Work("Tea made.", False),)
    with pytest.raises(UsageError, match="twice"):
        job_and_work([f"work={other}", f"work={other}"])


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("", "format"),
        ("format = 1\n", "title"),
        ('format = 1\ntitle = "x"\n', "item"),
        ('format = 1\ntitle = "x"\n[[item]]\nname = "all"\ntext = "x"\n', "name"),
        ('format = 1\ntitle = "x"\n[[item]]\nname = "a,b"\ntext = "x"\n', "name"),
        ('format = 1\ntitle = "x"\n[[item]]\nname = "a"\ntext = "' + "x" * 200 + '"\n', "text"),
        ('format = 1\ntitle = "x"\n[[item]]\nname = "a"\ntext = "x"\nmore = 1\n', "more"),
        ('format = 1\ntitle = "x"\n' + '[[item]]\nname = "a"\ntext = "x"\n' * 2, "name"),
    ],
)
def test_a_wrong_list_is_refused(tmp_path: Path, text: str, key: str) -> None:
    """A list that is none is refused with the file and the key."""
    path = tmp_path / "list.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=key) as caught:
        read_work_list(path)
    assert "list.toml" in caught.value.what
