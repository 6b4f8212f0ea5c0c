"""Errors that a player can do something about, one class each.

::

    NotebookError            status the page answers with
    +-- NotInNotebook        404  no such instrument, fingering, take
    +-- Refused              422  what was typed or chosen cannot be kept as it is
    |   +-- FieldRefused          the same, and it names the form field
    |   +-- ClipRefused      415  the file is no recording that can be measured
    |   +-- ClipUnmeasured   500  this program failed on the file, which may be sound
    |   +-- DuplicateClip    409  this very recording is attached already
    |   +-- DuplicateRecording 409  this very long recording is there already
    |   +-- SharingRefused        an address, a name or a passphrase that cannot be used
    |   +-- BackupRefused    422  the archive is no backup that can be restored whole
    |   |   +-- BackupFromLater   a newer Quartervent made it
    |   +-- ExchangeRefused  422  the archive is none of an exchange, damaged or hostile
    +-- TooLarge             413
    +-- StaleEdit            409  somebody (another tab) saved a newer version meanwhile
    +-- NotebookFromLater    500  the database was written by a newer Quartervent
    +-- NotebookUnreadable   500  the database is locked, or cannot be reached
    |   +-- DatabaseOutOfReach 503  the engine of QUARTERVENT_DATABASE does not let the notebook in
    |   +-- NotebookDamaged       it is damaged, or none of ours; a backup can take its place
    +-- FolderInUse          409  another server or command holds the folder
    +-- JobTaken             409  another program on this database is doing the same
    +-- MigrationDamage      500  an upgrade would have lost rows; it was undone
    +-- ClipMissing          410  the row is there, its file is not
    +-- NotReadyToShare      409  the notebook cannot be opened to other devices yet
        +-- CertificateMissing    `quartervent certificate` was not run, or its files are damaged
        +-- CertificateOutdated   it ran too long ago
        +-- PassphraseMissing     `quartervent passphrase` was not run

The text of an error is a sentence for the player: what was found, what was expected, what to do.
Errors of `analysis` (`analysis.errors`) are shown the same way with status 422.
"""


class NotebookError(Exception):
    """Base of all errors of the notebook itself."""

    status = 500


class NotInNotebook(NotebookError):
    """What an address names is not there."""

    status = 404


class Refused(NotebookError):
    """What was entered cannot be kept as it is."""

    status = 422


class FieldRefused(Refused):
    """One form field cannot be kept as it is.

    `choices` are what may have been meant, each as the text of the field and as it is shown.
    """

    def __init__(self, field: str, message: str, choices: tuple[tuple[str, str], ...] = ()) -> None:
        super().__init__(message)
        self.field = field
        self.choices = choices


class ClipRefused(Refused):
    """The uploaded file is no recording that can be measured."""

    status = 415


class ClipUnmeasured(Refused):
    """The program failed while it measured a file, which says nothing about the file.

    A page's own takes wait in the browser after it, as after any answer of 500 and above.
    """

    status = 500


class NoteTooLong(Refused):
    """A recording is longer than one held note is measured while somebody waits."""

    def __init__(self, duration_s: float, longest_s: float) -> None:
        super().__init__(
            f"This recording lasts {duration_s:.0f} s; one held note may last {longest_s:.0f} s. "
            "Cut out the note you mean."
        )
        self.duration_s = duration_s


class DuplicateClip(Refused):
    """The same recording is attached to this fingering already."""

    status = 409

    def __init__(self, take_id: int) -> None:
        super().__init__(
            "This very recording is attached to this fingering already. "
            "Look at the take that is there, or choose another file."
        )
        self.take_id = take_id


class DuplicateRecording(Refused):
    """The same long recording of this instrument is in the notebook already."""

    status = 409

    def __init__(self, recording_id: int) -> None:
        super().__init__(
            "This very recording is in the notebook already. "
            "Go on with the one that is there, or choose another file."
        )
        self.recording_id = recording_id


class SharingRefused(Refused):
    """An address, a name or a passphrase cannot be used for sharing."""


class BackupRefused(Refused):
    """An archive is no backup of a notebook, or not a whole one; or none can be made."""


class BackupFromLater(BackupRefused):
    """A backup has a format or a schema that this version does not know."""


class ExchangeRefused(Refused):
    """An archive is none that another player's notebook made, or not a whole one."""


class TooLarge(NotebookError):
    """An upload is larger than the notebook takes."""

    status = 413


class StaleEdit(NotebookError):
    """The entry was changed elsewhere since this form was opened."""

    status = 409


class NotebookFromLater(NotebookError):
    """The database has a schema that this version does not know."""

    def __init__(self, revision: str) -> None:
        super().__init__(
            f"This notebook was last opened by a newer Quartervent (its format is {revision}). "
            "Start that newer version, or open another folder with QUARTERVENT_INSTANCE. "
            "Nothing was changed."
        )


class NotebookUnreadable(NotebookError):
    """The database cannot be read."""


class DatabaseOutOfReach(NotebookUnreadable):
    """The engine that QUARTERVENT_DATABASE names is not there, or does not let the notebook in."""

    status = 503


class NotebookDamaged(NotebookUnreadable):
    """The database file is damaged, or not that of a notebook."""


class FolderInUse(NotebookError):
    """Another process holds the notebook's folder."""

    status = 409


class JobTaken(NotebookError):
    """Another program that uses the same database is doing this job."""

    status = 409

    def __init__(self) -> None:
        super().__init__(
            "Another Quartervent that uses the same database is doing this already. Wait until it "
            "is done, and try again."
        )


class MigrationDamage(NotebookError):
    """A migration left rows that point nowhere; it was rolled back."""


class ClipMissing(NotebookError):
    """A take's sound file is gone from the clip store."""

    status = 410


class NotReadyToShare(NotebookError):
    """Something is missing before other devices may be let in."""

    status = 409


class CertificateMissing(NotReadyToShare):
    """There is no certificate, or its files cannot be read."""


class CertificateOutdated(NotReadyToShare):
    """The certificate is not valid today."""


class PassphraseMissing(NotReadyToShare):
    """There is no passphrase."""
