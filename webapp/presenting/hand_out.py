"""A hand-out as one HTML file that stands alone: pictures, style, search and recordings inside.

It opens without a server and without a network, which its own content security policy forbids it
to use; without scripts all of it is there but the search. Pictures are those of the chart.
"""

import base64
import hashlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from analysis.keywork import KeyStates, describe_changes, find_changes, spell_out
from analysis.pitch import format_cents, format_pitch
from webapp.drawing.figures import format_uncertainty
from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_profiles import Profile
from webapp.drawing.staff import draw_staff
from webapp.notebook.exchange.hand_outs import HandedTake, HandOut
from webapp.notebook.store.rows import Fingering
from webapp.presenting.text_direction import isolate
from webapp.presenting.words import RESISTANCE_WORDS

MEDIA_TYPES = {
    "wav": "audio/wav",
    "flac": "audio/flac",
    "mp3": "audio/mpeg",
    "ogg": "audio/ogg",
    "m4a": "audio/mp4",
    "aac": "audio/aac",
    "webm": "audio/webm",
}
_WEBAPP = Path(__file__).resolve().parent.parent
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@dataclass(frozen=True, slots=True)
class Card:
    """One fingering as the file shows it."""

    number: int
    note: str
    staff: Markup
    picture: Markup
    keys_text: str
    keys_words: str
    changes: str
    figure: str
    resistance: str
    how: str
    notes: str
    tags: tuple[str, ...]
    recording: str = ""


def render_hand_out(hand_out: HandOut) -> bytes:
    """Write a hand-out as an HTML file; the same hand-out gives the same bytes."""
    style, script = _read("css/hand-out.css"), _read("js/hand-out.js")
    page = _environment().get_template("exchange/hand_out.html")
    text = page.render(
        hand_out=hand_out,
        instrument=hand_out.instrument,
        title=hand_out.heading.title or f"Fingerings on {hand_out.instrument.name}",
        day=f"{hand_out.as_of.day} {_MONTHS[hand_out.as_of.month - 1]} {hand_out.as_of.year}",
        cards=[_card(hand_out, each) for each in hand_out.fingerings],
        keywork=_draw_keywork(hand_out),
        style=Markup(f"<style>{style}</style>"),
        script=Markup(f'<script type="module">{script}</script>'),
        policy=(
            f"default-src 'none'; style-src {_source(style)}; script-src {_source(script)}; "
            "media-src data:; base-uri 'none'; form-action 'none'"
        ),
    )
    return text.encode()


def _card(hand_out: HandOut, row: Fingering) -> Card:
    writing, keys, base = hand_out.writing, row.key_states(), row.base_key_states()
    note = format_pitch(row.written.to_be_read(), names=writing.names, style="words")
    recording = hand_out.recordings.get(row.id)
    return Card(
        number=row.id,
        note=note,
        staff=Markup(
            draw_staff(
                row.written,
                style=writing.accidentals,
                clef=hand_out.instrument.kind.clef,
                names=writing.names,
                id_prefix=f"staff{row.id}",
            )
        ),
        picture=_draw(keys, base, row, note),
        keys_text=row.keys_text,
        keys_words=spell_out(keys),
        changes="" if base is None else describe_changes(find_changes(base, keys)),
        figure=_figure(row),
        resistance=_resistance(row),
        how=row.strategy_words,
        notes=row.notes if hand_out.heading.has_notes else "",
        tags=row.tags if hand_out.heading.has_notes else (),
        recording="" if recording is None else _address(recording),
    )


def _draw(keys: KeyStates, base: KeyStates | None, row: Fingering, note: str) -> Markup:
    drawn = draw_fingering(
        keys,
        base=base,
        profile=Profile.PRINT,
        title=f"{note}: {row.keys_text}",
        id_prefix=f"keys{row.id}",
    )
    return Markup(drawn)


def _draw_keywork(hand_out: HandOut) -> Markup:
    nothing = KeyStates.of(hand_out.instrument.layout, {})
    names = hand_out.writing.names
    return Markup(draw_fingering(nothing, names=names, title="All keys", id_prefix="keywork"))


def _figure(row: Fingering) -> str:
    if row.offset_cents is not None and row.offset_uncertainty_cents is not None:
        takes = "1 take" if row.take_count == 1 else f"{row.take_count} takes"
        give = format_uncertainty(row.offset_uncertainty_cents)
        return f"{format_cents(row.offset_cents)} ± {give} cents, {takes}"
    return "does not speak" if row.does_not_speak else "not tried"


def _resistance(row: Fingering) -> str:
    return "" if row.resistance is None else f"{row.resistance}, {RESISTANCE_WORDS[row.resistance]}"


def _address(recording: HandedTake) -> str:
    content = base64.b64encode(recording.sound).decode()
    return f"data:{MEDIA_TYPES[recording.clip_format]};base64,{content}"


@lru_cache(maxsize=4)
def _read(name: str) -> str:
    return (_WEBAPP / "static" / name).read_text("utf-8")


def _source(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_WEBAPP / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["isolate"] = isolate
    return environment
