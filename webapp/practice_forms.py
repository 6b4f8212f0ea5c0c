"""The forms about practising, as they arrive; meaning is judged by the services."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from flask_wtf.file import FileField
from wtforms import DateField, SelectChoice, SelectField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length, Optional

from webapp.forms import DYNAMICS, NOTES_CHARACTERS, NumberField


class PracticeForm(FlaskForm):
    """The beginning of a practice session; everything may be left open."""

    tuning_a_hz = NumberField("Tuning A today (Hz)")
    air_temperature_c = NumberField("Air temperature (°C)")
    notes = TextAreaField("Notes", [Length(max=NOTES_CHARACTERS)])


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
