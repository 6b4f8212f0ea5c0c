"""The start page, and the page about the notebook."""

from flask import Blueprint, render_template

from webapp.forms.entries import SearchForm
from webapp.notebook.targets.overview import open_overview
from webapp.presenting.words import current_notebook, write_as

blueprint = Blueprint("start", __name__)


@blueprint.get("/")
def show() -> str:
    """Show what there is, what is missing and where to go on."""
    overview = open_overview(current_notebook())
    write_as(overview.writing)
    return render_template("start.html", overview=overview, form=SearchForm())


@blueprint.get("/about")
def about() -> str:
    """Say how to use the notebook, where the data lies, and what to take care of."""
    return render_template("about.html", folder=current_notebook().folder)
