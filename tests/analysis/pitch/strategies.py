"""Hypothesis strategies for pitches, shared by the tests of this package."""

from fractions import Fraction

from hypothesis import strategies as st

from analysis.pitch import SoundingPitch, Tuning, WrittenPitch

# Fractions as they come from equal divisions, decimals and odd input alike.
alters_cents = st.fractions(min_value=-250, max_value=250, max_denominator=10_000)

written_pitches = st.builds(
    WrittenPitch, st.sampled_from("ABCDEFG"), alters_cents, st.integers(min_value=0, max_value=9)
)

# Heights whose every spelling lies inside octaves 0 to 9: D0 to A9.
exact_heights = st.fractions(min_value=1400, max_value=12900, max_denominator=10_000)

tunings = st.builds(Tuning, st.floats(min_value=390.0, max_value=470.0))
sounding_pitches = st.builds(SoundingPitch, st.floats(min_value=1400.0, max_value=12900.0))

millicents = st.integers(min_value=1_400_000, max_value=12_900_000).map(
    lambda count: Fraction(count, 1000)
)
