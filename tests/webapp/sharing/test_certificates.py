"""The certificates, read back by `cryptography` and judged by OpenSSL.

Truth: RFC 5280 (extensions), Apple's "Requirements for trusted certificates in iOS 13 and macOS
10.15" (serverAuth, names in the alternative name, SHA-2) and its limit of 398 days; OpenSSL,
through Python's `ssl`, is the independent judge: it made none of this.
"""

import socket
import ssl
import stat
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID

from tests.webapp.shared_access import HOSTS, LOOPBACK
from webapp.notebook.store.errors import CertificateMissing, CertificateOutdated, SharingRefused
from webapp.sharing import certificates
from webapp.sharing.addresses import Hosts
from webapp.sharing.certificates import CertificateFacts, make_certificate, read_certificate
from webapp.sharing.folder import SharingFolder
from webapp.sharing.listener import make_tls_context

NOW = datetime.now(UTC).replace(microsecond=0)


@pytest.fixture
def folder(tmp_path: Path) -> SharingFolder:
    return SharingFolder.of(tmp_path)


def read(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def test_the_server_certificate_is_what_tablets_ask_for(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    server = read(folder.server)
    names = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == ["music-room.local"]
    assert names.get_values_for_type(x509.IPAddress) == [IPv4Address("192.168.7.5")]
    usage = server.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert server.not_valid_after_utc - server.not_valid_before_utc <= timedelta(days=398)
    assert server.not_valid_before_utc < NOW
    assert isinstance(server.signature_hash_algorithm, hashes.SHA256)
    keys = server.extensions.get_extension_for_class(x509.KeyUsage)
    assert keys.critical
    assert keys.value.digital_signature
    assert not keys.value.key_cert_sign
    assert not server.extensions.get_extension_for_class(x509.BasicConstraints).value.ca


def test_the_authority_may_sign_certificates_for_private_hosts_only(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    authority = read(folder.authority)
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    keys = authority.extensions.get_extension_for_class(x509.KeyUsage)
    assert keys.critical
    assert keys.value.key_cert_sign
    assert not keys.value.digital_signature
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical, "RFC 5280, section 4.2.1.10"
    permitted = [each.value for each in limits.value.permitted_subtrees or []]
    networks = [each for each in permitted if isinstance(each, IPv4Network)]
    assert all(each.is_private for each in networks)
    assert {each for each in permitted if isinstance(each, str)} == {
        "local", "home.arpa", "localhost", "internal",
    }  # fmt: skip


def test_secret_keys_are_for_their_owner_only_and_the_handout_holds_none(
    folder: SharingFolder,
) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    for path in folder.path.iterdir():
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, path
    assert b"PRIVATE" in folder.authority_key.read_bytes()
    assert b"PRIVATE" in folder.server_key.read_bytes()
    assert b"PRIVATE" not in folder.server.read_bytes()
    handed_out = x509.load_der_x509_certificate(folder.handout.read_bytes())
    assert handed_out == read(folder.authority)


def test_what_is_read_back_is_what_was_made(folder: SharingFolder) -> None:
    made = make_certificate(folder, HOSTS, now=NOW)
    assert read_certificate(folder) == made
    assert made.hosts == HOSTS
    assert made.is_valid_at(NOW)
    assert not made.is_valid_at(made.valid_to + timedelta(seconds=1))
    assert not made.is_valid_at(made.valid_from - timedelta(seconds=1))
    print_of = read(folder.authority).fingerprint(hashes.SHA256())
    assert bytes.fromhex(made.authority_fingerprint.replace(":", "")) == print_of


def shake_hands(folder: SharingFolder, name: str, trusted: Path) -> str:
    """Connect as a strict client that trusts one authority; return the TLS version."""
    context = ssl.create_default_context(cafile=str(trusted))
    context.verify_flags |= ssl.VerifyFlags.VERIFY_X509_STRICT
    near, far = socket.socketpair()
    near.settimeout(10)
    far.settimeout(10)

    def answer() -> None:
        try:
            with make_tls_context(folder).wrap_socket(far, server_side=True) as served:
                served.recv(1)
        except OSError:
            far.close()

    thread = threading.Thread(target=answer)
    thread.start()
    try:
        with near, context.wrap_socket(near, server_hostname=name) as connection:
            version = connection.version()
            connection.send(b"x")
    finally:
        near.close()
        thread.join()
    assert version is not None
    return version


@pytest.mark.parametrize("name", ["192.168.7.5", "music-room.local"])
def test_openssl_takes_it_for_every_host_it_names(folder: SharingFolder, name: str) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    assert shake_hands(folder, name, folder.authority) == "TLSv1.3"


@pytest.mark.parametrize("name", ["192.168.7.6", "music-room.example", "localhost"])
def test_openssl_takes_it_for_no_other_host(folder: SharingFolder, name: str) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="match"):
        shake_hands(folder, name, folder.authority)


def test_openssl_takes_it_from_no_other_authority(folder: SharingFolder, tmp_path: Path) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    other = SharingFolder.of(tmp_path / "other")
    make_certificate(other, HOSTS, now=NOW)
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(folder, "192.168.7.5", other.authority)


def without_limits(patch: pytest.MonkeyPatch) -> None:
    """Sign whatever is asked, as a thief of the authority's key could."""
    patch.setattr(certificates, "_refuse_unconstrained", lambda *_: None)


@pytest.mark.parametrize(
    "hosts",
    [Hosts((), ("bank.example",)), Hosts((IPv4Address("203.0.113.9"),), ())],
    ids=["a public name", "a public address"],
)
def test_openssl_takes_nothing_public_from_it_even_signed_with_its_key(
    folder: SharingFolder, monkeypatch: pytest.MonkeyPatch, hosts: Hosts
) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    without_limits(monkeypatch)
    make_certificate(folder, hosts, now=NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(folder, hosts.texts[0], folder.authority)


def test_running_again_renews_and_keeps_the_authority(folder: SharingFolder) -> None:
    first = make_certificate(folder, HOSTS, now=NOW - timedelta(days=390))
    authority, key = folder.authority.read_bytes(), folder.authority_key.read_bytes()
    moved = Hosts((IPv4Address("10.0.0.5"),), HOSTS.names)
    second = make_certificate(folder, moved, now=NOW)
    assert folder.authority.read_bytes() == authority
    assert folder.authority_key.read_bytes() == key
    assert second.valid_to > first.valid_to
    assert second.authority_fingerprint == first.authority_fingerprint
    assert shake_hands(folder, "10.0.0.5", folder.authority)


def test_a_new_authority_is_made_when_it_is_asked_for(folder: SharingFolder) -> None:
    first = make_certificate(folder, HOSTS, now=NOW)
    second = make_certificate(folder, HOSTS, now=NOW, is_authority_new=True)
    assert second.authority_fingerprint != first.authority_fingerprint


def test_a_host_that_the_authority_is_not_meant_for_is_refused_with_the_way_out(
    folder: SharingFolder,
) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    strange = Hosts((IPv4Address("203.0.113.9"),), ("notebook.example", "a.local"))
    with pytest.raises(SharingRefused, match=r"notebook\.example and 203\.0\.113\.9.*--new-auth"):
        make_certificate(folder, strange, now=NOW)
    made = make_certificate(folder, strange, now=NOW, is_authority_new=True)
    assert made.hosts == strange
    assert shake_hands(folder, "notebook.example", folder.authority)


def test_a_name_that_only_ends_alike_is_not_meant(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    with pytest.raises(SharingRefused, match="notlocal"):
        make_certificate(folder, Hosts((), ("notlocal",)), now=NOW)


def test_no_certificate_outlives_its_authority(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW - timedelta(days=3600))
    made = make_certificate(folder, HOSTS, now=NOW)
    assert made.valid_to == made.authority_valid_to


def test_an_authority_that_ended_is_said_with_what_to_do(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW - timedelta(days=3651))
    with pytest.raises(CertificateOutdated, match="--new-authority"):
        make_certificate(folder, HOSTS, now=NOW)


def test_a_machine_in_no_network_is_told_so(folder: SharingFolder) -> None:
    with pytest.raises(SharingRefused, match="no network"):
        make_certificate(folder, Hosts((), ()), now=NOW)
    assert not folder.authority.exists()


def test_without_a_certificate_its_command_is_named(folder: SharingFolder) -> None:
    with pytest.raises(CertificateMissing, match="quartervent certificate"):
        read_certificate(folder)


Damage = Callable[[SharingFolder], object]
OTHER_KEY = ec.generate_private_key(ec.SECP256R1()).private_bytes(
    serialization.Encoding.PEM,
    serialization.PrivateFormat.PKCS8,
    serialization.NoEncryption(),
)


@pytest.mark.parametrize(
    "damage",
    [
        lambda folder: folder.server.write_bytes(b"not a certificate"),
        lambda folder: folder.server.write_bytes(b""),
        lambda folder: folder.server_key.write_bytes(OTHER_KEY),
        lambda folder: folder.server_key.write_bytes(b""),
        lambda folder: folder.server_key.unlink(),
    ],
    ids=["nonsense", "empty", "another's key", "empty key", "no key"],
)
def test_damaged_files_are_said_in_words(folder: SharingFolder, damage: Damage) -> None:
    make_certificate(folder, LOOPBACK, now=NOW)
    damage(folder)
    with pytest.raises(CertificateMissing, match="quartervent certificate"):
        read_certificate(folder)
    assert isinstance(make_certificate(folder, LOOPBACK, now=NOW), CertificateFacts)


@pytest.mark.parametrize("remains", [b"", b"nonsense", OTHER_KEY])
def test_a_damaged_authority_is_never_replaced_unasked(
    folder: SharingFolder, remains: bytes
) -> None:
    make_certificate(folder, LOOPBACK, now=NOW)
    folder.authority_key.write_bytes(remains)
    with pytest.raises(CertificateMissing, match="--new-authority"):
        make_certificate(folder, LOOPBACK, now=NOW)
    make_certificate(folder, LOOPBACK, now=NOW, is_authority_new=True)
