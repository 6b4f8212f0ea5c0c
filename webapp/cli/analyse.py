"""`quartervent analyse`: measure recordings without a notebook."""

import json
import sys
from dataclasses import asdict, dataclass
from pathlib import Path

import click

from analysis.errors import AnalysisError
from analysis.pitch import (
    SoundingPitch,
    Tuning,
    find_kind,
    format_cents,
    parse_pitch,
    resolve_written,
)
from analysis.recording import (
    TakeMeasurement,
    Verdict,
    explain,
    explain_warning,
    measure_clip,
)
from webapp.cli.options import json_option, kind_option, tuning_option
from webapp.drawing.figures import format_uncertainty, state_uncertainty

COLUMNS = ("verdict", "Hz", "offset", "spread", "drift", "brightness")
WIDTHS = (16, 9, 15, 7, 7, 10)


@dataclass(frozen=True, slots=True)
class TargetPitch:
    """What the takes are compared with; the sounding pitch is None without a target."""

    sounding: SoundingPitch | None
    tuning: Tuning

    @property
    def hz(self) -> float | None:
        """The target as it sounds at the tuning A."""
        return self.sounding.hz(self.tuning) if self.sounding else None


@dataclass(frozen=True, slots=True)
class Analysed:
    """A file with what was measured, or with the reason why not."""

    file: str
    measurement: TakeMeasurement | None
    problem: str = ""


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--target", "target_text", help="Written pitch for the instrument, for example 'D5 -50'."
)
@kind_option
@tuning_option
@json_option
def analyse(
    *,
    files: tuple[Path, ...],
    target_text: str | None,
    kind_text: str,
    tuning_hz: float,
    is_json: bool,
) -> None:
    """Measure pitch, steadiness and brightness of FILES, one held note each.

    Exits with 1 if any file could not be read; the others are still done.

    With --json each line holds, null where it is not known:

    \b
      verdict, warnings        ok, or why there is no one pitch; what else to know
      f0_hz, offset_cents, target_hz
                               median pitch, and how far it is from the target
      f0_uncertainty_cents     one standard deviation, at least 0.1
      spread_cents, drift_cents_per_s
      vibrato                  rate_hz, and extent_cents to either side
      centroid_hz, brightness_partials
      odd_even_db              odd partials against even ones
      breath_noise_db          noise against the tone, if the room is quieter
      time_to_speak_s          from onset to full level
      duration_s, steady_from_s, steady_to_s
      components               notes that sound at once: f0_hz, level_db
      alternation              of a trill or tremolo: rate_hz, low_hz, high_hz
      flutter_hz               rate of flutter-tonguing
      method_version           of the way it was measured
    """
    target = read_target(target_text, kind_text, tuning_hz)
    has_failed = False
    if not is_json:
        click.echo(_row(*COLUMNS, name="file"))
    for path in files:
        analysed = _analyse(path, target)
        has_failed = has_failed or analysed.measurement is None
        click.echo(
            json.dumps(list_facts(analysed, target)) if is_json else _words(analysed, target)
        )
    if has_failed:
        sys.exit(1)


def read_target(target_text: str | None, kind_text: str, tuning_hz: float) -> TargetPitch:
    """Read the options that say what should sound; a usage error says what can't be read."""
    try:
        transposition = find_kind(kind_text).transposition
        tuning = Tuning(tuning_hz)
        if target_text is None:
            return TargetPitch(None, tuning)
        request = parse_pitch(target_text)
        written = resolve_written(request, transposition=transposition, tuning=tuning)
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error
    return TargetPitch(transposition.to_sounding(written), tuning)


def _analyse(path: Path, target: TargetPitch) -> Analysed:
    if not path.is_file():
        return Analysed(str(path), None, "There is no such file.")
    try:
        measurement = measure_clip(path, expected_f0_hz=target.hz)
    except AnalysisError as error:
        return Analysed(str(path), None, str(error))
    except OSError as error:
        return Analysed(str(path), None, f"The file cannot be read ({error.strerror}).")
    return Analysed(str(path), measurement)


def find_offset_cents(measurement: TakeMeasurement, target: TargetPitch) -> float | None:
    """How far the take lies from its target, if both are known."""
    if measurement.f0_hz is None or target.sounding is None:
        return None
    return target.sounding.interval_to(SoundingPitch.from_hz(measurement.f0_hz, target.tuning))


def list_facts(analysed: Analysed, target: TargetPitch) -> dict[str, object]:
    """List what was measured, for JSON."""
    measurement = analysed.measurement
    if measurement is None:
        measurement = TakeMeasurement(verdict=Verdict.UNREADABLE, duration_s=0.0)
    problem = [analysed.problem] if analysed.problem else []
    return {
        "file": analysed.file,
        "verdict": measurement.verdict.value,
        "f0_hz": measurement.f0_hz,
        "f0_uncertainty_cents": (
            None
            if measurement.f0_uncertainty_cents is None
            else state_uncertainty(measurement.f0_uncertainty_cents)
        ),
        "target_hz": target.hz,
        "offset_cents": find_offset_cents(measurement, target),
        "spread_cents": measurement.spread_cents,
        "drift_cents_per_s": measurement.drift_cents_per_s,
        "vibrato": measurement.vibrato and asdict(measurement.vibrato),
        "centroid_hz": measurement.centroid_hz,
        "brightness_partials": measurement.brightness_partials,
        "odd_even_db": measurement.odd_even_db,
        "breath_noise_db": measurement.breath_noise_db,
        "time_to_speak_s": measurement.time_to_speak_s,
        "duration_s": measurement.duration_s,
        "steady_from_s": measurement.steady_from_s,
        "steady_to_s": measurement.steady_to_s,
        "components": [asdict(component) for component in measurement.components],
        "alternation": measurement.alternation and asdict(measurement.alternation),
        "flutter_hz": measurement.flutter_hz,
        "method_version": measurement.method_version,
        "warnings": [warning.value for warning in measurement.warnings] + problem,
    }


def _words(analysed: Analysed, target: TargetPitch) -> str:
    name, measurement = click.format_filename(analysed.file), analysed.measurement
    if measurement is None:
        return _row(Verdict.UNREADABLE, name=name) + f"\n    {analysed.problem}"
    if not measurement.is_usable:
        return _row(measurement.verdict, name=name) + f"\n    {explain(measurement)}"
    offset = find_offset_cents(measurement, target)
    uncertainty = measurement.f0_uncertainty_cents or 0.0
    line = _row(
        measurement.verdict,
        f"{measurement.f0_hz:.2f}",
        "" if offset is None else f"{format_cents(offset)} ± {format_uncertainty(uncertainty)}",
        _figure(measurement.spread_cents),
        format_cents(measurement.drift_cents_per_s or 0.0),
        _figure(measurement.brightness_partials),
        name=name,
    )
    warnings = [f"\n    {explain_warning(warning)}" for warning in measurement.warnings]
    return line + "".join(warnings)


def _figure(number: float | None) -> str:
    return "" if number is None else f"{number:.1f}"


def _row(*cells: str, name: str) -> str:
    """Set a row of the table; the file's name stands last, since it may be of any length."""
    padded = (*cells, *[""] * (len(WIDTHS) - len(cells)))
    verdict, *figures = (cell.rjust(width) for cell, width in zip(padded, WIDTHS, strict=True))
    return "  ".join((verdict.strip().ljust(WIDTHS[0]), *figures, name))
