"""The player's own certificate authority, and the server's certificate that it signs.

What the certificates must have, and where that is written:

* server: names in the subject alternative name, extended key usage serverAuth, SHA-2, at most 825
  days (Apple, "Requirements for trusted certificates in iOS 13 and macOS 10.15"); at most 398 days
  (Apple, "About upcoming limits on trusted certificates", for authorities that come with a system;
  we keep to it although a player's own authority is exempt). We take 397, with an hour's grace for
  a tablet whose clock is slow.
* authority: basic constraints and key usage critical, key identifiers (RFC 5280, sections 4.2.1.1
  to 4.2.1.9; OpenSSL's strict mode asks for all of them).
* keys: the curve P-256 with SHA-256 (FIPS 186-5), which every tablet of the last ten years takes.

A tablet that trusts an authority would trust it for every site. So name constraints (RFC 5280,
section 4.2.1.10, critical as it asks) confine ours to private addresses, to names that exist on
private networks only, and to what the player asked for when it was made: even with its key stolen
it cannot speak for a bank. OpenSSL checks them (tested), Apple's systems since 2018 and Chromium
since version 112 (from memory); where a system does not look at them they do no harm.
"""

import ssl
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from webapp.notebook.store.errors import CertificateMissing, CertificateOutdated, SharingRefused
from webapp.sharing.addresses import Hosts
from webapp.sharing.folder import SharingFolder

SERVER_DAYS = 397
AUTHORITY_DAYS = 3650
GRACE = timedelta(hours=1)
# RFC 1918, link-local (RFC 3927), loopback (RFC 1122).
PRIVATE_NETWORKS = tuple(
    map(
        IPv4Network,
        ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
    )
)
# Multicast DNS (RFC 6762), home networks (RFC 8375), this machine (RFC 6761), and the name that the
# open name system has set aside for private use (ICANN, 2024).
PRIVATE_NAMES = ("local", "home.arpa", "localhost", "internal")


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """What the server's certificate says, and how its authority is recognised."""

    hosts: Hosts
    valid_from: datetime
    valid_to: datetime
    authority_name: str
    authority_fingerprint: str
    """SHA-256, as tablets show it."""
    authority_valid_to: datetime

    def is_valid_at(self, moment: datetime) -> bool:
        """Tell whether a browser would take the certificate at this moment."""
        return self.valid_from <= moment <= self.valid_to


def make_certificate(
    folder: SharingFolder, hosts: Hosts, *, now: datetime, is_authority_new: bool = False
) -> CertificateFacts:
    """Make a server certificate, and an authority if there is none or a new one is wanted.

    Raises:
        SharingRefused: no address and no name is given, or the authority is not meant for one.
        CertificateMissing: the authority's files are damaged.
        CertificateOutdated: the authority itself is too old.
    """
    if not hosts.texts:
        raise SharingRefused(
            "This machine seems to be in no network. Join one, or give an address of it with "
            "--address."
        )
    if is_authority_new or not folder.authority.exists():
        _make_authority(folder, hosts, now)
    authority, key = _load_authority(folder)
    if authority.not_valid_after_utc <= now:
        raise CertificateOutdated(
            f"The authority ended on {authority.not_valid_after_utc:%Y-%m-%d}. Make a new one with "
            "quartervent certificate --new-authority, and bring its file to the tablet again."
        )
    _refuse_unconstrained(authority, hosts)
    _sign_server(folder, authority, key, hosts, now)
    return read_certificate(folder)


def read_certificate(folder: SharingFolder) -> CertificateFacts:
    """Read the certificate that is there.

    Raises:
        CertificateMissing: there is none, its files are damaged, or do not belong together.
    """
    missing = "There is no certificate yet. Make one with: quartervent certificate"
    damaged = "The files of the certificate are damaged. Make it anew with: quartervent certificate"
    try:
        server, authority = x509.load_pem_x509_certificates(folder.server.read_bytes())[:2]
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(folder.server, folder.server_key)
        named = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except FileNotFoundError as error:
        raise CertificateMissing(missing) from error
    except (OSError, ValueError, x509.ExtensionNotFound) as error:
        raise CertificateMissing(damaged) from error
    addresses = named.get_values_for_type(x509.IPAddress)
    return CertificateFacts(
        hosts=Hosts(
            tuple(each for each in addresses if isinstance(each, IPv4Address)),
            tuple(named.get_values_for_type(x509.DNSName)),
        ),
        valid_from=server.not_valid_before_utc,
        valid_to=server.not_valid_after_utc,
        authority_name=_common_name(authority),
        authority_fingerprint=authority.fingerprint(hashes.SHA256()).hex(":").upper(),
        authority_valid_to=authority.not_valid_after_utc,
    )


