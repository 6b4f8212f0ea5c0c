"""`quartervent log`: a fingering with its recordings, into the player's own notebook."""

import json
from pathlib import Path

import click

from analysis.keywork import KeyStates, Layout, check_playable, parse_fingering
from analysis.pitch import format_cents
from webapp.cli.choosing import choose_by_name
from webapp.cli.opening import open_own_notebook
from webapp.cli.options import json_option
from webapp.cli.refusing import Refusal, refusing
from webapp.drawing.figures import format_uncertainty, state_uncertainty
from webapp.notebook.fingerings.logging import LogAnswer, LogDraft, log_with_takes
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.preferences.preferences import read_preferences


# A fingering may begin with dashes; it is no option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("fingering")
@click.option("--for", "target", required=True, help="The written note it is for.")
@click.option("--instrument", "name", required=True, help="Name of the instrument.")
@click.option("--base", default="", help="The fingering it was derived from.")
@click.option(
    "--take",
    "takes",
    multiple=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="A recording of one held note; may be given several times.",
)
@click.option("--dynamic", help="How loud the takes were played: pp, p, mp, mf, f or ff.")
@click.option("--resistance", type=int, help="From 1 (free) to 5 (very high).")
@click.option("--notes", default="", help="Notes on the fingering.")
@json_option
def log(
    *,
    fingering: str,
    target: str,
    name: str,
    base: str,
    takes: tuple[Path, ...],
    dynamic: str | None,
    resistance: int | None,
    notes: str,
    is_json: bool,
) -> None:
    """Log FINGERING for a note; written as 'T R 123 | 12- | right E'."""
    for path in takes:
        if not path.is_file():
            raise Refusal(f"There is no file {path}; name a recording that is there.")
    with refusing(), open_own_notebook() as notebook:
        instrument = open_instrument(notebook, choose_by_name(notebook, name))
        answer = log_with_takes(
            notebook,
            instrument.id,
            LogDraft(
                keys=_read(fingering, instrument.layout),
                target=target,
                base=_read(base, instrument.layout) if base.strip() else None,
                takes=takes,
                dynamic=dynamic,
                resistance=resistance,
                notes=notes,
            ),
            names=read_preferences(notebook).names,
        )
    click.echo(json.dumps(_list_facts(answer)) if is_json else _words(answer))


def _read(text: str, layout: Layout) -> KeyStates:
    keys = parse_fingering(text, layout)
    check_playable(keys)
    return keys


def _list_facts(answer: LogAnswer) -> dict[str, object]:
    judged = answer.judged
    uncertainty = judged.facts.uncertainty_cents
    return {
        "id": answer.fingering.id,
        "standing": judged.standing.value,
        "offset_cents": None if judged.offset_cents is None else round(judged.offset_cents, 2),
        "uncertainty_cents": None
        if uncertainty is None
        else round(state_uncertainty(uncertainty), 2),
        "takes_counted": answer.takes_counted,
        "takes_set_aside": answer.takes_set_aside,
    }


def _words(answer: LogAnswer) -> str:
    judged = answer.judged
    words = f"Logged as number {answer.fingering.id}: {judged.standing.value}"
    if judged.offset_cents is not None:
        give = judged.facts.uncertainty_cents or 0.0
        words += f", {format_cents(judged.offset_cents)} ± {format_uncertainty(give)} cents"
    count = answer.takes_counted
    counted = "1 take counts" if count == 1 else f"{count} takes count"
    aside = f", {answer.takes_set_aside} not counted" if answer.takes_set_aside else ""
    return f"{words} ({counted}{aside})."
