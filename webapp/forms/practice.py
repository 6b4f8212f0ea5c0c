"""The forms about practising, as they arrive; meaning is judged by the services."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from flask_wtf.file import FileField
from wtforms import (
    BooleanField,
    SelectChoice,
    StringField,
    TextAreaField,
)
from wtforms.validators import InputRequired, Optional

from webapp.forms.entries import DYNAMICS, NOTES_CHARACTERS
from webapp.forms.fields import (
    AtMost,
    ChoiceField,
    CountField,
    DayField,
    MomentField,
    NumberField,
    OneOfField,
)
from webapp.forms.finder import GRIDS, AddressForm
from webapp.forms.notes import NoteField, NoteListField
from webapp.notebook.practice.practice import REED_CHARACTERS
from webapp.notebook.store.rows import TargetState

STATES = [SelectChoice(each.value) for each in TargetState]


class PracticeForm(FlaskForm):
    """The beginning of a practice; everything may be left open."""

    tuning_a_hz = NumberField("Tuning A today (Hz)")
    air_temperature_c = NumberField("Air temperature (°C)")
    reed = StringField("Reed today", [AtMost(REED_CHARACTERS)])
    barrel_pull_mm = NumberField("Barrel pulled (mm)")
    notes = TextAreaField("Notes", [AtMost(NOTES_CHARACTERS)])


class FactsForm(FlaskForm):
    """What may be changed of a practice while it is open."""

    tuning_a_hz = NumberField("Tuning A today (Hz)")
    air_temperature_c = NumberField("Air temperature (°C)")
    reed = StringField("Reed today", [AtMost(REED_CHARACTERS)])
    barrel_pull_mm = NumberField("Barrel pulled (mm)")


class TypedTargetsForm(FlaskForm):
    """Targets typed by hand; each is read by the service."""

    targets = NoteListField("Notes", [InputRequired("Type at least one note."), AtMost(4000)])


class GapsForm(FlaskForm):
    """Which gaps of the written range go on the list."""

    grid = ChoiceField("Steps", choices=GRIDS, default="24")
    low = NoteField("From", [AtMost(60)])
    high = NoteField("Up to", [AtMost(60)])
    count = CountField("How many", [InputRequired("Say how many.")], default=10)


class StandForm(AddressForm):
    """The target that lies on the stand by itself."""

    q = NoteField("Note", [AtMost(120)])


class TargetStateForm(FlaskForm):
    """What has become of a target; the note is left as it is where none is sent."""

    state = OneOfField("State", choices=STATES)
    note = StringField("Note", [AtMost(2000)])

    @property
    def chosen(self) -> TargetState:
        """The state in a form that is in order."""
        return TargetState(self.state.data)


class TuningTakeForm(FlaskForm):
    """Which take of the practice is a tuning note of the day."""

    take = ChoiceField("Take", validate_choice=False)


class TuningNoteForm(FlaskForm):
    """A recording of a tuning note; the file last, so that the text arrives first."""

    written = NoteField("Written note", [InputRequired("Say which note it is."), AtMost(120)])
    clip = FileField("Recording of it")


class UploadedTuningNoteForm(TuningNoteForm):
    """A tuning note that the page itself recorded: it may have waited, so it says when."""

    recorded_at = MomentField("Recorded at")


class LeaveOutForm(FlaskForm):
    """Whether a tuning note is left out."""

    is_left_out = BooleanField("Leave out")


class LongRecordingForm(FlaskForm):
    """A recording of many notes and what is said of all of them; the file last."""

    dynamic = ChoiceField(
        "Dynamic of all notes", [Optional()], choices=[SelectChoice("", "not noted"), *DYNAMICS]
    )
    air_temperature_c = NumberField("Air temperature (°C)")
    tuning_a_hz = NumberField("Tuning A (Hz)")
    recorded_at = DayField("Recorded on", [Optional()])
    clip = FileField("Long recording")