def _make_authority(folder: SharingFolder, hosts: Hosts, now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"Quartervent, a notebook of my own ({now:%Y-%m-%d})")
    public = key.public_key()
    key_usage = _key_usage(signs_certificates=True)
    made = (
        _begin(name, name, public, now, now + timedelta(days=AUTHORITY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(key_usage, critical=True)
        .add_extension(_constrain(hosts), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .sign(key, hashes.SHA256())
    )
    folder.write(folder.authority_key, _write_key(key))
    folder.write(folder.handout, made.public_bytes(serialization.Encoding.DER))
    folder.write(folder.authority, made.public_bytes(serialization.Encoding.PEM))


def _load_authority(folder: SharingFolder) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    try:
        authority = x509.load_pem_x509_certificate(folder.authority.read_bytes())
        key = serialization.load_pem_private_key(folder.authority_key.read_bytes(), password=None)
    except (OSError, ValueError) as error:
        raise _damaged_authority() from error
    if (
        not isinstance(key, ec.EllipticCurvePrivateKey)
        or key.public_key() != authority.public_key()
    ):
        raise _damaged_authority()
    return authority, key


def _damaged_authority() -> CertificateMissing:
    return CertificateMissing(
        "The files of the authority are damaged or incomplete. Make a new one with: quartervent "
        "certificate --new-authority, and bring its file to the tablet again."
    )


def _sign_server(
    folder: SharingFolder,
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    hosts: Hosts,
    now: datetime,
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    public = key.public_key()
    ends = min(now - GRACE + timedelta(days=SERVER_DAYS), authority.not_valid_after_utc)
    names = [*map(x509.DNSName, hosts.names), *map(x509.IPAddress, hosts.addresses)]
    issuer_key = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    made = (
        _begin(_named("Quartervent"), authority.subject, public, now, ends)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(issuer_key),
            critical=False,
        )
        .sign(authority_key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    folder.write(folder.server_key, _write_key(key))
    folder.write(folder.server, made.public_bytes(pem) + authority.public_bytes(pem))


def _begin(
    subject: x509.Name,
    issuer: x509.Name,
    public: ec.EllipticCurvePublicKey,
    now: datetime,
    ends: datetime,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - GRACE)
        .not_valid_after(ends)
    )


def _constrain(hosts: Hosts) -> x509.NameConstraints:
    strange_addresses = [each for each in hosts.addresses if not _is_private(each)]
    strange_names = [each for each in hosts.names if not _is_below(each, PRIVATE_NAMES)]
    networks = [*PRIVATE_NETWORKS, *(IPv4Network(each) for each in strange_addresses)]
    permitted: list[x509.GeneralName] = [x509.IPAddress(each) for each in networks]
    permitted += [x509.DNSName(each) for each in (*PRIVATE_NAMES, *strange_names)]
    return x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None)


def _refuse_unconstrained(authority: x509.Certificate, hosts: Hosts) -> None:
    """Refuse a host that tablets would not take from this authority."""
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = constraints.permitted_subtrees or []
    names = [each.value for each in permitted if isinstance(each, x509.DNSName)]
    networks = [each.value for each in permitted if isinstance(each, x509.IPAddress)]
    strange = [name for name in hosts.names if not _is_below(name, names)]
    strange += [
        str(address)
        for address in hosts.addresses
        if not any(isinstance(each, IPv4Network) and address in each for each in networks)
    ]
    if strange:
        raise SharingRefused(
            f"The authority that was made earlier is not meant for {' and '.join(strange)}. Make a "
            "new one with --new-authority, and bring its file to the tablet again."
        )


def _is_private(address: IPv4Address) -> bool:
    return any(address in each for each in PRIVATE_NETWORKS)


def _is_below(name: str, suffixes: tuple[str, ...] | list[str]) -> bool:
    return any(f".{name}".endswith(f".{suffix}") for suffix in suffixes)


def _key_usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _named(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _common_name(certificate: x509.Certificate) -> str:
    (name,) = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(name.value)


def _write_key(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
