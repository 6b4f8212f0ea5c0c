"""The forms as they arrive: text and choices, with lengths; meaning is judged by the services."""

from flask_wtf import FlaskForm
from flask_wtf.file import FileField
from wtforms import (
    BooleanField,
    Field,
    HiddenField,
    IntegerField,
    SelectChoice,
    SelectField,
    StringField,
    TextAreaField,
)
from wtforms.validators import InputRequired, Optional

from analysis.finder import Strategy
from analysis.keywork import RightThumb
from analysis.pitch import NoteNames, Register
from webapp.forms.fields import AtMost, ChoiceField, DayField, MomentField, NumberField, OneOfField
from webapp.forms.notes import NoteField
from webapp.forms.signs import SignSystemForm
from webapp.notebook.preferences.preferences import THEMES
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.note_refusals import said_of
from webapp.presenting.words import DYNAMICS_WORDS, RESISTANCE_WORDS

NOTES_CHARACTERS = 20_000
ANY = [SelectChoice("", "any")]
STRATEGIES = [SelectChoice(each.value, each.words) for each in Strategy]
RESISTANCES = [
    SelectChoice(str(number), f"{number} {words}") for number, words in RESISTANCE_WORDS.items()
]
RANGE_GRIDS = [
    SelectChoice("12", "semitones"),
    SelectChoice("24", "quarter tones"),
    SelectChoice("48", "eighth tones"),
]
DYNAMICS = [SelectChoice(sign, words) for sign, words in DYNAMICS_WORDS.items()]
USUAL_THUMB = "as is usual for the keywork"
RIGHT_THUMBS = [SelectChoice(each.value, f"it {each.words}") for each in RightThumb]
_THEME_WORDS = {"system": "as this device is set"}


class InstrumentForm(FlaskForm):
    """An instrument; `model` pairs a kind with a key layout."""

    name = StringField("Name", [InputRequired("Give it a name you will recognise."), AtMost(120)])
    model = ChoiceField("Instrument and keywork")
    tuning_a_hz = NumberField(
        "Tuning A (Hz)", [InputRequired("Give the tuning A in Hz, such as 440.")], default="440"
    )
    highest = StringField("Highest note", [AtMost(40)])
    right_thumb = ChoiceField(
        "What the right thumb does",
        choices=[SelectChoice("", USUAL_THUMB), *RIGHT_THUMBS],
        validate_choice=False,  # it is not asked where the keywork leaves no choice
    )
    mouthpiece = StringField("Mouthpiece", [AtMost(200)])
    reed = StringField("Reed", [AtMost(200)])
    barrel = StringField("Barrel", [AtMost(200)])
    notes = TextAreaField("Notes", [AtMost(NOTES_CHARACTERS)])
    version = HiddenField()


class FingeringForm(FlaskForm):
    """A fingering; its keys are read apart, from one group of choices a key."""

    target = NoteField("For the note", [InputRequired("Say which note it is for."), AtMost(120)])
    base = ChoiceField("Started from", validate_choice=False)
    keys_text = StringField("Or type it", [AtMost(400)])
    keys_text_was = HiddenField()
    strategy = ChoiceField("How", choices=STRATEGIES, default=Strategy.FOUND.value)
    resistance = OneOfField(
        "Resistance",
        [Optional()],
        choices=[SelectChoice("", "not judged"), *RESISTANCES],
        default="",
    )
    resistance_notes = StringField("About the resistance", [AtMost(2000)])
    does_not_speak = BooleanField("It does not speak")
    speaks_softly = OneOfField(
        "Speaks at once when tongued at pp",
        [Optional()],
        choices=[
            SelectChoice("", "not tried"),
            SelectChoice("yes", "yes"),
            SelectChoice("no", "no"),
        ],
        default="",
    )
    notes = TextAreaField("Notes", [AtMost(NOTES_CHARACTERS)])
    tags = StringField("Tags, separated by commas", [AtMost(2000)])
    version = HiddenField()
    suggestion = HiddenField()
    take = HiddenField()


class TakeForm(FlaskForm):
    """A recording and what the player says about it; the file last, so that text arrives first."""

    dynamic = ChoiceField(
        "Dynamic", [Optional()], choices=[SelectChoice("", "not noted"), *DYNAMICS]
    )
    air_temperature_c = NumberField("Air temperature (°C)")
    tuning_a_hz = NumberField("Tuning A (Hz)")
    recorded_at = DayField("Recorded on", [Optional()])
    clip = FileField("Recording")


