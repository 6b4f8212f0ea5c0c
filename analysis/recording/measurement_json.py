"""JSON serialisation of a `TakeMeasurement`: one line with a schema version.

Python's `json` writes each float in its shortest form that reads back to the same number, so the
round trip is exact. Whatever is not understood completely is refused: a measurement that is half
read would look like evidence.

Schema 1 had no odd/even balance, breath noise, time to speak or components, schema 2 neither
alternation nor flutter; both are still read, and these are absent then.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

from analysis.recording.errors import UnreadableMeasurement
from analysis.recording.measurement import (
    Alternation,
    Component,
    Partial,
    PitchTrace,
    Spectrum,
    TakeMeasurement,
    TakeWarning,
    Verdict,
    Vibrato,
)

SCHEMA_VERSION = 3
_OPTIONAL_NUMBERS = (
    "f0_hz",
    "f0_uncertainty_cents",
    "spread_cents",
    "drift_cents_per_s",
    "centroid_hz",
    "brightness_partials",
    "odd_even_db",
    "breath_noise_db",
    "time_to_speak_s",
    "steady_from_s",
    "steady_to_s",
    "flutter_hz",
)
_NOT_IN_SCHEMA_2: dict[str, Any] = {"alternation": None, "flutter_hz": None}
_NOT_IN_SCHEMA_1: dict[str, Any] = _NOT_IN_SCHEMA_2 | {
    "odd_even_db": None,
    "breath_noise_db": None,
    "time_to_speak_s": None,
    "components": [],
}
_ABSENT: Mapping[int, dict[str, Any]] = {1: _NOT_IN_SCHEMA_1, 2: _NOT_IN_SCHEMA_2, 3: {}}
_FIELDS = frozenset(
    {"schema", "method", "verdict", "duration_s", "vibrato", "warnings", "trace", "spectrum"}
    | {"components", "alternation", *_OPTIONAL_NUMBERS}
)


def write_measurement(measurement: TakeMeasurement) -> str:
    """One line of JSON; the opposite of `read_measurement`."""
    vibrato, spectrum = measurement.vibrato, measurement.spectrum
    turns = measurement.alternation
    fields: dict[str, Any] = {
        "schema": SCHEMA_VERSION,
        "method": measurement.method_version,
        "verdict": measurement.verdict.value,
        "duration_s": measurement.duration_s,
        **{name: getattr(measurement, name) for name in _OPTIONAL_NUMBERS},
        "vibrato": vibrato and [vibrato.rate_hz, vibrato.extent_cents],
        "warnings": [warning.value for warning in measurement.warnings],
        "trace": [measurement.trace.times_s, measurement.trace.f0_hz],
        "spectrum": [
            spectrum.freq_hz,
            spectrum.level_db,
            [[p.number, p.freq_hz, p.level_db] for p in spectrum.partials],
        ],
        "components": [[c.f0_hz, c.level_db] for c in measurement.components],
        "alternation": turns and [turns.rate_hz, turns.low_hz, turns.high_hz],
    }
    return json.dumps(fields, separators=(",", ":"), allow_nan=False)


def read_measurement(text: str) -> TakeMeasurement:
    """The measurement that `write_measurement` wrote, or `UnreadableMeasurement`."""
    try:
        fields = json.loads(text)
    except ValueError as error:
        raise _refuse("the stored text is damaged") from error
    if not isinstance(fields, dict) or "schema" not in fields:
        raise _refuse("it is not a stored measurement")
    if fields["schema"] not in range(1, SCHEMA_VERSION + 1):
        raise _refuse(f"it has form {fields['schema']!r}, this version reads 1 to {SCHEMA_VERSION}")
    absent = _ABSENT[fields["schema"]]
    expected = _FIELDS - absent.keys()
    if fields.keys() != expected:
        odd = ", ".join(sorted(fields.keys() ^ expected))
        raise _refuse(f"fields are missing or unknown: {odd}")
    try:
        return _build(absent | fields)
    except (TypeError, ValueError) as error:
        raise _refuse("a field holds something unexpected") from error


def _build(fields: Mapping[str, Any]) -> TakeMeasurement:
    times, f0s = fields["trace"]
    freqs, levels, partials = fields["spectrum"]
    vibrato, turns = fields["vibrato"], fields["alternation"]
    return TakeMeasurement(
        verdict=Verdict(fields["verdict"]),
        duration_s=_number(fields["duration_s"]),
        vibrato=None if vibrato is None else Vibrato(*_numbers(vibrato)),
        warnings=tuple(TakeWarning(value) for value in fields["warnings"]),
        trace=PitchTrace(*_same_length(times, f0s)),
        spectrum=Spectrum(*_same_length(freqs, levels), tuple(_partial(*p) for p in partials)),
        components=tuple(Component(*_numbers(each)) for each in fields["components"]),
        alternation=None if turns is None else Alternation(*_numbers(turns)),
        method_version=_text(fields["method"]),
        **{name: _optional_number(fields[name]) for name in _OPTIONAL_NUMBERS},
    )


def _partial(number: object, freq_hz: object, level_db: object) -> Partial:
    if type(number) is not int:
        raise TypeError(number)
    return Partial(number, _number(freq_hz), _number(level_db))


def _same_length(first: object, second: object) -> tuple[tuple[float, ...], tuple[float, ...]]:
    one, two = _numbers(first), _numbers(second)
    if len(one) != len(two):
        raise ValueError
    return one, two


def _numbers(values: object) -> tuple[float, ...]:
    if not isinstance(values, list):
        raise TypeError(values)
    return tuple(_number(value) for value in values)


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise TypeError(value)
    return float(value)


def _optional_number(value: object) -> float | None:
    return None if value is None else _number(value)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _refuse(reason: str) -> UnreadableMeasurement:
    return UnreadableMeasurement(
        f"This stored measurement can't be read: {reason}. Measure the clip again."
    )
