"""The work list: what the technician did besides the plug, ticked. Their word, not a measurement."""

from pathlib import Path

from msgspec import Struct

from wiremap.cable.tables import read_table
from wiremap.errors import UsageError
from wiremap.files import is_there
from wiremap.records.captures.capture import Job, Work, job_from_words
from wiremap.records.home import home

SHIPPED = Path(__file__).with_name("work_list.toml")
OWN_LIST = "work_list.toml"
MOST_ITEMS = 20
LONGEST_ITEM = 70


class WorkList(Struct, frozen=True):
    """A list to tick; items: (name, text)."""

    title: str
    items: tuple[tuple[str, str], ...]

    def ticked(self, names: tuple[str, ...]) -> tuple[Work, ...]:
        """Return every line with whether it was done; "all" ticks all. UsageError for a name that is not there."""
        known = [name for name, _ in self.items]
        for name in names:
            if name not in (*known, "all"):
                raise UsageError(
                    f"--job done={name}: not in the work list", "Give all, or some of " + ", ".join(known) + "."
                )
        return tuple(Work(text, "all" in names or name in names) for name, text in self.items)


def read_work_list(path: Path) -> WorkList:
    """Read a work list; FileError names file, key and what is allowed."""
    table = read_table(path)
    table.take_format(1)
    title = table.take_text("title")
    entries = table.take_tables("item")
    items: list[tuple[str, str]] = []
    for entry in entries:
        name, text = entry.take_text("name"), entry.take_text("text")
        if name == "all" or "," in name or name in dict(items):
            raise entry.wrong("name", name, "a name that is not there yet, without commas, and not 'all'")
        if len(text) > LONGEST_ITEM:
            raise entry.wrong("text", text, f"at most {LONGEST_ITEM} letters")
        entry.finish()
        items.append((name, text))
    table.finish()
    if not 1 <= len(items) <= MOST_ITEMS:
        raise table.wrong("item", len(items), f"1 to {MOST_ITEMS} tables [[item]]")
    return WorkList(title, tuple(items))


def work_list(path: Path | None = None) -> WorkList:
    """Return the list in a file; None: the user's own, work_list.toml in the user's folder, else the one that ships."""
    own = home() / OWN_LIST
    return read_work_list(path or (own if is_there(own) else SHIPPED))


def job_and_work(words: list[str]) -> tuple[Job, tuple[Work, ...]]:
    """Return what `--job KEY=VALUE` words say: the job, and the work list where done=NAME,... or work=FILE is given."""
    done = [word.partition("=")[2] for word in words if word.startswith("done=")]
    lists = [word.partition("=")[2] for word in words if word.startswith("work=")]
    if len(lists) > 1:
        raise UsageError("--job work is given twice", "Give one work list.")
    job = job_from_words([word for word in words if not word.startswith(("done=", "work="))])
    if not done and not lists:
        return job, ()
    names = tuple(name.strip() for text in done for name in text.split(",") if name.strip())
    return job, work_list(Path(lists[0]) if lists else None).ticked(names)
