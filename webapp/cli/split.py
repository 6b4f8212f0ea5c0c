"""`quartervent split`: a recording of several notes, taken apart and measured."""

import json
import sys
from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from analysis.errors import AnalysisError
from analysis.pitch import format_cents
from analysis.recording import (
    MeasuredSpan,
    Proposal,
    Recording,
    cut_span,
    decode_clip,
    explain,
    explain_warning,
    measure_spans,
    propose_by_pitch,
    split_takes,
)
from webapp.cli.analyse import (
    Analysed,
    TargetPitch,
    find_offset_cents,
    list_facts,
    read_target,
)
from webapp.cli.options import json_option, kind_option, tuning_option
from webapp.drawing.figures import format_uncertainty

COLUMNS = ("note", "from", "to", "verdict", "Hz", "offset", "spread", "target")
WIDTHS = (4, 8, 8, 16, 9, 15, 7, 20)
LEFT = ("verdict", "target")
SPLITTING_SHARE = 0.3  # of the progress bar; the rest is measuring
STEPS = 1000


@dataclass(frozen=True, slots=True)
class SplitNote:
    """One note found: its place, its measurement, and the target it is compared with."""

    number: int
    measured: MeasuredSpan
    target: TargetPitch
    target_text: str
    proposal: Proposal | None
    file: str


@click.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--target",
    "target_texts",
    multiple=True,
    help="Written pitch, for example 'D5 -50'; several, in the order played, are told by pitch.",
)
@kind_option
@tuning_option
@click.option(
    "--out",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the takes as take-001.wav, take-002.wav, ...",
)
@json_option
def split(
    *,
    file: Path,
    target_texts: tuple[str, ...],
    kind_text: str,
    tuning_hz: float,
    folder: Path | None,
    is_json: bool,
) -> None:
    """Find the notes in FILE, one after the other, and measure each.

    With --out each note is written as a wav file of its own. Exits with 1 if the file cannot be
    read or holds no note.
    """
    targets = [read_target(text, kind_text, tuning_hz) for text in target_texts]
    plain = read_target(None, kind_text, tuning_hz)
    try:
        recording = decode_clip(file)
    except (AnalysisError, OSError) as error:
        raise click.ClickException(str(error)) from error
    for warning in recording.warnings:
        click.echo(explain_warning(warning), err=True)
    spans = _measure(recording, targets[0].hz if len(targets) == 1 else None)
    if not spans:
        raise click.ClickException(
            "No held note was found in this recording. Hold each note for half a second or more,"
            " and record it again."
        )
    files = _write_takes(recording, spans, folder) if folder else [str(file)] * len(spans)
    notes = _assign(spans, files, targets or [plain], target_texts)
    if not is_json:
        click.echo(_row(COLUMNS))
    for note in notes:
        click.echo(json.dumps(_list_facts(note)) if is_json else _words(note))


def _measure(recording: Recording, expected_f0_hz: float | None) -> tuple[MeasuredSpan, ...]:
    """Split and measure, with a progress bar on the error stream."""
    samples, rate_hz = recording.samples, recording.sample_rate_hz
    bar: AbstractContextManager[Any] = click.progressbar(
        length=STEPS, label="Listening", file=sys.stderr
    )
    with bar as shown:

        def go_to(share: float) -> None:
            shown.update(int(share * STEPS) - shown.pos)

        spans = split_takes(samples, rate_hz, progress=lambda share: go_to(SPLITTING_SHARE * share))
        return measure_spans(
            samples,
            rate_hz,
            spans,
            expected_f0_hz=expected_f0_hz,
            progress=lambda share: go_to(SPLITTING_SHARE + (1 - SPLITTING_SHARE) * share),
        )


def _write_takes(recording: Recording, spans: Sequence[MeasuredSpan], folder: Path) -> list[str]:
    """Write each take under a name of our own; a file that is there already stays."""
    import soundfile

    paths = [folder / f"take-{number:03d}.wav" for number in range(1, len(spans) + 1)]
    for path in paths:
        if path.exists():
            raise click.ClickException(
                f"{click.format_filename(path)} is there already. Choose another folder with --out."
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, measured in zip(paths, spans, strict=True):
            take = cut_span(recording.samples, recording.sample_rate_hz, measured.span)
            with path.open("xb") as written:
                soundfile.write(
                    written, take, round(recording.sample_rate_hz), format="WAV", subtype="PCM_24"
                )
    except OSError as error:
        raise click.ClickException(
            f"{click.format_filename(folder)} cannot be written to ({error.strerror})."
            " Choose another folder with --out."
        ) from error
    return [str(path) for path in paths]


def _assign(
    spans: Sequence[MeasuredSpan],
    files: Sequence[str],
    targets: Sequence[TargetPitch],
    texts: Sequence[str],
) -> list[SplitNote]:
    """Each note with its target: the only one, or the one that its pitch proposes."""
    if len(targets) == 1:
        text = texts[0] if texts else ""
        return [
            SplitNote(number, measured, targets[0], text, None, file)
            for number, (measured, file) in enumerate(zip(spans, files, strict=True), start=1)
        ]
    cents = [target.sounding.cents for target in targets if target.sounding]
    proposals = propose_by_pitch(spans, cents, tuning_a_hz=targets[0].tuning.a4_hz)
    nowhere = TargetPitch(None, targets[0].tuning)
    notes = []
    for number, (measured, file, proposal) in enumerate(
        zip(spans, files, proposals, strict=True), start=1
    ):
        at = proposal.target_index
        target, text = (nowhere, "") if at is None else (targets[at], texts[at])
        notes.append(SplitNote(number, measured, target, text, proposal, file))
    return notes


def _list_facts(note: SplitNote) -> dict[str, object]:
    span = note.measured.span
    proposal = note.proposal
    reason = proposal.no_proposal if proposal else None
    return {
        "note": note.number,
        "from_s": span.from_s,
        "to_s": span.to_s,
        "target": note.target_text or None,
        "no_proposal": reason.value if reason else None,
        **list_facts(Analysed(note.file, note.measured.measurement), note.target),
        "components": [
            {"f0_hz": component.f0_hz, "level_db": component.level_db}
            for component in note.measured.measurement.components
        ],
    }


def _words(note: SplitNote) -> str:
    measurement, span = note.measured.measurement, note.measured.span
    offset = find_offset_cents(measurement, note.target)
    uncertainty = format_uncertainty(measurement.f0_uncertainty_cents or 0.0)
    reason = note.proposal.no_proposal if note.proposal else None
    line = _row(
        (
            str(note.number),
            _clock(span.from_s),
            _clock(span.to_s),
            measurement.verdict.value,
            "" if measurement.f0_hz is None else f"{measurement.f0_hz:.2f}",
            "" if offset is None else f"{format_cents(offset)} ± {uncertainty}",
            "" if measurement.spread_cents is None else f"{measurement.spread_cents:.1f}",
            reason.value if reason else note.target_text,
        )
    )
    remarks = [] if measurement.is_usable else [explain(measurement)]
    remarks += [explain_warning(warning) for warning in measurement.warnings]
    return "\n    ".join((line, *remarks))


def _clock(time_s: float) -> str:
    """Minutes and seconds.

    >>> _clock(83.26)
    '1:23.26'
    """
    hundredths = round(100 * time_s)
    return f"{hundredths // 6000}:{hundredths % 6000 / 100:05.2f}"


def _row(cells: Iterable[str]) -> str:
    return "  ".join(
        cell.ljust(width) if name in LEFT else cell.rjust(width)
        for name, cell, width in zip(COLUMNS, cells, WIDTHS, strict=True)
    ).rstrip()
