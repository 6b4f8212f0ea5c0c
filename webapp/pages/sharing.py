"""The notebook on a tablet: what is ready, where it opens, and how to get there."""

from flask import Response, abort, current_app, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response as AnyResponse

from webapp.guards.admission import SIGN_IN_DAYS
from webapp.notebook.store.clock import now_utc
from webapp.presenting.words import current_notebook
from webapp.sharing.access import SharedAccess, list_devices
from webapp.sharing.devices import sign_device_out
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import sign_everyone_out
from webapp.sharing.state import read_state


def _folder() -> SharingFolder:
    return SharingFolder.of(current_notebook().folder)


def show() -> str:
    """Show the state of sharing and the way there."""
    access: SharedAccess | None = current_app.extensions["shared_access"]
    return render_template(
        "sharing.html",
        state=read_state(_folder(), now_utc()),
        devices=list_devices(_folder()),
        access=access,
        sign_in_days=SIGN_IN_DAYS,
    )


def authority() -> Response:
    """Hand out the authority's certificate, which is no secret."""
    path = _folder().handout
    if not path.is_file():
        abort(404)
    return Response(
        path.read_bytes(),
        mimetype="application/x-x509-ca-cert",
        headers={"Content-Disposition": f'attachment; filename="{path.name}"'},
    )


def sign_out_one(device: str) -> AnyResponse:
    """Ask one device for the passphrase again."""
    was_there = sign_device_out(_folder(), device_id=device)
    flash("The device is signed out." if was_there else "That device was signed out already.")
    return redirect(url_for("sharing.show"))


def sign_out_all() -> AnyResponse:
    """Ask every device for the passphrase again, this one too if it is another device."""
    sign_everyone_out(_folder())
    flash("Every device is signed out.")
    return redirect(url_for("sharing.show"))
