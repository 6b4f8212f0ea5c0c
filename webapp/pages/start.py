"""The start page, and the page about the notebook."""

from flask import render_template

from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import WrittenPitch
from webapp.forms.entries import SearchForm
from webapp.notebook.targets.overview import open_overview
from webapp.presenting.words import current_notebook, current_writing, write_as

# Pictures of the help page: an ordinary fingering, and one with a half-hole and a key more.
_SHOWN_LAYOUT = "soprano-17-6"
_SHOWN_BASE, _SHOWN_KEYS = "T R 123 | 123", "T R (1)23 | 123 | right E"


def show() -> str:
    """Show what there is, what is missing and where to go on."""
    overview = open_overview(current_notebook())
    write_as(overview.writing)
    return render_template("start.html", overview=overview, form=SearchForm())


def help_page() -> str:
    """Show how one goes through the notebook, and what its figures, drawings and words mean."""
    layout = load_layout(_SHOWN_LAYOUT)
    return render_template(
        "help.html",
        note=WrittenPitch.from_canonical("D5-50c"),
        base=parse_fingering(_SHOWN_BASE, layout),
        keys=parse_fingering(_SHOWN_KEYS, layout),
        legend=current_writing().accidentals.legend(),
    )


def about() -> str:
    """Say how to use the notebook, where the data lies, and what to take care of."""
    return render_template("about.html", folder=current_notebook().folder)
