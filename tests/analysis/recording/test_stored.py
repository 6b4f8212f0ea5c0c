"""The stored form of a measurement: exact both ways, and strict."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording import (
    Partial,
    PitchTrace,
    Spectrum,
    TakeMeasurement,
    TakeWarning,
    UnreadableMeasurement,
    Verdict,
    Vibrato,
)

NUMBER = st.floats(allow_nan=False, allow_infinity=False)
MAYBE = st.none() | NUMBER
PAIRS = st.lists(st.tuples(NUMBER, NUMBER), max_size=5)


def _split(pairs: list[tuple[float, float]]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return tuple(a for a, _ in pairs), tuple(b for _, b in pairs)


MEASUREMENTS = st.builds(
    TakeMeasurement,
    verdict=st.sampled_from(Verdict),
    duration_s=NUMBER,
    f0_hz=MAYBE,
    f0_uncertainty_cents=MAYBE,
    spread_cents=MAYBE,
    drift_cents_per_s=MAYBE,
    vibrato=st.none() | st.builds(Vibrato, NUMBER, NUMBER),
    centroid_hz=MAYBE,
    brightness_partials=MAYBE,
    steady_from_s=MAYBE,
    steady_to_s=MAYBE,
    warnings=st.lists(st.sampled_from(TakeWarning), max_size=3).map(tuple),
    trace=PAIRS.map(lambda pairs: PitchTrace(*_split(pairs))),
    spectrum=st.builds(
        lambda pairs, partials: Spectrum(*_split(pairs), tuple(partials)),
        PAIRS,
        st.lists(st.builds(Partial, st.integers(1, 60), NUMBER, NUMBER), max_size=3),
    ),
    method_version=st.text(max_size=5),
)
OK = TakeMeasurement(Verdict.OK, 1.0, f0_hz=440.0)


@given(MEASUREMENTS)
def test_what_was_written_reads_back_equal(measurement: TakeMeasurement) -> None:
    text = measurement.to_json()
    assert TakeMeasurement.from_json(text) == measurement
    assert "\n" not in text


def _altered(**fields: object) -> str:
    return json.dumps(json.loads(OK.to_json()) | fields)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("{", "damaged"),
        ("[]", "not a stored measurement"),
        ("{}", "not a stored measurement"),
        (_altered(schema=2), "form 2"),
        (_altered(loudness=1.0), "unknown: loudness"),
        (_altered(verdict="fine"), "unexpected"),
        (_altered(warnings=["odd"]), "unexpected"),
        (_altered(f0_hz="440"), "unexpected"),
        (_altered(f0_hz=True), "unexpected"),
        (_altered(duration_s=None), "unexpected"),
        (_altered(trace=[[0.0], []]), "unexpected"),
        (_altered(trace=[0.0, 1.0]), "unexpected"),
        (_altered(trace=3), "unexpected"),
        (_altered(vibrato=[5.0]), "unexpected"),
        (_altered(method=1), "unexpected"),
        (_altered(spectrum=[[], [], [[1.5, 2.0, 3.0]]]), "unexpected"),
        (OK.to_json().replace("440.0", "NaN"), "unexpected"),
        (OK.to_json().replace('"f0_hz":440.0,', ""), "missing or unknown: f0_hz"),
    ],
)
def test_what_is_not_understood_is_refused(text: str, reason: str) -> None:
    with pytest.raises(UnreadableMeasurement, match=reason):
        TakeMeasurement.from_json(text)


def test_a_measurement_that_is_no_number_is_not_written() -> None:
    with pytest.raises(ValueError, match="Out of range float"):
        replace(OK, f0_hz=float("nan")).to_json()


def test_warnings_are_added_once() -> None:
    twice = OK.with_warnings(TakeWarning.CLIPPED).with_warnings(
        TakeWarning.CLIPPED, TakeWarning.BENT
    )
    assert twice.warnings == (TakeWarning.CLIPPED, TakeWarning.BENT)
