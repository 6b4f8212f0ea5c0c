"""Pictures for the templates.

Drawings come as text from `webapp.drawing`, which escapes what players typed; only here they become
markup.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import count

from flask import Flask, g
from markupsafe import Markup

from analysis.keywork import KeyStates
from analysis.pitch import (
    KINDS,
    NoteNames,
    SignSystem,
    SoundingPitch,
    Tuning,
    WrittenPitch,
)
from analysis.recording import TakeMeasurement
from analysis.recording.spectrogram import View
from webapp.drawing.dynamics import DynamicOffset, draw_dynamics
from webapp.drawing.evenness import draw_evenness
from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_profiles import Profile
from webapp.drawing.history import HistoryPoint, count_days, draw_history
from webapp.drawing.levels import draw_levels
from webapp.drawing.offset import draw_offset
from webapp.drawing.spectrum import draw_spectrum
from webapp.drawing.staff import draw_staff, place_on_staff
from webapp.drawing.strip import Notehead, draw_notehead, draw_strip
from webapp.drawing.svg import shorten_for_page
from webapp.drawing.trace import draw_trace
from webapp.drawing.trust import TrustPoint, draw_trust
from webapp.notebook.fingerings.evenness import AspectComparison
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.offsets import take_offset
from webapp.notebook.takes.plots import list_notes
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
        trust_picture=trust_picture,
        evenness_picture=evenness_picture,
        trace_picture=trace_picture,
        spectrum_picture=spectrum_picture,
        levels_picture=levels_picture,
        history_picture=history_picture,
        history_points=history_points,
        dynamics_picture=dynamics_picture,
    )


HISTORY_TAKES = 300  # more points than this are a grey bar, and a slow page


def _next_prefix(name: str) -> str:
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
    return Markup(drawn.replace(_PREFIX, _next_prefix("fingering")))


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
    return Markup(drawn.replace(_PREFIX, _next_prefix("staff")))


def small_staff(written: WrittenPitch, instrument: Instrument) -> Markup:
    """Draw the same beside a note's name, which says it already."""
    drawn = staff_picture(written, instrument)
    return Markup('<div class="small-staff" aria-hidden="true">{}</div>').format(drawn)


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
        Markup(drawn.replace(_PREFIX, _next_prefix("staff")))
    )


@lru_cache(maxsize=512)
def _draw_staff(kept_text: str, system: SignSystem, clef: str, names: NoteNames) -> str:
    written = WrittenPitch.from_canonical(kept_text)
    return draw_staff(written, style=system, clef=clef, names=names, id_prefix=_PREFIX)


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
            id_prefix=_next_prefix("offset"),
        )
    )


def trust_picture(points: Sequence[TrustPoint]) -> Markup:
    """Draw predictions against measurements; without measurements there is nothing."""
    if not points:
        return Markup("")
    return Markup(draw_trust(points, id_prefix=_next_prefix("trust")))


def evenness_picture(compared: AspectComparison) -> Markup:
    """Draw one aspect of colour against the notes nearby; without such notes there is nothing."""
    if compared.nearby is None or compared.difference is None:
        return Markup("")
    return Markup(
        draw_evenness(
            compared.difference,
            [note - compared.nearby.middle for note in compared.notes],
            reach=compared.aspect.reach,
            less=compared.aspect.less,
            more=compared.aspect.more,
            title=f"{compared.aspect.name}: {compared.words}",
            id_prefix=_next_prefix("evenness"),
        )
    )


def trace_picture(measurement: TakeMeasurement, take: Take, target: SoundingPitch) -> Markup:
    """Draw pitch over time against the target."""
    return Markup(
        draw_trace(
            measurement.trace,
            target_hz=target.hz(Tuning(take.tuning_a_hz)),
            steady=_steady_span(measurement),
            id_prefix=_next_prefix("trace"),
        )
    )


def _steady_span(measurement: TakeMeasurement) -> tuple[float, float] | None:
    if measurement.steady_from_s is None or measurement.steady_to_s is None:
        return None
    return measurement.steady_from_s, measurement.steady_to_s


def levels_picture(view: View, image_href: str, *, take: Take, instrument: Instrument) -> Markup:
    """Frame the levels of a take, with the written notes of its instrument at the side."""
    notes = list_notes(
        view, instrument.transposition, Tuning(take.tuning_a_hz), current_writing().names
    )
    prefix = _next_prefix("levels")
    return Markup(draw_levels(view, image_href=image_href, notes=notes, id_prefix=prefix))


def dynamics_picture(rows: Sequence[DynamicOffset]) -> Markup:
    """Draw the offset of a fingering at each dynamic that was played."""
    return Markup(draw_dynamics(rows, id_prefix=_next_prefix("dynamics")))


def history_points(takes: Sequence[Take], fingering: Fingering) -> list[HistoryPoint]:
    """Return the newest measured takes of a fingering as points of its history."""
    target = SoundingPitch(fingering.target_cents)
    offsets = [(take, take_offset(take, target)) for take in takes[-HISTORY_TAKES:]]
    return [
        HistoryPoint(
            day_of(take.recorded_at),
            offset.offset_cents,
            offset.uncertainty_cents,
            take.dynamic,
            is_left_out=not take.counts,
        )
        for take, offset in offsets
        if offset is not None
    ]


def history_picture(points: Sequence[HistoryPoint]) -> Markup:
    """Draw the history of a fingering; takes of one day have none."""
    if count_days([point for point in points if not point.is_left_out]) < 2:
        return Markup("")
    return Markup(
        draw_history(
            points,
            tolerance_cents=current_writing().tolerance_cents,
            id_prefix=_next_prefix("history"),
        )
    )


def spectrum_picture(measurement: TakeMeasurement) -> Markup:
    """Draw the spectrum with its partials; a take without a pitch has none."""
    if measurement.f0_hz is None:
        return Markup("")
    return Markup(
        draw_spectrum(
            measurement.spectrum, f0_hz=measurement.f0_hz, id_prefix=_next_prefix("spectrum")
        )
    )
