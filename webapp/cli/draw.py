"""`quartervent draw`: the picture of a fingering as a file."""

from pathlib import Path

import click

from analysis.errors import AnalysisError
from analysis.keywork import (
    Fingering,
    ImpossibleFingering,
    Layout,
    UnreadableFingering,
    check_playable,
    format_fingering,
    layouts_for_kind,
    parse_fingering,
    read_layout,
)
from analysis.pitch import InstrumentKind, find_kind
from webapp.drawing.fingering import draw_fingering

ENDINGS = ("svg", "png", "pdf")
_LAYOUT_FILE = ".toml"


@click.command()
@click.argument("fingering")
@click.option("--instrument", required=True, help="Kind of clarinet, for example b-flat-soprano.")
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
@click.option("--reduced", is_flag=True, help="Show only what is pressed.")
@click.option("--mirrored", is_flag=True, help="As a teacher sees it who faces the player.")
@click.option("--base", default="", help="Mark what changed against this fingering.")
def draw(*, fingering: str, instrument: str, out: Path, wanted: str, **options: object) -> None:
    """Draw FINGERING, written as in 'T R 123 | 12- | right E', as SVG, PNG or PDF."""
    ending = out.suffix.removeprefix(".").lower()
    if ending not in ENDINGS:
        raise click.UsageError(f"--out: name a file that ends in .{', .'.join(ENDINGS)}.")
    layout = _find_layout(instrument, wanted)
    keys = _read(fingering, layout, "FINGERING")
    base_text = str(options["base"])
    base = _read(base_text, layout, "--base") if base_text else None
    svg = draw_fingering(
        keys,
        base=base,
        is_reduced=bool(options["reduced"]),
        is_mirrored=bool(options["mirrored"]),
    )
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
    return _choose_shipped(kind, wanted)


def _choose_shipped(kind: InstrumentKind, wanted: str) -> Layout:
    serving = layouts_for_kind(kind.id)
    found = [each for each in serving if each.id == wanted] if wanted else serving
    if not found:
        names = ", ".join(each.id for each in serving)
        raise click.UsageError(f"--layout: for the {kind.name} choose one of {names or 'none'}.")
    return found[0]


def _read(text: str, layout: Layout, place: str) -> Fingering:
    try:
        fingering = parse_fingering(text, layout)
        check_playable(fingering)
    except UnreadableFingering as error:
        # One column a character, so that the caret stands below the one that is meant.
        shown = "".join(each if each.isprintable() else "?" for each in text)
        raise click.UsageError(
            f"{place} can't be read.\n  {shown}\n  {' ' * error.position}^\n{error}"
        ) from error
    except ImpossibleFingering as error:
        raise click.UsageError(f"{place} can't be played.\n  {text}\n{error}") from error
    return fingering


def _convert(svg: str, ending: str, *, title: str) -> bytes:
    if ending == "svg":
        return svg.encode()
    from webapp.chart.pictures import render_pdf, render_png

    return render_png(svg, title=title) if ending == "png" else render_pdf(svg, title=title)
