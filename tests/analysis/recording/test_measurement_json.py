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
    read_measurement,
    write_measurement,
)
from analysis.recording.measurement import Alternation, Component
from tests.steady_examples import any_text

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
    odd_even_db=MAYBE,
    breath_noise_db=MAYBE,
    time_to_speak_s=MAYBE,
    steady_from_s=MAYBE,
    steady_to_s=MAYBE,
    warnings=st.lists(st.sampled_from(TakeWarning), max_size=3).map(tuple),
    trace=PAIRS.map(lambda pairs: PitchTrace(*_split(pairs))),
    spectrum=st.builds(
        lambda pairs, partials: Spectrum(*_split(pairs), tuple(partials)),
        PAIRS,
        st.lists(st.builds(Partial, st.integers(1, 60), NUMBER, NUMBER), max_size=3),
    ),
    components=st.lists(st.builds(Component, NUMBER, NUMBER), max_size=3).map(tuple),
    alternation=st.none() | st.builds(Alternation, NUMBER, NUMBER, NUMBER),
    flutter_hz=MAYBE,
    method_version=any_text(max_size=5),
)
OK = TakeMeasurement(Verdict.OK, 1.0, f0_hz=440.0)
# As the first version of the notebook wrote it.
SCHEMA_1 = (
    '{"schema":1,"method":"1","verdict":"ok","duration_s":1.5,"f0_hz":440.0,'
    '"f0_uncertainty_cents":0.02,"spread_cents":0.8,"drift_cents_per_s":-0.5,"centroid_hz":1320.0,'
    '"brightness_partials":3.0,"steady_from_s":0.2,"steady_to_s":1.4,"vibrato":[5.0,8.0],'
    '"warnings":["bent"],"trace":[[0.2],[440.0]],"spectrum":[[440.0],[0.0],[[1,440.0,0.0]]]}'
)


@given(MEASUREMENTS)
def test_what_was_written_reads_back_equal(measurement: TakeMeasurement) -> None:
    text = write_measurement(measurement)
    assert read_measurement(text) == measurement
    assert "\n" not in text


def test_what_an_earlier_version_wrote_is_still_read() -> None:
    read = read_measurement(SCHEMA_1)
    assert read == TakeMeasurement(
        Verdict.OK,
        1.5,
        f0_hz=440.0,
        f0_uncertainty_cents=0.02,
        spread_cents=0.8,
        drift_cents_per_s=-0.5,
        vibrato=Vibrato(5.0, 8.0),
        centroid_hz=1320.0,
        brightness_partials=3.0,
        steady_from_s=0.2,
        steady_to_s=1.4,
        warnings=(TakeWarning.BENT,),
        trace=PitchTrace((0.2,), (440.0,)),
        spectrum=Spectrum((440.0,), (0.0,), (Partial(1, 440.0, 0.0),)),
        method_version="1",
    )
    assert read.odd_even_db is read.breath_noise_db is read.time_to_speak_s is None
    assert read_measurement(write_measurement(read)) == read


def test_so_is_what_the_second_version_wrote() -> None:
    fields = json.loads(write_measurement(replace(OK, components=(Component(440.0, 0.0),))))
    del fields["alternation"], fields["flutter_hz"]
    read = read_measurement(json.dumps(fields | {"schema": 2, "method": "4"}))
    assert read == replace(OK, components=(Component(440.0, 0.0),), method_version="4")


def _altered(**fields: object) -> str:
    return json.dumps(json.loads(write_measurement(OK)) | fields)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("{", "damaged"),
        ("[]", "not a stored measurement"),
        ("{}", "not a stored measurement"),
        (_altered(schema=4), "form 4, this version reads 1 to 3"),
        (_altered(schema=0), "form 0"),
        (_altered(schema="2"), "form '2'"),
        (_altered(schema=[2]), "form"),
        (_altered(schema=1), "unknown: alternation, breath_noise_db, components, flutter_hz, odd"),
        (_altered(schema=2), "unknown: alternation, flutter_hz"),
        (SCHEMA_1.replace(":1,", ":2,", 1), "missing or unknown: breath_noise_db"),
        (_altered(alternation=[6.0, 440.0]), "unexpected"),
        (_altered(alternation=6.0), "unexpected"),
        (_altered(flutter_hz="24"), "unexpected"),
        (_altered(components=[[440.0]]), "unexpected"),
        (_altered(components=[440.0]), "unexpected"),
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
        (write_measurement(OK).replace("440.0", "NaN"), "unexpected"),
        (write_measurement(OK).replace('"f0_hz":440.0,', ""), "missing or unknown: f0_hz"),
    ],
)
def test_what_is_not_understood_is_refused(text: str, reason: str) -> None:
    with pytest.raises(UnreadableMeasurement, match=reason):
        read_measurement(text)


def test_a_measurement_that_is_no_number_is_not_written() -> None:
    with pytest.raises(ValueError, match="Out of range float"):
        write_measurement(replace(OK, f0_hz=float("nan")))


def test_warnings_are_added_once() -> None:
    twice = OK.with_warnings(TakeWarning.CLIPPED).with_warnings(
        TakeWarning.CLIPPED, TakeWarning.BENT
    )
    assert twice.warnings == (TakeWarning.CLIPPED, TakeWarning.BENT)
