import errno
import fcntl
import os
import pty
import socket
import stat
import subprocess
import sys
import termios
from collections.abc import Iterator
from pathlib import Path

import pytest
import serial

from wiremap.errors import TesterError
from wiremap.tester.line import open_line
from wiremap.tester.ports import why_it_broke, why_not_open

NOBODY = 65_534


@pytest.fixture
def terminal() -> Iterator[str]:
    """Give the address of a pseudo-terminal that nobody answers on."""
    master, slave = pty.openpty()
    yield os.ttyname(slave)
    os.close(slave)
    os.close(master)


def refusal(address: str) -> TesterError:
    """Try to open an address and return the error."""
    with pytest.raises(TesterError) as raised, open_line(address):
        pass
    return raised.value


def test_a_port_that_is_not_there() -> None:
    """A port that does not exist: plug the tester in."""
    error = refusal("/dev/ttyACM-none")
    assert error.what == "/dev/ttyACM-none: there is no such port"
    assert "Plug the tester in" in error.hint


def test_a_port_in_use(terminal: str) -> None:
    """A port that another open file has locked: close the other program."""
    with Path(terminal).open("rb", buffering=0) as other:
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
        error = refusal(terminal)
    assert error.what == f"{terminal}: the port is in use by another program"
    assert "Close the other program" in error.hint


def test_a_port_that_another_process_uses(terminal: str) -> None:
    """A port that another wiremap has open: close the other program; once it is closed the port opens."""
    hold = (
        "import sys; from wiremap.tester.line import open_line\n"
        "with open_line(sys.argv[1]): print('open', flush=True); sys.stdin.read()"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", hold, terminal], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdin is not None
    assert other.stdout is not None
    with other:
        assert other.stdout.readline() == "open\n"
        assert "in use by another program" in refusal(terminal).what
        other.stdin.close()
        other.wait()
    with open_line(terminal):
        pass


@pytest.mark.skipif(os.geteuid() != 0, reason="needs root to become another user")
def test_a_port_one_may_not_use(terminal: str) -> None:
    """A port whose permissions keep this user out: join the group that owns it."""
    path = Path(terminal)
    os.chown(path, 0, 20)
    path.chmod(stat.S_IRUSR | stat.S_IWUSR | stat.S_IRGRP | stat.S_IWGRP)
    receive, send = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
            try:
                with open_line(terminal):
                    os.write(send, b"it opened")
            except TesterError as error:
                os.write(send, f"{error.what}|{error.hint}".encode())
        finally:
            os._exit(0)
    os.close(send)
    os.waitpid(child, 0)
    with os.fdopen(receive) as report:
        what, _, hint = report.read().partition("|")
    assert what == f"{terminal}: you may not use this port"
    assert "to the group dialout" in hint


def test_a_file_is_no_port(tmp_path: Path) -> None:
    """A plain file and a folder are no serial lines."""
    file = tmp_path / "reading.csv"
    file.write_text("1")
    for path in (file, tmp_path):
        error = refusal(str(path))
        assert error.what == f"{path}: this is no serial line"
        assert "tester's own port" in error.hint


def test_nobody_listens_over_tcp(free_port: int) -> None:
    """A TCP address where nothing runs: check host and port."""
    error = refusal(f"socket://127.0.0.1:{free_port}")
    assert "nothing answers there" in error.what
    assert "Check host and port" in error.hint


@pytest.fixture
def free_port() -> int:
    """Give a loopback port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        return int(server.getsockname()[1])


def test_an_address_of_no_kind_known() -> None:
    """A scheme that means nothing is no address of a tester."""
    error = refusal("carrier-pigeon://mast")
    assert "no address of a tester" in error.what
    assert "socket://HOST:PORT" in error.hint


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (serial.SerialException(errno.ENOENT, "could not open port"), "no such port"),
        (serial.SerialException(errno.ENXIO, "could not open port"), "no such port"),
        (serial.SerialException(errno.EBUSY, "could not open port"), "in use"),
        (serial.SerialException(errno.EACCES, "could not open port"), "may not use"),
        (serial.SerialException("could not open port 'COM3': PermissionError(13, 'Access is denied.')"), "in use"),
        (serial.SerialException("could not open port 'COM3': FileNotFoundError(2, 'not found')"), "no such port"),
        (serial.SerialException("something new"), "would not open (something new)"),
        (termios.error(25, "Inappropriate ioctl for device"), "no serial line"),
    ],
)
def test_every_error_of_the_system_has_its_sentence(error: Exception, says: str) -> None:
    """Each way a port fails to open, those of Windows and those of a kind not met yet among them, has a sentence."""
    told = why_not_open("PORT", error)
    assert says in told.what
    assert told.hint


@pytest.mark.parametrize("error", [serial.SerialException("gone"), OSError(5, "I/O"), termios.error(5, "I/O")])
def test_every_error_of_a_broken_line_is_one_kind(error: Exception) -> None:
    """The three kinds of error an unplugged port raises become one, with a hint."""
    told = why_it_broke("PORT", error)
    assert "the line to the tester broke" in told.what
    assert "plug it in again" in told.hint
