"""`quartervent draw`: the picture of a fingering as a file."""

from pathlib import Path

import click

from analysis.errors import AnalysisError
from analysis.keywork import (
    Layout,
    format_fingering,
    read_layout,
)
from analysis.pitch import SIGN_SYSTEMS, InstrumentKind, SystemId
from webapp.cli.options import instrument_option
from webapp.cli.reading import choose_layout, read_fingering, read_kind, read_target
from webapp.cli.refusing import writing_to
from webapp.drawing.fingering_file import Heading, draw_fingering_file

USUAL_A_HZ = 440.0  # what hertz are read with
ENDINGS = ("svg", "png", "pdf")
_LAYOUT_FILE = ".toml"


# A fingering may begin with dashes; it is no option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("fingering")
@instrument_option
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    required=True,
    help="File to write; its ending, .svg, .png or .pdf, decides.",
)
@click.option(
    "--layout",
    "wanted",
    default="",
    help="Keywork: a name from `quartervent layouts` or a layout file (.toml); "
    "left out, the first one that serves the instrument.",
)
@click.option("--reduced", "is_reduced", is_flag=True, help="Show only what is pressed.")
@click.option(
    "--mirrored", "is_mirrored", is_flag=True, help="As a teacher sees it who faces the player."
)
@click.option("--base", "base_text", default="", help="Mark what changed against this fingering.")
@click.option("--note", "note_text", default="", help="The written note that it is for.")
@click.option("--staff", "has_staff", is_flag=True, help="Print the note on its staff.")
@click.option("--name", "has_name", is_flag=True, help="Print the note's name.")
@click.option("--cents", type=float, help="Print how far it sounds from the note, in cents.")
@click.option("--uncertainty", type=float, help="Print after ± how sure the cents are.")
@click.option("--with-instrument", "has_instrument", is_flag=True, help="Print the instrument.")
@click.option(
    "--line",
    "remarks",
    multiple=True,
    help="A line of small print, such as a date, the set-up or a name; may be given again.",
)
@click.option(
    "--signs",
    "--accidentals",
    "accidentals",
    type=click.Choice([each.value for each in SystemId]),
    default=SystemId.STEIN_ZIMMERMANN.value,
    help="The signs of the staff and the name.",
)
def draw(
    *,
    fingering: str,
    instrument: str,
    out: Path,
    wanted: str,
    is_reduced: bool,
    is_mirrored: bool,
    base_text: str,
    note_text: str,
    has_staff: bool,
    has_name: bool,
    cents: float | None,
    uncertainty: float | None,
    has_instrument: bool,
    remarks: tuple[str, ...],
    accidentals: str,
) -> None:
    """Draw FINGERING, written as in 'T R 123 | 12- | right E', as SVG, PNG or PDF."""
    ending = out.suffix.removeprefix(".").lower()
    if ending not in ENDINGS:
        raise click.UsageError(f"--out: name a file that ends in .{', .'.join(ENDINGS)}.")
    if (has_staff or has_name) and not note_text:
        raise click.UsageError("--note: say which note the staff or the name is of.")
    kind = read_kind(instrument)
    layout = _find_layout(kind, wanted)
    keys = read_fingering(fingering, layout)
    heading = Heading(
        written=read_target(note_text, kind, USUAL_A_HZ) if note_text else None,
        has_staff=has_staff,
        has_name=has_name,
        offset_cents=cents,
        uncertainty_cents=uncertainty,
        instrument=f"{kind.name}, {layout.name}" if has_instrument else "",
        clef=kind.clef,
        remarks=remarks,
    )
    base = read_fingering(base_text, layout, place="--base") if base_text else None
    svg = draw_fingering_file(
        keys,
        heading,
        base=base,
        is_reduced=is_reduced,
        is_mirrored=is_mirrored,
        style=SIGN_SYSTEMS[SystemId(accidentals)],
    )
    with writing_to(out):
        out.write_bytes(_convert(svg, ending, title=format_fingering(keys)))
    click.echo(f"{format_fingering(keys)} on {layout.name}: drawn to {out}")


def _find_layout(kind: InstrumentKind, wanted: str) -> Layout:
    try:
        if wanted.endswith(_LAYOUT_FILE):
            return read_layout(Path(wanted).read_text("utf-8"), source=wanted)
    except (AnalysisError, UnicodeDecodeError) as error:
        raise click.UsageError(str(error)) from error
    except OSError as error:
        raise click.UsageError(f"{wanted} cannot be read ({error.strerror}).") from error
    return choose_layout(kind, wanted)


def _convert(svg: str, ending: str, *, title: str) -> bytes:
    if ending == "svg":
        return svg.encode()
    from webapp.notebook.charts.pdf.pictures import render_pdf, render_png

    return render_png(svg, title=title) if ending == "png" else render_pdf(svg, title=title)
