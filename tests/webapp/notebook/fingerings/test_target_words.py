"""A target that an edit form shows reads as the same target again, whatever was typed once."""

from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import NoteNames, WrittenPitch
from tests.analysis.pitch.strategies import written_pitches
from tests.steady_examples import any_text
from webapp.notebook.fingerings.fingerings import target_words
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.reading import read_pitch

typed_texts = st.one_of(
    any_text(max_size=20),
    st.sampled_from(["B4", "H4", "Des5", "500 Hz", "ré 5", "5:4 above F4", "D5 -50", "D", ""]),
)


@given(
    written=written_pitches,
    typed=typed_texts,
    names=st.sampled_from(NoteNames),
    transposition_cents=st.sampled_from([-200, -300, 0, 300, -1400]),
    tuning_a_hz=st.floats(min_value=390.0, max_value=470.0),
)
def test_what_an_edit_form_shows_means_what_is_stored(
    written: WrittenPitch,
    typed: str,
    names: NoteNames,
    transposition_cents: int,
    tuning_a_hz: float,
) -> None:
    instrument = Instrument(transposition_cents=transposition_cents, tuning_a_hz=tuning_a_hz)
    row = Fingering(instrument=instrument, target_text=written.canonical, target_typed=typed)
    shown = target_words(row, names)
    assert read_pitch(shown, instrument, names) == written
