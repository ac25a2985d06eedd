"""The cable in the sockets, as the tables describe it: what is joined and what voltages stand, at a moment.

The tables are those of firmware_sim.cable_model.tables; resistances become square here, milliohm, None = open.
"""

SINE_X1000 = (0, 309, 588, 809, 951, 1000, 951, 809, 588, 309, 0, -309, -588, -809, -951, -1000, -951, -809, -588, -309)
AC_PERIOD_US = 20_000  # 50 Hz


TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    Square = list[list[int | None]]


class Cable:
    """Looks things up in a cable's tables; times are board time, microseconds."""

    def __init__(self, tables: "dict[str, Any]") -> None:
        self.tables = tables
        self.size: int = self.tables["contacts"]
        self._states: "list[tuple[Square, Square]]" = [
            (
                square(self.size, network["milliohm"]),
                square(self.size, network["low_milliohm"] or network["milliohm"]),
            )
            for network in self.tables["networks"]
        ]
        capacitances = self.tables.get("capacitances") or [self.tables.get("capacitance")]
        echoes = self.tables.get("echoes") or [
            dict(self.tables.get("echo") or {}, trace=self.tables.get("trace") or {})
        ]
        self._capacitances = [capacitances[network.get("capacitance", 0)] for network in self.tables["networks"]]
        self._echoes = [echoes[network.get("echo", 0)] for network in self.tables["networks"]]
        self._index = 0  # where in the schedule the last look was
        self.state = 0  # which of the electrical states holds at the moment last looked at
        self._schedule = [(entry[0], entry[1]) for entry in self.tables["schedule"]]
        self._period_us = self.tables["period_us"]
        self._now: "tuple[Square, Square]" = self._states[0]
        self._until_us = -1
        self._sources: "dict[tuple[int | None, int | None], list[dict[str, Any]]]" = {}
        for entry in self.tables["foreign"]:
            key = (entry["contact"], entry["other"])
            self._sources.setdefault(key, []).append(entry)
        self.has_sources = bool(self._sources)
        self.places: "list[tuple[int, int | None]]" = []  # between which contacts, each once
        alike: "dict[str, int]" = {}  # entries of one source, which stands between two nets of several contacts
        for entry in self.tables["foreign"]:
            key = (entry["contact"], entry["other"])
            if key not in self.places and (key[1], key[0]) not in self.places:
                self.places.append(key)
            alike[_alike(entry)] = alike.get(_alike(entry), 0) + 1
        self.shares = {
            (entry["contact"], entry["other"]): alike[_alike(entry)] for entry in self.tables["foreign"]
        }  # how many entries share what each source can give
        self._links = [entry for entry in self.tables["foreign"] if entry["kind"] == "link"]
        self.grounded = [(entry["contact"], None) for entry in self.tables["foreign"] if entry["other"] is None]

    def _at(self, now_us: int) -> "tuple[Square, Square]":
        """Return the two squares of the state that holds now; remembers until when it does."""
        if now_us < self._until_us:
            return self._now
        start = 0
        time_us = now_us
        if self._period_us:
            time_us = now_us % self._period_us
            start = now_us - time_us
        index = self._index if self._schedule[self._index][0] <= time_us else 0
        while index + 1 < len(self._schedule) and self._schedule[index + 1][0] <= time_us:
            index += 1
        self._index = index
        self.state = self._schedule[index][1]
        self._now = self._states[self.state]
        if index + 1 < len(self._schedule):
            self._until_us = start + self._schedule[index + 1][0]
        elif self._period_us:
            self._until_us = start + self._period_us
        else:
            self._until_us = 1 << 60
        return self._now

    def until_us(self, now_us: int) -> int:
        """Return until when the state that holds now does."""
        self._at(now_us)
        return self._until_us

    def milliohm(self, a: int, b: int, now_us: int) -> "int | None":
        """Return the resistance between two contacts under a voltage that breaks films."""
        return self._at(now_us)[0][a][b]

    def low_milliohm(self, a: int, b: int, now_us: int) -> "int | None":
        """Return the resistance between two contacts at no more than 20 mV."""
        return self._at(now_us)[1][a][b]

    def rows(self, now_us: int) -> "list[list[int | None]]":
        """Return the whole square, milliohm."""
        return self._at(now_us)[0]

    def capacitance(self, key: str, a: int, b: int, now_us: int) -> "int | None":
        """Return one value of the table `key`: femtofarads, or ohm of a leak; b is ignored for single_ff."""
        self._at(now_us)
        table = (self._capacitances[self.state] or {}).get(key)
        if table is None or a == b:
            return None
        if key == "single_ff":
            single: int = table[a]
            return single
        a, b = min(a, b), max(a, b)
        value: int | None = table[a * (2 * self.size - a - 1) // 2 + b - a - 1]
        return value

    def echo(self, drive: str, a: int, b: int, now_us: int) -> "list[int] | None":
        """Return [arrival_ps, polarity, height_ppm] of the first echo between two contacts, None for none."""
        self._at(now_us)
        found: list[int] | None = self._echoes[self.state].get(drive, {}).get("%d,%d" % (min(a, b), max(a, b)))
        return found

    def trace(self, a: int, b: int, now_us: int) -> "dict[str, Any] | None":
        """Return the sampled reflection between two contacts, None where the tables have none."""
        self._at(now_us)
        found: dict[str, Any] | None = self._echoes[self.state].get("trace", {}).get("%d,%d" % (a, b))
        return found

    def source(self, a: int, b: "int | None", now_us: int) -> "tuple[int, int]":
        """Return (millivolts of a against b, source ohm) at this moment; b None = the tester's ground."""
        if not self.has_sources:
            return 0, 0
        millivolts = ohm = 0
        for first, second, sign in ((a, b, 1), (b, a, -1)):
            for entry in self._sources.get((first, second), ()):
                if entry["kind"] != "link" and active(entry, now_us):
                    value = entry["millivolts"]
                    if entry["kind"] == "ac":
                        # Given as r.m.s.; the peak is 1.414 of it.
                        value = value * 1414 * SINE_X1000[now_us % AC_PERIOD_US * 20 // AC_PERIOD_US] // 1_000_000
                    millivolts += sign * value
                    ohm = entry["source_ohm"]
        return millivolts, ohm

    def links(self) -> "list[dict[str, Any]]":
        """Return the live ports at the cable."""
        return self._links


def _alike(entry: "dict[str, Any]") -> str:
    """Return all that tells one source from another, but for where it stands."""
    names = ("kind", "millivolts", "source_ohm", "from_us", "for_us", "every_us")
    return " ".join([str(entry[name]) for name in names])


def active(entry: "dict[str, Any]", now_us: int) -> bool:
    """Return whether a source is there at this moment."""
    since = now_us - (entry["from_us"] or 0)
    if since < 0:
        return False
    if entry["every_us"]:
        since %= entry["every_us"]
    lasts: "int | None" = entry["for_us"]
    return lasts is None or since < lasts


def square(size: int, triangle: "list[int | None]") -> "list[list[int | None]]":
    """Return the symmetric square of an upper triangle; the diagonal is 0."""
    rows: "list[list[int | None]]" = [[0] * size for _ in range(size)]
    at = 0
    for i in range(size):
        for j in range(i + 1, size):
            rows[i][j] = rows[j][i] = triangle[at]
            at += 1
    return rows
