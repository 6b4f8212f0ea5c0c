"""Forms of what is printed: charts, and the page for composers and teachers."""

from flask_wtf import FlaskForm
from wtforms import BooleanField, SelectChoice, StringField

from webapp.forms.entries import ANY, RESISTANCES, STRATEGIES
from webapp.forms.fields import AtMost, ChoiceField
from webapp.forms.notes import NoteField
from webapp.forms.signs import SYSTEMS
from webapp.notebook.charts.charts import ChartKind, ChartOrder
from webapp.notebook.charts.pdf import Paper

PAPERS = [SelectChoice(each.value, each.value.capitalize()) for each in Paper]


class RepertoryForm(FlaskForm):
    """Choices of the page for composers and teachers; an address, so it needs no token."""

    class Meta:
        """Showing changes nothing."""

        csrf = False

    grid = ChoiceField(
        "Steps",
        choices=[SelectChoice("24", "quarter tones"), SelectChoice("48", "eighth tones")],
        default="24",
    )
    paper = ChoiceField("Paper", choices=PAPERS, default=Paper.A4.value)


class ChartForm(FlaskForm):
    """What to print; sent as an address, so it needs no token."""

    class Meta:
        """A chart changes nothing."""

        csrf = False

    kind = ChoiceField(
        "Chart",
        choices=[
            SelectChoice(ChartKind.LIST.value, "all fingerings, with what is known of each"),
            SelectChoice(ChartKind.OVERVIEW.value, "overview: the range on one or two pages"),
            SelectChoice(ChartKind.STAND.value, "for the stand: four or six a page"),
        ],
        default=ChartKind.LIST.value,
    )
    steps = ChoiceField(
        "Steps of the overview",
        choices=[
            SelectChoice("12", "semitones"),
            SelectChoice("24", "quarter tones"),
            SelectChoice("48", "eighth tones"),
        ],
        default="24",
    )
    title = StringField("Title", [AtMost(200)])
    low = NoteField("From", [AtMost(60)])
    high = NoteField("Up to", [AtMost(60)])
    order = ChoiceField(
        "Order",
        choices=[
            SelectChoice(ChartOrder.RISING.value, "rising"),
            SelectChoice(ChartOrder.FALLING.value, "falling"),
            SelectChoice(ChartOrder.NEWEST.value, "newest first"),
        ],
        default=ChartOrder.RISING.value,
    )
    paper = ChoiceField(
        "Paper",
        choices=PAPERS,
        default=Paper.A4.value,
    )
    signs = ChoiceField(
        "Signs", choices=[SelectChoice("", "as in the preferences"), *SYSTEMS], default=""
    )
    strategy = ChoiceField("How it was found", choices=ANY + STRATEGIES, default="")
    resistance = ChoiceField("Resistance up to", choices=ANY + RESISTANCES, default="")
    best = BooleanField("only the best for each note")
    measured = BooleanField("measured only")
    mine = BooleanField("my choices only")
    whole = BooleanField("no half-holes")
    failures = BooleanField("with those that do not speak")
    predictions = ChoiceField(
        "Predictions for what is open",
        choices=[
            SelectChoice("", "none: only what is in the notebook"),
            SelectChoice("24", "open quarter tones, marked as predicted"),
            SelectChoice("48", "open eighth tones, marked as predicted"),
        ],
        default="",
    )

    @property
    def has_more(self) -> bool:
        """Whether anything is asked for beside kind, range and paper."""
        words = (self.title, self.signs, self.strategy, self.resistance, self.predictions)
        ticks = (self.best, self.measured, self.mine, self.whole, self.failures)
        is_turned = self.order.data != self.order.default
        return is_turned or any(field.data for field in (*words, *ticks))
