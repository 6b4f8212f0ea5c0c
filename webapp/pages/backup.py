"""The whole notebook as one file to keep elsewhere."""

import tempfile

from flask import Blueprint, Response, send_file

from webapp.notebook.safekeeping.backup import dated_name, make_backup
from webapp.presenting.words import current_notebook

blueprint = Blueprint("backup", __name__)


@blueprint.post("/backup")
def download() -> Response:
    """Make a backup and hand it out; the file it is made in goes with the answer."""
    notebook = current_notebook()
    archive = tempfile.TemporaryFile(prefix="backup-", dir=notebook.folder)  # noqa: SIM115 - sent later
    try:
        make_backup(notebook, archive)
        archive.seek(0)
        answer = send_file(
            archive,
            mimetype="application/zip",
            as_attachment=True,
            download_name=dated_name(),
            max_age=0,
        )
    except BaseException:
        archive.close()
        raise
    answer.call_on_close(archive.close)
    return answer
