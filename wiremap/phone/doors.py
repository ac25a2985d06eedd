"""Who may come in: a secret that opens once, the cookies it gives, and how often anybody may ask."""

import hashlib
import json
import secrets
from collections import deque
from collections.abc import Callable
from pathlib import Path

import msgspec

from wiremap.errors import FileError
from wiremap.files import read_if_there
from wiremap.records.new_file import make_folder, write_over

SECRET_BYTES = 16
COOKIE_BYTES = 32
SECRET_S = 600.0  # a secret grows old
COOKIE_S = 12 * 3600.0  # a day on board
MOST_PHONES = 8
MOST_ASKING = 4000  # keys of the table of rates; one who asks for the first time beyond them waits
OLDEST_FIRST = 500
MOST_DOOR_BYTES = 100_000
HINT = "Remove it; every phone then scans the code anew."
Clock = Callable[[], float]


def hashed(token: str) -> str:
    """Return what is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


class Doors:
    """Secrets and cookies. Only hashes are kept, in a file that its owner alone may read."""

    def __init__(self, path: Path, port: int, is_secure: bool, clock: Clock) -> None:
        """Make it; path: of the file of cookies. clock: seconds since 1970. FileError where the file cannot be read."""
        self._path = path
        self._clock = clock
        self._secure = is_secure
        self._secret = ""
        self._made_s = 0.0
        self.name = f"wiremap{port}"  # cookies do not tell ports apart, names do
        self._phones: dict[str, float] = _read(path)
        self.phones_in = len(self._fresh())

    def secret(self) -> str:
        """Return the secret that opens now; another one after each use and after ten minutes."""
        if not self._secret or self._clock() - self._made_s >= SECRET_S:
            self._secret, self._made_s = secrets.token_urlsafe(SECRET_BYTES), self._clock()
        return self._secret

    def enter(self, secret: str) -> str | None:
        """Return the cookie's header for one who has the secret, None for anybody else; the secret is used up then."""
        is_right = secrets.compare_digest(hashed(secret), hashed(self._secret))
        if not (self._secret and is_right and self._clock() - self._made_s < SECRET_S):
            return None
        self._secret = ""
        token = secrets.token_urlsafe(COOKIE_BYTES)
        phones = self._fresh()
        while len(phones) >= MOST_PHONES:  # who came first goes
            del phones[min(phones, key=phones.__getitem__)]
        phones[hashed(token)] = self._clock() + COOKIE_S
        make_folder(self._path.parent)
        write_over(self._path, json.dumps(phones).encode(), mode=0o600)
        self._phones = phones
        self.phones_in = len(phones)
        secure = "; Secure" if self._secure else ""
        return f"{self.name}={token}; HttpOnly; SameSite=Strict; Path=/; Max-Age={int(COOKIE_S)}{secure}"

    def phone(self, cookies: str) -> str | None:
        """Return which phone a Cookie header is of, None where it is of none that may come in."""
        for part in cookies.split(";"):
            name, _, token = part.strip().partition("=")
            if name == self.name and self.knows(hashed(token)):
                return hashed(token)
        return None

    def knows(self, phone: str) -> bool:
        """Whether a phone may still come in."""
        return self._phones.get(phone, 0.0) > self._clock()

    def _fresh(self) -> dict[str, float]:
        return {phone: until for phone, until in self._phones.items() if until > self._clock()}


def _read(path: Path) -> dict[str, float]:
    content = read_if_there(path, MOST_DOOR_BYTES, HINT)
    try:
        return {} if content is None else msgspec.json.decode(content, type=dict[str, float])
    except (ValueError, RecursionError) as error:
        raise FileError(f"{path}: cannot be read ({error})", HINT) from error


class Rates:
    """How often anybody may ask: at most so many times in so many seconds, for each kind and each one who asks."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._asked: dict[tuple[str, str], deque[float]] = {}

    def allows(self, kind: str, who: str, most: int, per_s: float) -> bool:
        """Whether one more is allowed; it counts then."""
        now = self._clock()
        times = self._asked.get((kind, who))
        if times is None:
            if len(self._asked) >= MOST_ASKING:
                self._forget(now)
            if len(self._asked) >= MOST_ASKING:
                return False
            times = self._asked[kind, who] = deque(maxlen=1000)
        while times and now - times[0] >= per_s:
            times.popleft()
        if len(times) >= most:
            return False
        times.append(now)
        return True

    def _forget(self, now: float) -> None:
        """Drop the eldest that have been silent for a minute; a few at a time, so that no call is slow."""
        for key in list(self._asked)[:OLDEST_FIRST]:
            if not self._asked[key] or now - self._asked[key][-1] >= 60.0:
                del self._asked[key]
