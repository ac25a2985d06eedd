"""Where it is served: the one address, the names it answers to, the port, and the certificate of our own."""

import datetime
import socket
from pathlib import Path

import pytest
from cryptography import x509

from wiremap.errors import FileError, UsageError
from wiremap.phone import serve, tls
from wiremap.phone.guard import Here
from wiremap.phone.serve import address_to_serve, here_of, listening
from wiremap.phone.tls import certificate

ADDRESSES = ("10.42.0.1", "192.168.1.7")


def test_the_only_address_is_served(monkeypatch: pytest.MonkeyPatch) -> None:
    """With one network there is nothing to say; with several all are named, and the one that is asked for is served."""
    monkeypatch.setattr(serve, "own_addresses", lambda: ADDRESSES[:1])
    assert address_to_serve(None) == "10.42.0.1"
    monkeypatch.setattr(serve, "own_addresses", lambda: ADDRESSES)
    with pytest.raises(UsageError, match=r"2 addresses: 10\.42\.0\.1, 192\.168\.1\.7") as refused:
        address_to_serve(None)
    assert "--address 10.42.0.1" in refused.value.hint
    assert address_to_serve("192.168.1.7") == "192.168.1.7"


def test_without_a_network_it_says_how_to_get_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """A laptop with none is told to open its own hotspot."""
    monkeypatch.setattr(serve, "own_addresses", lambda: ())
    with pytest.raises(UsageError, match="0 addresses") as refused:
        address_to_serve(None)
    assert "hotspot" in refused.value.hint


@pytest.mark.parametrize("every", ["0.0.0.0", "::", ""])
def test_all_networks_at_once_are_refused(every: str) -> None:
    """The page is for the boat's own network, not for whatever the laptop is on besides."""
    with pytest.raises(UsageError, match="every network at once"):
        address_to_serve(every)


def test_own_addresses_are_those_that_others_reach() -> None:
    """Neither the machine's address to itself nor one that no network gave is among them."""
    assert not any(address.startswith(("127.", "169.254.")) for address in serve.own_addresses())


def test_a_port_that_is_taken_is_said() -> None:
    """Two programs on one port: the second says so, and what to do."""
    with (
        socket.create_server(("127.0.0.1", 0)) as first,
        pytest.raises(UsageError, match="cannot be served") as refused,
    ):
        listening("127.0.0.1", first.getsockname()[1])
    assert "--port" in refused.value.hint
    with pytest.raises(UsageError, match=r"198\.51\.100\.7:8712 cannot be served"):  # RFC 5737: nobody's address
        listening("198.51.100.7", 8712)


def test_it_answers_to_its_name_and_its_address() -> None:
    """The name stands first, as in the code; on the usual port of its scheme a browser leaves the port out."""
    assert here_of("10.42.0.1", "boat.local", 8712, False) == Here(("boat.local:8712", "10.42.0.1:8712"), "http")
    assert here_of("10.42.0.1", None, 80, False).hosts == ("10.42.0.1:80", "10.42.0.1")
    assert here_of("10.42.0.1", None, 443, False).hosts == ("10.42.0.1:443",)
    assert here_of("10.42.0.1", None, 443, True).hosts == ("10.42.0.1:443", "10.42.0.1")


def test_a_certificate_is_made_once_and_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The phone warns once: the same one serves until another name is served or its end comes near."""
    path, first = certificate(tmp_path, ("10.42.0.1", "boat.local"))
    assert path.stat().st_mode & 0o777 == 0o600
    assert certificate(tmp_path, ("10.42.0.1", "boat.local"))[1] == first
    assert certificate(tmp_path, ("10.42.0.1",))[1] == first
    _, second = certificate(tmp_path, ("10.42.0.1", "other.local"))
    assert second != first
    monkeypatch.setattr(tls, "LEFT_DAYS", tls.DAYS + 2)
    assert certificate(tmp_path, ("10.42.0.1", "other.local"))[1] != second


def test_what_a_certificate_says(tmp_path: Path) -> None:
    """It is for the served name and address alone, may sign no other, and says no more of the laptop."""
    path, _ = certificate(tmp_path, ("10.42.0.1", "boat.local"))
    found = x509.load_pem_x509_certificate(path.read_bytes())
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert [str(name.value) for name in names] == ["10.42.0.1", "boat.local"]
    assert not found.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert found.subject.rfc4514_string() == "CN=wiremap"
    left = found.not_valid_after_utc - datetime.datetime.now(datetime.UTC)
    assert datetime.timedelta(days=tls.DAYS - 1) < left <= datetime.timedelta(days=tls.DAYS)


def test_a_certificate_that_is_none_is_said(tmp_path: Path) -> None:
    """What cannot be read is not written over."""
    (tmp_path / "certificate.pem").write_text("of somebody else", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be read"):
        certificate(tmp_path, ("10.42.0.1",))
    assert (tmp_path / "certificate.pem").read_text(encoding="utf-8") == "of somebody else"
