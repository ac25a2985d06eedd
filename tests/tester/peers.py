"""Testers that are a written dialogue: they answer what stands in it, and a line left unsaid is an error."""

import os
import pty
import re
import select
import socket
import threading
import tty
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

Reply = bytes | Callable[[int], bytes]
HANG_UP = b"\x00hang up"
Dialogue = Sequence[tuple[str, Reply]]


def frame(tag: int | str, *fields: object) -> bytes:
    """Return a sound answer line; written here a second time, so that product and test do not share a mistake."""
    body = ",".join(map(str, (tag, *fields))).encode("ascii")
    return body + b",#H%08X\n" % (zlib.crc32(body) & 0xFFFFFFFF)


def sound(*fields: object) -> Callable[[int], bytes]:
    """Return a reply that frames the fields under the tag it was asked with."""
    return lambda tag: frame(tag, *fields)


def without_check(line: str) -> str:
    """Return a question without the check value that tagged ones end in; one that does not fit is marked as such."""
    if "? " not in line:
        return line
    bare, _, check = line.rpartition(",")
    return bare if check == f"#H{zlib.crc32(bare.encode('ascii')):08X}" else f"(wrong check) {line}"


def triangle(joined: dict[tuple[int, int], object], size: int, otherwise: object = "9.9E37") -> list[object]:
    """Return an upper triangle, row by row, contacts from 0."""
    return [joined.get((i, j), otherwise) for i in range(size) for j in range(i + 1, size)]


def introduction(features: Sequence[str] = ("RES",), near: int = 2, far: int = 2) -> list[tuple[str, Reply]]:
    """Return the part of a dialogue in which a tester with few contacts says who it is."""
    names = [f'"{k}"' for k in range(1, near + 1)] + [f'"{k}"' for k in range(1, far + 1)]
    return [
        ("*IDN?", b"WIREMAP,BENCH-18,7,1.0.0\n"),
        ("TESTer:FEATures? {tag}", sound("OK", *features)),
        ("TESTer:CONTacts? {tag}", sound("OK", near, far, *names)),
        ("TESTer:RESolution? {tag}", sound("OK", 200)),
    ]


class Peer:
    """Plays one dialogue over a file descriptor; `problems` says where the other side left it."""

    def __init__(self, dialogue: Dialogue) -> None:
        self.dialogue = list(dialogue)
        self.problems: list[str] = []
        self.heard: list[str] = []

    def play(self, descriptor: int, stop: int) -> None:
        """Answer until told to stop, or until the dialogue hangs up."""
        buffer = b""
        while True:
            ready, _, _ = select.select([descriptor, stop], [], [])
            if stop in ready:
                return
            try:
                chunk = os.read(descriptor, 4096)
            except OSError:
                return
            if not chunk:
                return
            buffer += chunk
            while b"\n" in buffer:
                line, _, buffer = buffer.partition(b"\n")
                if line and not self._answer(descriptor, line.decode("ascii")):
                    return

    def _answer(self, descriptor: int, line: str) -> bool:
        line = without_check(line)
        self.heard.append(line)
        if not self.dialogue:
            self.problems.append(f"asked beyond the dialogue: {line}")
            return True
        asked, reply = self.dialogue.pop(0)
        if not re.fullmatch(re.escape(asked).replace(r"\{tag\}", r"\d+"), line):
            self.problems.append(f"asked {line!r} in place of {asked!r}")
            return True
        tag = re.search(r"\? (\d+)", line)
        content = reply if isinstance(reply, bytes) else reply(int(tag[1]) if tag else 0)
        said, hang_up, _ = content.partition(HANG_UP)
        os.write(descriptor, said)
        return not hang_up

    def check(self) -> None:
        """Fail when something was asked that does not stand in the dialogue, or a line was left unsaid."""
        assert not self.problems, self.problems
        assert not self.dialogue, f"left unsaid: {[asked for asked, _ in self.dialogue]}"


@contextmanager
def on_pty(dialogue: Dialogue) -> Iterator[str]:
    """Play a dialogue on a pseudo-terminal and give its address; check it at the end."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    wake, stop = os.pipe()
    peer = Peer(dialogue)

    def run() -> None:
        peer.play(master, wake)
        os.close(master)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield os.ttyname(slave)
    finally:
        os.close(stop)
        thread.join()
        os.close(slave)
        os.close(wake)
    peer.check()


@contextmanager
def on_tcp(dialogue: Dialogue) -> Iterator[str]:
    """Play a dialogue to the first client on a loopback port and give its address; check it at the end."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        wake, stop = os.pipe()
        peer = Peer(dialogue)

        def run() -> None:
            ready, _, _ = select.select([server.fileno(), wake], [], [])
            if server.fileno() in ready:
                connection, _ = server.accept()
                with connection:
                    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                    peer.play(connection.fileno(), wake)

        thread = threading.Thread(target=run)
        thread.start()
        try:
            yield f"socket://127.0.0.1:{server.getsockname()[1]}"
        finally:
            os.close(stop)
            thread.join()
            os.close(wake)
    peer.check()
