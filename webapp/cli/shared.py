"""Open the notebook to other devices beside `serve`, and say at which address."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import click
from flask import Flask

from webapp.app import create_shared_app
from webapp.guards.uploads import BODY_LIMIT_BYTES
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import NotReadyToShare
from webapp.notebook.store.notebook import Notebook
from webapp.sharing.access import SharedAccess
from webapp.sharing.addresses import find_own_hosts
from webapp.sharing.certificates import CertificateFacts
from webapp.sharing.folder import SharingFolder
from webapp.sharing.listener import ANY_ADDRESS, SharedListener, make_tls_context
from webapp.sharing.state import SOON, require_ready


@dataclass(frozen=True, slots=True)
class OpenSharing:
    """Sharing whose port is taken; nothing is answered before `answer`."""

    access: SharedAccess
    listener: SharedListener
    facts: CertificateFacts

    def answer(self, local: Flask) -> None:
        """Answer other devices from now on, with the notebook and work of the local application."""
        self.listener.answer_with(create_shared_app(local, self.access))

    @property
    def words(self) -> str:
        """What the player should know of it."""
        lines = [f"A tablet on this network opens {' or '.join(self.access.origins)}"]
        lines.append("It asks for the passphrase. Share only in a network that you trust.")
        strange = [
            str(each)
            for each in find_own_hosts().addresses
            if each not in self.facts.hosts.addresses
        ]
        if strange:
            lines.append(
                f"This machine now has the address {', '.join(strange)} too, which the certificate "
                "does not name: run quartervent certificate and start again."
            )
        if self.facts.valid_to - now_utc() < SOON:
            lines.append(
                f"The certificate ends on {self.facts.valid_to:%Y-%m-%d}; renew it with: "
                "quartervent certificate"
            )
        return "\n".join(lines)


@contextmanager
def open_sharing(notebook: Notebook, port: int) -> Iterator[OpenSharing]:
    """Take the port for other devices until the block ends; what is missing is said in words."""
    folder = SharingFolder.of(notebook.folder)
    try:
        facts = require_ready(folder, now_utc())
    except NotReadyToShare as error:
        raise click.ClickException(str(error)) from error
    listener = SharedListener(
        make_tls_context(folder), port=port, body_limit_bytes=2 * BODY_LIMIT_BYTES
    )
    try:
        listener.prepare()
    except OSError as error:
        raise click.ClickException(
            f"Port {port} on {ANY_ADDRESS} is taken, perhaps by a notebook that is shared already. "
            "Close that one, or choose another with --share-port."
        ) from error
    try:
        yield OpenSharing(
            SharedAccess(folder, facts.hosts, listener.port, now_utc), listener, facts
        )
    finally:
        listener.stop()
