"""Damaged score files: read or refused by name, no crash, no hang.

A hundred every day, a thousand and more in the long run: the first ones of the same seeds.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter

import pytest

REASONS = {
    "read", "damaged", "damaged archive", "not xml", "encoding", "no score inside", "no parts",
    "several", "encrypted", "entities", "deep", "empty", "root", "entries", "large", "other",
    "NothingPitched",
}  # fmt: skip
DAILY_COUNT, ALL_COUNT = 100, 2000
HANG_S = 300


def _read_mutants(count: int) -> Counter[str]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.analysis.notation.mutants", "0", str(count)],
        capture_output=True,
        check=False,
        timeout=HANG_S,
    )
    assert done.returncode == 0, done.stderr.decode()[-2000:]
    told = json.loads(done.stdout)
    outcomes = Counter(told["outcomes"])
    assert set(outcomes) <= REASONS
    assert outcomes.total() == count
    return outcomes


def test_a_hundred_mutants_are_read_or_refused_by_name() -> None:
    outcomes = _read_mutants(DAILY_COUNT)
    assert outcomes["read"] > 10 and outcomes["damaged"] > 10


@pytest.mark.long_run
def test_two_thousand_mutants_are_read_or_refused_by_name() -> None:
    outcomes = _read_mutants(ALL_COUNT)
    # they would prove little if none were read, or none were damaged
    assert outcomes["read"] > 200 and outcomes["damaged"] > 200
