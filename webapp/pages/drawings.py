"""The picture of a fingering: which one is wanted, and as a file for composers and teachers."""

from collections.abc import Iterator
from dataclasses import dataclass

from flask import Response, request

from webapp.drawing.fingering_file import Heading, draw_fingering_file
from webapp.notebook.charts.pdf.pictures import render_pdf, render_png
from webapp.notebook.exchange.selecting import NAME_CHARACTERS
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.store.rows import Fingering
from webapp.presenting.words import current_notebook, current_writing, day_words, pitch_words


@dataclass(frozen=True, slots=True)
class DrawingChoice:
    """How the keys are to be drawn; each is a word in the address, so that a link keeps it."""

    is_reduced: bool = False
    is_mirrored: bool = False
    is_plain: bool = False

    @property
    def query(self) -> dict[str, str]:
        """The words of the address."""
        return self.query_with()

    def query_with(
        self,
        *,
        reduced: bool | None = None,
        mirrored: bool | None = None,
        plain: bool | None = None,
    ) -> dict[str, str]:
        """The words of the address with some of them changed."""
        wanted = {
            "reduced": self.is_reduced if reduced is None else reduced,
            "mirrored": self.is_mirrored if mirrored is None else mirrored,
            "plain": self.is_plain if plain is None else plain,
        }
        return {name: "1" for name, is_on in wanted.items() if is_on}


def read_choice() -> DrawingChoice:
    """Read the choice from the address of this request."""
    names = ("reduced", "mirrored", "plain")
    return DrawingChoice(*(request.args.get(name) == "1" for name in names))


def svg(fingering_id: int) -> Response:
    """Hand out the picture of a fingering as SVG."""
    fingering = open_fingering(current_notebook(), fingering_id).fingering
    return _file(_draw(fingering).encode(), fingering, "svg", "image/svg+xml")


def png(fingering_id: int) -> Response:
    """Hand out the picture of a fingering as PNG."""
    fingering = open_fingering(current_notebook(), fingering_id).fingering
    picture = render_png(_draw(fingering), title=_title(fingering))
    return _file(picture, fingering, "png", "image/png")


def pdf(fingering_id: int) -> Response:
    """Hand out the picture of a fingering as PDF."""
    fingering = open_fingering(current_notebook(), fingering_id).fingering
    picture = render_pdf(_draw(fingering), title=_title(fingering))
    return _file(picture, fingering, "pdf", "application/pdf")


def _draw(fingering: Fingering) -> str:
    choice, writing = read_choice(), current_writing()
    return draw_fingering_file(
        fingering.key_states(),
        _heading(fingering),
        base=None if choice.is_plain else fingering.base_key_states(),
        is_reduced=choice.is_reduced,
        is_mirrored=choice.is_mirrored,
        style=writing.accidentals,
        names=writing.names,
        title=_title(fingering),
    )


def _heading(fingering: Fingering) -> Heading:
    """Say what stands above the keys: the words `staff`, `name`, `cents`, `instrument` ask for it.

    Cents stand there for a fingering that is measured.
    """
    wanted = {
        name for name in ("staff", "name", "cents", "instrument") if request.args.get(name) == "1"
    }
    has_cents = "cents" in wanted and fingering.is_measured
    return Heading(
        written=fingering.written,
        has_staff="staff" in wanted,
        has_name="name" in wanted,
        offset_cents=fingering.offset_cents if has_cents else None,
        uncertainty_cents=fingering.offset_uncertainty_cents if has_cents else None,
        instrument=fingering.instrument.name if "instrument" in wanted else "",
        clef=fingering.instrument.kind.clef,
        remarks=tuple(_remarks(fingering)),
    )


def _remarks(fingering: Fingering) -> Iterator[str]:
    """Say what makes the picture a card: `setup`, `date`, and what `player` holds as a name."""
    if request.args.get("setup") == "1":
        yield from fingering.instrument.setup_lines
    player = " ".join(request.args.get("player", "").split())[:NAME_CHARACTERS]
    date = day_words(fingering.updated_at) if request.args.get("date") == "1" else ""
    if player or date:
        yield ", ".join(filter(None, (player, date)))


def _title(fingering: Fingering) -> str:
    return f"{pitch_words(fingering.written)}: {fingering.keys_text}"


def _file(content: bytes, fingering: Fingering, ending: str, media_type: str) -> Response:
    name = f"fingering-{fingering.id}.{ending}"
    return Response(
        content,
        mimetype=media_type,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
