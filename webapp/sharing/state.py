"""State of sharing, as its page shows it, and what must be there before the door opens."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from webapp.notebook.store.errors import CertificateOutdated, NotReadyToShare
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import read_passphrase

if TYPE_CHECKING:
    from webapp.sharing.certificates import CertificateFacts

SOON = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class SharingState:
    """What is ready for sharing, and in words what is not."""

    certificate: "CertificateFacts | None"
    certificate_problem: str
    passphrase_problem: str
    ends_soon: bool

    @property
    def is_ready(self) -> bool:
        """Whether `serve --share` would open the door."""
        return not (self.certificate_problem or self.passphrase_problem)


def require_ready(folder: SharingFolder, now: datetime) -> "CertificateFacts":
    """Return the certificate to share with.

    Raises:
        CertificateMissing: there is none.
        CertificateOutdated: it is not valid today.
        PassphraseMissing: there is no passphrase.
    """
    facts = _require_certificate(folder, now)
    read_passphrase(folder)
    return facts


def read_state(folder: SharingFolder, now: datetime) -> SharingState:
    """Return what is ready."""
    certificate, certificate_problem = None, ""
    passphrase_problem = ""
    try:
        certificate = _require_certificate(folder, now)
    except NotReadyToShare as error:
        certificate_problem = str(error)
    try:
        read_passphrase(folder)
    except NotReadyToShare as error:
        passphrase_problem = str(error)
    return SharingState(
        certificate=certificate,
        certificate_problem=certificate_problem,
        passphrase_problem=passphrase_problem,
        ends_soon=certificate is not None and certificate.valid_to - now < SOON,
    )


def _require_certificate(folder: SharingFolder, now: datetime) -> "CertificateFacts":
    from webapp.sharing.certificates import read_certificate

    facts = read_certificate(folder)
    if not facts.is_valid_at(now):
        raise CertificateOutdated(
            f"The certificate is valid from {facts.valid_from:%Y-%m-%d} to "
            f"{facts.valid_to:%Y-%m-%d}, not today. Renew it with: quartervent certificate - the "
            "tablet needs nothing new."
        )
    return facts
