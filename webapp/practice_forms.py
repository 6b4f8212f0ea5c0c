"""The forms about practising, as they arrive; meaning is judged by the services."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from flask_wtf.file import FileField
from wtforms import (
    DateField,
    IntegerField,
    RadioField,
    SelectChoice,
    SelectField,
    StringField,
    TextAreaField,
)
from wtforms.validators import InputRequired, Length, Optional

from webapp.finder_forms import GRIDS, AddressForm
from webapp.forms import DYNAMICS, NOTES_CHARACTERS, NumberField
from webapp.models import TargetState

STATES = [SelectChoice(each.value) for each in TargetState]


class PracticeForm(FlaskForm):
    """The beginning of a practice session; everything may be left open."""

    tuning_a_hz = NumberField("Tuning A today (Hz)")
    air_temperature_c = NumberField("Air temperature (°C)")
    notes = TextAreaField("Notes", [Length(max=NOTES_CHARACTERS)])


class FactsForm(FlaskForm):
    """What may be changed of a session while it is open."""

    today_tuning_a_hz = NumberField("Tuning A today (Hz)")
    today_air_temperature_c = NumberField("Air temperature (°C)")


class TypedTargetsForm(FlaskForm):
    """Targets typed by hand; each is read by the service."""

    targets = TextAreaField(
        "Pitches", [InputRequired("Type at least one pitch."), Length(max=4000)]
    )


class GapsForm(FlaskForm):
    """Which gaps of the written range go on the list."""

    grid = SelectField("Steps", choices=GRIDS, default="24")
    low = StringField("From", [Length(max=60)])
    high = StringField("Up to", [Length(max=60)])
    count = IntegerField("How many", [InputRequired("Say how many.")], default=10)


class StandForm(AddressForm):
    """The target that lies on the stand by itself."""

    q = StringField("Target", [Length(max=120)])


class TargetStateForm(FlaskForm):
    """What has become of a target; the note is left as it is where none is sent."""

    state = RadioField("State", choices=STATES)
    note = StringField("Note", [Length(max=2000)])

    @property
    def chosen(self) -> TargetState:
        """The state in a form that is in order."""
        return TargetState(self.state.data)


class TuningTakeForm(FlaskForm):
    """Which take of the session stands for the day."""

    take = SelectField("Take", validate_choice=False)


class TuningNoteForm(FlaskForm):
    """A recording of the tuning note; the file last, so that the text arrives first."""

    written = StringField(
        "Written note", [InputRequired("Say which note you tuned to."), Length(max=120)]
    )
    clip = FileField("Recording of it")


class LongRecordingForm(FlaskForm):
    """A recording of many notes and what is said of all of them; the file last."""

    dynamic = SelectField(
        "Dynamic of all notes", [Optional()], choices=[SelectChoice("", "not noted"), *DYNAMICS]
    )
    air_temperature_c = NumberField("Air temperature (°C)")
    take_tuning_a_hz = NumberField("Tuning A of that day (Hz)")
    recorded_on = DateField("Recorded on", [Optional()])
    clip = FileField("Long recording")
