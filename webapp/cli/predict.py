"""`quartervent predict`: where a fingering is expected to sound."""

import json

import click

from analysis.errors import AnalysisError
from analysis.finder import PlayerModel, RegisterPrediction
from analysis.keywork import format_fingering
from analysis.pitch import format_cents, format_pitch
from webapp.cli.finder_cache import open_finder_cache
from webapp.cli.keywork_options import KeyworkChoice, keywork_options
from webapp.cli.options import instrument_option, json_option
from webapp.cli.reading import read_fingering, read_kind


# A fingering may begin with dashes; it is no option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("fingering")
@instrument_option
@keywork_options
@json_option
def predict(*, fingering: str, instrument: str, keywork: KeyworkChoice, is_json: bool) -> None:
    """Predict in each register where FINGERING may sound; written as 'T R 123 | 12- | right E'.

    From the tube alone, which is plausible and not measured; nothing of the notebook is used.
    """
    kind = read_kind(instrument)
    layout = keywork.find_layout(kind)
    keys = read_fingering(fingering, layout)
    try:
        cache = open_finder_cache()
        model = PlayerModel.fit(kind.id, layout, [], cache=cache, is_screened=False)
        found = model.predict_registers(keys)
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error
    if is_json:
        for one in found:
            click.echo(json.dumps(_list_facts(one), ensure_ascii=False))
        return
    click.echo(f"{format_fingering(keys)} on {layout.name}: predicted, not measured")
    for one in found:
        click.echo(
            f"{one.register.value:<11} {format_pitch(one.written):<10} "
            f"{format_cents(one.offset_cents):>6} ± {one.sigma_cents:.0f} cents"
        )


def _list_facts(one: RegisterPrediction) -> dict[str, object]:
    return {
        "register": one.register.value,
        "written": one.written.canonical,
        "offset_cents": round(one.offset_cents, 2),
        "sigma_cents": round(one.sigma_cents, 2),
    }