class UploadedTakeForm(TakeForm):
    """A take that the page itself recorded: it may have waited, so its moment comes with it."""

    recorded_at = MomentField("Recorded at")
    is_watched = BooleanField("Played watching")
    meant = StringField("The note that was to sound", [AtMost(120)])


class LoopEndsForm(FlaskForm):
    """The two fingerings of a loop: notes in canonical text, each with its keys."""

    note = StringField("One note", [InputRequired("Say which note it is."), AtMost(40)])
    keys = StringField("Its keys", [InputRequired("Say which keys are down."), AtMost(400)])
    second = StringField("The other note", [InputRequired("Say which note it is."), AtMost(40)])
    second_keys = StringField("Its keys", [InputRequired("Say which keys are down."), AtMost(400)])


class UploadedLoopForm(LoopEndsForm):
    """A loop that the stand recorded; its moment comes with it, the file last."""

    take_tuning_a_hz = NumberField("Tuning A (Hz)")
    recorded_at = MomentField("Recorded at")
    clip = FileField("Recording")


class SuggestedTakeForm(UploadedTakeForm):
    """A take played with the keys of a suggestion, which come with it."""

    keys = StringField("Keys", [AtMost(400)])
    base = StringField("Started from", [AtMost(80)])
    strategy = ChoiceField("Strategy", choices=[SelectChoice(each.value) for each in Strategy])
    is_known = BooleanField("A note of the first day")


class PreferencesForm(SignSystemForm):
    """How things are written."""

    note_names = ChoiceField(
        "Note names",
        choices=[
            SelectChoice(NoteNames.ENGLISH.value, "English: B, B♭, F♯"),
            SelectChoice(NoteNames.GERMAN.value, "German: H, B, Fis"),
            SelectChoice(NoteNames.ROMANCE.value, "Romance: si, si bémol, fa dièse"),
        ],
    )
    tolerance_cents = NumberField("Tolerance (cents)", default="10")
    lip_down_cents = NumberField("Down, up to the clarion")
    lip_up_cents = NumberField("Up, up to the clarion")
    lip_down_high_cents = NumberField("Down, altissimo")
    lip_up_high_cents = NumberField("Up, altissimo")
    theme = ChoiceField(
        "Light or dark",
        choices=[SelectChoice(each, _THEME_WORDS.get(each, each)) for each in THEMES],
    )
    version = HiddenField()


class FilterForm(FlaskForm):
    """Which fingerings count; sent as an address, so it needs no token."""

    class Meta:
        """To look changes nothing."""

        csrf = False

    within = NumberField("Within (cents)")
    strategy = ChoiceField("How it was found", choices=ANY + STRATEGIES, default="")
    resistance = ChoiceField("Resistance up to", choices=ANY + RESISTANCES, default="")
    register = ChoiceField(
        "Register", choices=ANY + [SelectChoice(each.value) for each in Register], default=""
    )
    whole = BooleanField("no half-holes")
    measured = BooleanField("measured only")
    mine = BooleanField("my choices only")

    @property
    def has_narrowed(self) -> bool:
        """Whether any choice beside the distance is made."""
        chosen = (self.strategy, self.resistance, self.register)
        return any(field.data for field in (*chosen, self.whole, self.measured, self.mine))


class SearchForm(FilterForm):
    """What to look for."""

    q = NoteField("Note", [AtMost(120)])
    near = HiddenField()
    instrument = ChoiceField("On", validate_choice=False)
    within = NumberField("Within (cents)", default="25")


class RangeForm(FilterForm):
    """On which steps the whole range is shown, and what counts for them."""

    grid = ChoiceField("Steps", choices=RANGE_GRIDS, default="24")


class KeysForm(FlaskForm):
    """Which keys an instrument has; its fields are read apart, one or two a key."""

    version = HiddenField()


class LayoutForm(FlaskForm):
    """The text of a layout; meaning and length are judged when it is read."""

    toml = TextAreaField("The layout as text")
    file = FileField("Layout file")
    version = HiddenField()


class PressForm(FlaskForm):
    """A button and nothing else: delete, restore, empty the bin."""


def add_refusal(form: FlaskForm, error: FieldRefused) -> None:
    """Put a verb's refusal beside the field that it names, or above the form."""
    field: Field | None = form._fields.get(error.field)
    if field is None:
        form.form_errors.append(said_of(error))
    else:
        field.errors = [*field.errors, said_of(error)]
        if error.choices:
            field.offered = error.choices


def read_count(field: IntegerField | SelectField | HiddenField) -> int | None:
    """Return a whole number from a field, or None where it is empty or no number."""
    text = str(field.data or "").strip()
    return int(text) if text.isdecimal() and len(text) < 12 else None
