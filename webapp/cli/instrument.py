"""`quartervent instrument`: the instruments of the player's own notebook."""

import json

import click

from analysis.keywork import layouts_for_kind
from analysis.pitch import InstrumentKind, find_kind
from webapp.cli.keywork_options import thumb_option
from webapp.cli.opening import open_own_notebook
from webapp.cli.options import json_option
from webapp.cli.refusing import Refusal, refusing
from webapp.notebook.instruments.instruments import (
    InstrumentDraft,
    InstrumentSummary,
    add_instrument,
    list_instruments,
)


@click.group()
def instrument() -> None:
    """Add an instrument to your notebook, or list those that are there."""


@instrument.command()
@click.argument("name")
@click.option("--kind", required=True, help="The trade's name: b-flat soprano, bass, ...")
@click.option(
    "--tuning", "tuning_hz", type=float, default=440.0, show_default=True, help="Tuning A in Hz."
)
@click.option(
    "--layout",
    default="",
    help="Keywork: a name from `quartervent layouts`; left out, the first that serves it.",
)
@thumb_option
@click.option("--top", "highest", default="", help="Highest written note; left out, G6.")
@json_option
def add(
    *,
    name: str,
    kind: str,
    tuning_hz: float,
    layout: str,
    right_thumb: str | None,
    highest: str,
    is_json: bool,
) -> None:
    """Add an instrument called NAME."""
    with refusing():
        found = find_kind(kind)
        draft = InstrumentDraft(
            name=name,
            kind_id=found.id,
            layout_id=layout or _first_layout(found),
            tuning_a_hz=tuning_hz,
            highest=highest,
            right_thumb=right_thumb or "",
        )
        with open_own_notebook() as notebook:
            if any(_is_called(each, name) for each in list_instruments(notebook)):
                raise Refusal(
                    f"There is an instrument called “{name.strip()}” already. Give this one "
                    "another name, so that commands can tell them apart."
                )
            number = add_instrument(notebook, draft)
            kept = next(each for each in list_instruments(notebook) if each.instrument.id == number)
            _tell(kept, is_json=is_json)


@instrument.command(name="list")
@json_option
def list_all(*, is_json: bool) -> None:
    """List the instruments of your notebook."""
    with refusing(), open_own_notebook() as notebook:
        found = list_instruments(notebook)
        for each in found:
            _tell(each, is_json=is_json)
    if not found and not is_json:
        click.echo(
            "There is no instrument yet. Add one: quartervent instrument add NAME --kind KIND"
        )


def _first_layout(kind: InstrumentKind) -> str:
    serving = layouts_for_kind(kind.id)
    if not serving:
        raise Refusal(
            f"No keywork that comes with the program serves the {kind.name}. Name one with "
            "--layout; `quartervent layouts` lists them."
        )
    return serving[0].id


def _is_called(summary: InstrumentSummary, name: str) -> bool:
    return summary.instrument.name.strip().casefold() == name.strip().casefold()


def _tell(summary: InstrumentSummary, *, is_json: bool) -> None:
    row, fingering_count = summary.instrument, summary.fingering_count
    if is_json:
        facts = {
            "id": row.id,
            "name": row.name,
            "kind": row.kind_id,
            "layout": row.layout_id,
            "tuning_hz": row.tuning_a_hz,
            "right_thumb": row.layout.right_thumb.value,
            "highest": row.top.canonical,
            "fingerings": fingering_count,
        }
        click.echo(json.dumps(facts, ensure_ascii=False))
        return
    counted = "1 fingering" if fingering_count == 1 else f"{fingering_count} fingerings"
    click.echo(
        f"{row.id}  {row.name}: {row.kind.name}, A = {row.tuning_a_hz:g} Hz, "
        f"{row.layout_id}, {counted}"
    )
