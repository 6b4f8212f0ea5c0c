"""Damaged clips of every kind: accepted or refused by name, no crash, no hang.

Dozens of each kind daily, thousands in the long run: the first ones of the same seeds.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from analysis.recording import RecordingError, decode_clip
from tests.analysis.decoder import mutants
from tests.thinning import every_daily

# two thousand and more for each accepted format (opus is an ogg, alac an m4a)
COUNTS = {
    "wav": 2000,
    "flac": 2000,
    "mp3": 2000,
    "ogg": 1200,
    "opus": 1200,
    "m4a": 1200,
    "alac": 1200,
    "aac": 2000,
    "webm": 2000,
}
# "crashed" is what the parent makes of a child that died
REASONS = {"accepted", "unreadable", "empty", "codec", "rate", "channels", "long", "limit"}
HANG_S = 300
DAILY_COUNT = 30
CHILD_MUTANTS = 4


@pytest.mark.parametrize("kind", every_daily(2, list(COUNTS)))
def test_dozens_of_mutants_are_accepted_or_refused_by_name(kind: str, tmp_path: Path) -> None:
    outcomes = _run_all(kind, DAILY_COUNT, tmp_path)
    assert outcomes["accepted"] and outcomes["unreadable"]


@pytest.mark.long_run
@pytest.mark.parametrize("kind", COUNTS)
def test_thousands_of_mutants_are_accepted_or_refused_by_name(kind: str, tmp_path: Path) -> None:
    outcomes = _run_all(kind, COUNTS[kind], tmp_path)
    # they would prove little if none came past the header, or none were damaged
    assert outcomes["accepted"] > 20 and outcomes["unreadable"] > 20


def _run_all(kind: str, last: int, tmp_path: Path) -> Counter[str]:
    """How the first mutants of a kind came out; none in a way that has no name."""
    outcomes: Counter[str] = Counter()
    first = 0
    while first < last:
        found, first = _run_mutants(kind, first, last, tmp_path)
        outcomes += found
    assert outcomes.total() == last
    assert set(outcomes) <= REASONS | {"crashed"}
    return outcomes


def _run_mutants(kind: str, first: int, last: int, folder: Path) -> tuple[Counter[str], int]:
    """How the mutants came out, up to the first that ends the process, and where to go on."""
    progress = folder / "progress"
    command = [sys.executable, "-m", "tests.analysis.decoder.mutants", kind]
    done = subprocess.run(
        [*command, str(first), str(last), str(progress)],
        capture_output=True,
        check=False,
        timeout=HANG_S,
    )
    if done.returncode == 0:
        return Counter(json.loads(done.stdout)), last
    number = int(progress.read_text())
    assert done.returncode < 0, f"mutant {number} of {kind}: {done.stderr.decode()[-2000:]}"
    _check_real_child(kind, number, folder)
    # the ones before it did come through, though how is not known
    return Counter(unreadable=number - first, crashed=1), number + 1


@pytest.mark.parametrize("kind", COUNTS)
@pytest.mark.parametrize("count", [1, pytest.param(CHILD_MUTANTS, marks=pytest.mark.long_run)])
def test_the_real_child_names_its_refusals(kind: str, count: int, tmp_path: Path) -> None:
    for number in range(count):
        _check_real_child(kind, number, tmp_path)


def _check_real_child(kind: str, number: int, folder: Path) -> None:
    path = folder / "mutant"
    path.write_bytes(mutants.make_mutant(mutants.make_original(kind), kind, number))
    try:
        clip = decode_clip(path)
    except RecordingError as refusal:
        assert str(folder) not in str(refusal)
    else:
        assert clip.samples.size > 0


@pytest.mark.parametrize("kind", mutants.MENDERS)
def test_mending_an_undamaged_clip_changes_nothing(kind: str) -> None:
    """The encoders' own checksums are the reference."""
    original = mutants.make_original(kind)
    content = bytearray(original)
    mutants.MENDERS[kind](content)
    assert bytes(content) == original
