"""Words about takes: whether one counts, and why not."""

from collections.abc import Sequence

from flask import Flask

from analysis.pitch import Sentence, SoundingPitch, WrittenPitch, format_cents
from analysis.recording import GROUP_CENTS, OTHER_NOTES, TakeOffset, TakeStanding
from webapp.drawing.figures import format_uncertainty
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.likeness import nearest_written


def register(app: Flask) -> None:
    """Give the templates these words."""
    app.jinja_env.globals.update(
        describe_standing=describe_standing,
        played_written=nearest_written,
        other_note=other_note,
        explain_figure=explain_figure,
        softly_words=softly_words,
        lip_words=lip_words,
        other_notes=frozenset(each.value for each in OTHER_NOTES),
    )


def describe_standing(take: Take, instrument: Instrument) -> Sentence:
    """Say why a take does not count; empty where it does, or where its verdict says it."""
    standing = TakeStanding(take.standing)
    played = played_note(take, instrument)
    return {
        TakeStanding.COUNTS: Sentence(),
        TakeStanding.NO_PITCH: Sentence(),
        TakeStanding.LOST_SOUND: Sentence("Not counted: part of the sound is missing or cut off."),
        TakeStanding.OTHER_GROUP: Sentence(
            "You played ", played, ": not counted, since the other takes sound elsewhere."
        ),
        TakeStanding.UNEXPECTED: Sentence(
            "You played ",
            played,
            ": not counted, since it is neither this note nor what these keys should give.",
        ),
        TakeStanding.WAITS: Sentence(
            "You played ", played, ": not counted until you say what it was."
        ),
        TakeStanding.SCATTERED: Sentence(
            "Not counted: it lies far from the other takes of this day."
        ),
        TakeStanding.WATCHED: Sentence(
            "Not counted: played watching, and there are takes played without."
        ),
    }[standing]


def played_note(take: Take, instrument: Instrument) -> Sentence:
    """Name what a take sounded like, to the nearest quarter tone."""
    written = nearest_written(take, instrument)
    return Sentence(written if written is not None else "no clear note")


def other_note(fingering: Fingering) -> WrittenPitch | None:
    """Return the quarter tone that a measured fingering sounds at, where that is another note."""
    if not fingering.is_measured or abs(fingering.offset_cents or 0.0) <= GROUP_CENTS:
        return None
    return fingering.instrument.nearest_written(SoundingPitch(fingering.sounding_cents))


def lip_words(shift: TakeOffset | None) -> str:
    """Say how far takes played watching lie from those played without; empty without both."""
    if shift is None:
        return ""
    figure = f"{format_cents(shift.offset_cents)} ± {format_uncertainty(shift.uncertainty_cents)}"
    return f"Played watching it lies {figure} cents from there: so far the lip went."


def softly_words(fingering: Fingering) -> str:
    """Say whether a fingering speaks at once when tongued at pp; empty where it was not tried."""
    if fingering.speaks_softly is None:
        return ""
    return "speaks at once" if fingering.speaks_softly else "does not speak at once"


def explain_figure(fingering: Fingering, takes: Sequence[Take]) -> str:
    """Say in one sentence where the give-and-take of a figure comes from."""
    counting = [take for take in takes if take.counts]
    if len(counting) <= 1:
        return "The ± of one take is mostly how far another take may differ."
    days = len({day_of(take.recorded_at) for take in counting})
    where = "of one day" if days == 1 else f"on {days} days"
    return f"The ± is how far {len(counting)} takes {where} differ, and how few they are."
