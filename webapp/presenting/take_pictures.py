"""Pictures of what takes say: their pitch, spectrum and levels, history, and predictions beside."""

from collections.abc import Sequence

from markupsafe import Markup

from analysis.pitch import SoundingPitch, Tuning
from analysis.recording import TakeMeasurement
from analysis.recording.spectrogram import View
from webapp.drawing.dynamics import DynamicOffset, draw_dynamics
from webapp.drawing.evenness import draw_evenness
from webapp.drawing.history import HistoryPoint, count_days, draw_history
from webapp.drawing.levels import draw_levels
from webapp.drawing.spectrum import draw_spectrum
from webapp.drawing.trace import draw_trace
from webapp.drawing.trust import TrustPoint, draw_trust
from webapp.notebook.fingerings.evenness import AspectComparison
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.offsets import take_offset
from webapp.notebook.takes.plots import list_notes
from webapp.presenting.pictures import next_prefix
from webapp.presenting.words import current_writing

HISTORY_TAKES = 300  # more points than this are a grey bar, and a slow page


def trust_picture(points: Sequence[TrustPoint]) -> Markup:
    """Draw predictions against measurements; without measurements there is nothing."""
    if not points:
        return Markup("")
    return Markup(draw_trust(points, id_prefix=next_prefix("trust")))


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
            id_prefix=next_prefix("evenness"),
        )
    )


def trace_picture(measurement: TakeMeasurement, take: Take, target: SoundingPitch) -> Markup:
    """Draw pitch over time against the target."""
    return Markup(
        draw_trace(
            measurement.trace,
            target_hz=target.hz(Tuning(take.tuning_a_hz)),
            steady=_steady_span(measurement),
            id_prefix=next_prefix("trace"),
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
    prefix = next_prefix("levels")
    return Markup(draw_levels(view, image_href=image_href, notes=notes, id_prefix=prefix))


def dynamics_picture(rows: Sequence[DynamicOffset]) -> Markup:
    """Draw the offset of a fingering at each dynamic that was played."""
    return Markup(draw_dynamics(rows, id_prefix=next_prefix("dynamics")))


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
            id_prefix=next_prefix("history"),
        )
    )


def spectrum_picture(measurement: TakeMeasurement) -> Markup:
    """Draw the spectrum with its partials; a take without a pitch has none."""
    if measurement.f0_hz is None:
        return Markup("")
    return Markup(
        draw_spectrum(
            measurement.spectrum, f0_hz=measurement.f0_hz, id_prefix=next_prefix("spectrum")
        )
    )
