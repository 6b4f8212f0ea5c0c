"""`quartervent draw`: the picture of a fingering as a file."""

from pathlib import Path

import click

from analysis.errors import AnalysisError
from analysis.keywork import (
    Layout,
    format_fingering,
    read_layout,
)
from analysis.pitch import find_kind
from webapp.cli.options import instrument_option
from webapp.cli.reading import choose_layout, read_fingering
from webapp.drawing.fingering import draw_fingering

ENDINGS = ("svg", "png", "pdf")
_LAYOUT_FILE = ".toml"


@click.command()
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
def draw(
    *,
    fingering: str,
    instrument: str,
    out: Path,
    wanted: str,
    is_reduced: bool,
    is_mirrored: bool,
    base_text: str,
) -> None:
    """Draw FINGERING, written as in 'T R 123 | 12- | right E', as SVG, PNG or PDF."""
    ending = out.suffix.removeprefix(".").lower()
    if ending not in ENDINGS:
        raise click.UsageError(f"--out: name a file that ends in .{', .'.join(ENDINGS)}.")
    layout = _find_layout(instrument, wanted)
    keys = read_fingering(fingering, layout)
    base = read_fingering(base_text, layout, place="--base") if base_text else None
    svg = draw_fingering(keys, base=base, is_reduced=is_reduced, is_mirrored=is_mirrored)
    try:
        out.write_bytes(_convert(svg, ending, title=format_fingering(keys)))
    except OSError as error:
        raise click.ClickException(
            f"{out} cannot be written ({error.strerror}). Choose another place with --out."
        ) from error
    click.echo(f"{format_fingering(keys)} on {layout.name}: drawn to {out}")


def _find_layout(instrument: str, wanted: str) -> Layout:
    try:
        kind = find_kind(instrument)
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
