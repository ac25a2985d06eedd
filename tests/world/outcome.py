"""What became of one cable in the hands of a user, and how he stops."""

from dataclasses import dataclass, field

from tests.world.cables import Job
from tests.world.sentences import Said


@dataclass
class Outcome:
    """What became of one cable.

    ending: "pass", "replace", "stuck", "refused", "no answer" ...; said: sentences without a chance; chances: (kind,
    chance, whether it was so). fewest: terminations needed at the least, None = terminating cannot mend it.
    """

    job: Job
    ending: str = ""
    right: bool = False
    said: list[Said] = field(default_factory=list)
    chances: list[tuple[str, float, bool]] = field(default_factory=list)
    looks: int = 0
    tests: int = 0
    terminations: int = 0
    fewest: int | None = 0
    climbs: list[str] = field(default_factory=list)
    needless_climbs: int = 0
    story: list[str] = field(default_factory=list)

    @property
    def false(self) -> list[Said]:
        """Return the sentences that are not true, of those said without a chance and without "Probably"."""
        return [one for one in self.said if not one.true and not one.hedged]


class StopsError(Exception):
    """The user stops; the text says why."""
