"""Why a port would not open or a line broke: the system's error, and the one hint that helps."""

import errno
import socket
import sys
from pathlib import Path

from wiremap.errors import TesterError

LINE_ERRORS: tuple[type[Exception], ...] = (OSError,)  # pyserial's own errors are OSErrors
if sys.platform != "win32":
    import grp
    import termios

    LINE_ERRORS += (termios.error,)  # raised by an unplugged port, and not an OSError
OPEN_ERRORS: tuple[type[Exception], ...] = (*LINE_ERRORS, ValueError)

NOT_THERE = {errno.ENOENT, errno.ENXIO, errno.ENODEV, errno.EIO}
BUSY = {errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK}
NO_PERMISSION = {errno.EACCES, errno.EPERM}
NO_SERIAL_LINE = {errno.ENOTTY, errno.EINVAL, errno.EISDIR}


def why_not_open(address: str, error: Exception) -> TesterError:
    """Return what to say of a port that would not open."""
    code, network = _cause(error)
    if isinstance(error, ValueError):
        return TesterError(
            f"'{address}' is no address of a tester",
            "Give a serial device, socket://HOST:PORT, or sim for the simulator.",
        )
    if network or address.startswith("socket://"):
        return TesterError(
            f"{address}: nothing answers there ({_reason(error)})",
            "Check host and port, and that the tester or its simulator is running.",
        )
    if code in NOT_THERE:
        return TesterError(
            f"{address}: there is no such port",
            "Plug the tester in with a cable that carries data; `wiremap testers` lists what is connected.",
        )
    if code in BUSY:
        return TesterError(
            f"{address}: the port is in use by another program",
            "Close the other program (a terminal, another wiremap) and try again.",
        )
    if code in NO_PERMISSION:
        return TesterError(f"{address}: you may not use this port", _permission_hint(address))
    if code in NO_SERIAL_LINE:
        return TesterError(
            f"{address}: this is no serial line",
            "Give the tester's own port; `wiremap testers` lists what is connected.",
        )
    return TesterError(
        f"{address}: the port would not open ({_reason(error)})",
        "Unplug the tester, plug it in again and try again; `wiremap testers` lists what is connected.",
    )


def why_it_broke(address: str, error: Exception) -> TesterError:
    """Return what to say of a line that failed while in use."""
    return TesterError(
        f"{address}: the line to the tester broke ({_reason(error)})",
        "The tester was unplugged, or its program ended: plug it in again and repeat the test.",
    )


def _cause(error: BaseException) -> tuple[int | None, bool]:
    """Return the system's error number and whether the network gave it; pyserial often keeps it one level down."""
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, socket.gaierror | ConnectionError | TimeoutError):
            return seen.errno, True
        if isinstance(seen, OSError) and seen.errno is not None:
            return seen.errno, False
        if not isinstance(seen, OSError) and seen.args and isinstance(seen.args[0], int):
            return seen.args[0], False
        seen = seen.__cause__ or seen.__context__
    if "PermissionError" in str(error):  # how Windows says that another program has the port
        return errno.EBUSY, False
    return (errno.ENOENT if "FileNotFoundError" in str(error) else None), False


def _reason(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _permission_hint(address: str) -> str:
    general = "Give your user access to serial ports, log out, log in and try again."
    if sys.platform == "win32":
        return general
    try:
        group = grp.getgrgid(Path(address).stat().st_gid).gr_name
    except (OSError, KeyError):
        return general
    if group == "root":
        return general
    return f"Add your user to the group {group} (sudo usermod -a -G {group} $USER), log out, log in and try again."
