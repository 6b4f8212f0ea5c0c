"""Pictures for the templates.

Drawings come as text from `webapp.drawing`, which escapes what players typed; only here they become
markup.
"""

from functools import lru_cache
from itertools import count

from flask import Flask, g
from markupsafe import Markup

from analysis.keywork import KeyStates
from analysis.pitch import (
    KINDS,
    NoteNames,
    SignSystem,
    WrittenPitch,
)
from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_profiles import Profile
from webapp.drawing.offset import draw_offset
from webapp.drawing.staff import STAFF_VIEW_BOX, draw_staff, find_view_box, place_on_staff
from webapp.drawing.strip import Notehead, draw_notehead, draw_strip
from webapp.drawing.svg import shorten_for_page
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.overview import Coverage
from webapp.presenting.words import current_writing

# Stands for the ids of a drawing in the cache; a page puts its own in its place.
_PREFIX = "cached-drawing"


def register(app: Flask) -> None:
    """Give the templates their pictures."""
    app.jinja_env.globals.update(
        fingering_picture=fingering_picture,
        staff_picture=staff_picture,
        small_staff=small_staff,
        strip_picture=strip_picture,
        notehead_picture=notehead_picture,
        line_staff=line_staff,
        offset_picture=offset_picture,
    )


def next_prefix(name: str) -> str:
    """Make a prefix for ids that is unique on the page."""
    if "picture_numbers" not in g:
        g.picture_numbers = count(1)
    return f"{name}{next(g.picture_numbers)}"


def fingering_picture(
    keys: KeyStates,
    base: KeyStates | None = None,
    *,
    is_small: bool = False,
    is_reduced: bool = False,
    is_mirrored: bool = False,
) -> Markup:
    """Draw a fingering, changes against its base marked; small ones show only what matters."""
    drawn = _draw_fingering(
        keys,
        base,
        Profile.ROW if is_small else Profile.PAGE,
        is_reduced=is_small or is_reduced,
        is_mirrored=is_mirrored,
        names=current_writing().names,
    )
    return Markup(drawn.replace(_PREFIX, next_prefix("fingering")))


@lru_cache(maxsize=2048)
def _draw_fingering(
    keys: KeyStates,
    base: KeyStates | None,
    profile: Profile,
    *,
    is_reduced: bool,
    is_mirrored: bool,
    names: NoteNames,
) -> str:
    drawn = draw_fingering(
        keys,
        base=base,
        profile=profile,
        is_reduced=is_reduced,
        is_mirrored=is_mirrored,
        names=names,
        id_prefix=_PREFIX,
    )
    if profile is not Profile.ROW:
        return drawn
    return shorten_for_page(drawn, unused_classes=("ink", "paper", "parting"))


def staff_picture(written: WrittenPitch, instrument: Instrument) -> Markup:
    """Draw a written pitch on the staff of its instrument."""
    writing, clef = current_writing(), KINDS[instrument.kind_id].clef
    drawn = _draw_staff(written.kept_text, writing.accidentals, clef, writing.names)
    return Markup(drawn.replace(_PREFIX, next_prefix("staff")))


def small_staff(written: WrittenPitch, instrument: Instrument) -> Markup:
    """Draw the same beside a note's name, which says it already, no taller than it has to be."""
    writing, clef = current_writing(), KINDS[instrument.kind_id].clef
    drawn = _draw_staff(
        written.kept_text, writing.accidentals, clef, writing.names, is_close=True
    ).replace(_PREFIX, next_prefix("staff"))
    return Markup('<div class="small-staff" aria-hidden="true">{}</div>').format(Markup(drawn))


def strip_picture(register: Coverage, instrument: Instrument) -> Markup:
    """Draw the quarter tones of a register as noteheads; those of every clef as in the treble."""
    in_tune, near = set(register.in_tune), set(register.near)
    kind = KINDS[instrument.kind_id]
    return Markup(
        draw_strip(
            [
                (
                    place_on_staff(kind.in_treble_notation(step)).step,
                    Notehead.IN_TUNE
                    if step in in_tune
                    else Notehead.OFF
                    if step in near
                    else Notehead.OPEN,
                )
                for step in register.steps
            ]
        )
    )


def notehead_picture(standing: str) -> Markup:
    """Draw one notehead of a strip by its words."""
    return Markup(draw_notehead(Notehead(standing)))


def line_staff(written: WrittenPitch) -> Markup:
    """Draw a note of a part that is for no instrument yet, in the treble clef."""
    writing = current_writing()
    drawn = _draw_staff(written.kept_text, writing.accidentals, "treble", writing.names)
    return Markup('<span aria-hidden="true">{}</span>').format(
        Markup(drawn.replace(_PREFIX, next_prefix("staff")))
    )


@lru_cache(maxsize=512)
def _draw_staff(
    kept_text: str, system: SignSystem, clef: str, names: NoteNames, *, is_close: bool = False
) -> str:
    written = WrittenPitch.from_canonical(kept_text)
    box = find_view_box([(written, clef)]) if is_close else STAFF_VIEW_BOX
    return draw_staff(
        written, style=system, clef=clef, names=names, id_prefix=_PREFIX, view_box=box
    )


def offset_picture(
    offset_cents: float,
    uncertainty_cents: float,
    *,
    is_predicted: bool = False,
    is_row: bool = False,
    own_tolerance_cents: float | None = None,
) -> Markup:
    """Draw an offset as a mark on a rule about the target; in a row without its figures."""
    return Markup(
        draw_offset(
            offset_cents,
            uncertainty_cents,
            tolerance_cents=own_tolerance_cents or current_writing().tolerance_cents,
            is_predicted=is_predicted,
            has_ends=not is_row,
            id_prefix=next_prefix("offset"),
        )
    )
