"""Children that wait for one job: used once, never left behind. Each child here is real."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from analysis.recording import ClipFormat, ClipTooLong, decode, decode_clip
from analysis.sandbox.child_processes import Child, SpareChild, start_child
from tests.analysis.recording.clips import encode, make_tone

RATE = 16_000
ECHO = (sys.executable, "-c", "import sys; sys.stdout.write(sys.stdin.readline())")
PATIENCE_S = 20.0


@pytest.fixture
def spare() -> Iterator[SpareChild]:
    """A spare that repeats the job it is given."""
    made = SpareChild(lambda: start_child(ECHO))
    yield made
    made.stop()


@pytest.fixture
def decoder(monkeypatch: pytest.MonkeyPatch) -> Iterator[SpareChild]:
    """The decoder's spare, fresh for this test."""
    made = SpareChild(decode._SPARE._start)
    monkeypatch.setattr(decode, "_SPARE", made)
    yield made
    made.stop()


def _take(spare: SpareChild) -> Child:
    child = spare.take()
    assert child is not None
    return child


def _read(child: Child) -> bytes:
    child.process.wait(PATIENCE_S)
    child.output.seek(0)
    return child.output.read()


def test_a_child_does_the_job_it_is_given() -> None:
    with start_child(ECHO) as child:
        assert child.hand_over(b"one job")
        assert _read(child) == b"one job\n"


def test_there_is_no_spare_unless_one_was_asked_for(spare: SpareChild) -> None:
    assert spare.take() is None


def test_a_spare_is_taken_once(spare: SpareChild) -> None:
    spare.prepare()
    with _take(spare) as child:
        assert spare.take() is None
        child.hand_over(b"first")
        assert _read(child) == b"first\n"


def test_asking_again_starts_no_second_one(spare: SpareChild) -> None:
    spare.prepare()
    waiting = spare._child
    spare.prepare()
    assert spare._child is waiting


def test_a_spare_that_died_waiting_is_not_used(spare: SpareChild) -> None:
    spare.prepare()
    assert spare._child is not None
    spare._child.process.kill()
    spare._child.process.wait(PATIENCE_S)
    assert spare.take() is None
    spare.prepare()
    _take(spare).end()


def test_a_spare_for_which_nobody_comes_ends() -> None:
    spare = SpareChild(lambda: start_child(ECHO), idle_s=0.01)
    spare.prepare()
    child = spare._child
    assert child is not None
    child.process.wait(PATIENCE_S)


def test_a_child_given_no_job_ends_when_its_input_does() -> None:
    with decode._start(ClipFormat.WAV) as child:
        assert child.process.stdin is not None
        child.process.stdin.close()
        assert child.process.wait(PATIENCE_S) == 0
        assert _read(child) == b""


# A parent whose child keeps a pipe of the test open for as long as it lives.
PARENT = """
import signal, subprocess, sys
plain = subprocess.Popen
subprocess.Popen = lambda *given, **named: plain(*given, pass_fds=[{held}], **named)
from analysis.recording import decode
decode.start_spare()
print("started", flush=True)
signal.pause()
"""


@pytest.mark.skipif(not hasattr(signal, "pause"), reason="this system hands on no open files")
def test_a_spare_ends_when_its_parent_is_killed() -> None:
    alive, held = os.pipe()
    command = [sys.executable, "-c", PARENT.format(held=held)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, pass_fds=[held]) as parent:
        os.close(held)
        assert parent.stdout is not None
        assert parent.stdout.readline() == b"started\n"
        ended = threading.Thread(target=os.read, args=(alive, 1))  # until nobody can write
        ended.start()
        ended.join(0.2)
        assert ended.is_alive(), "the child waits"
        parent.kill()
    ended.join(PATIENCE_S)
    assert not ended.is_alive()
    os.close(alive)


def test_a_clip_goes_through_the_spare_and_comes_out_the_same(
    tmp_path: Path, decoder: SpareChild
) -> None:
    path = tmp_path / "clip"
    path.write_bytes(encode(make_tone(440.0, 0.5, RATE), "wav", RATE))
    alone = decode_clip(path)
    decoder.prepare()
    helped = decode_clip(path)
    assert decoder.take() is None, "it was used"
    assert np.array_equal(alone.samples, helped.samples)


@pytest.mark.parametrize("kind", ["m4a", "flac"])
def test_a_spare_reads_every_kind(tmp_path: Path, decoder: SpareChild, kind: str) -> None:
    path = tmp_path / "clip"
    path.write_bytes(encode(make_tone(440.0, 0.5, RATE), kind, RATE))
    decoder.prepare()
    assert decode_clip(path).clip_format == kind


def test_a_spare_killed_just_before_it_is_used_costs_nothing(
    tmp_path: Path, decoder: SpareChild, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "clip"
    path.write_bytes(encode(make_tone(440.0, 0.5, RATE), "wav", RATE))
    decoder.prepare()
    dead = _take(decoder)
    dead.process.kill()
    dead.process.wait(PATIENCE_S)
    monkeypatch.setattr(decoder, "take", lambda: dead)
    assert decode_clip(path).duration_s == pytest.approx(0.5)


@pytest.mark.skipif(sys.platform != "linux", reason="limits of a process are told in /proc")
def test_a_spare_has_the_limits_of_any_child(
    tmp_path: Path, decoder: SpareChild, monkeypatch: pytest.MonkeyPatch
) -> None:
    # In place of decoding, the child tells its limits (proc(5), /proc/pid/limits).
    telling = decode.CHILD_CODE.replace(
        "from analysis.decoder.child import main;",
        "from analysis.decoder import child; from analysis.decoder.child import main;"
        " child.decode = lambda *a, **k:"
        " {'refused': 'long', 'figure': 60 * __import__('resource').getrlimit(0)[0]};",
    )
    monkeypatch.setattr(decode, "CHILD_CODE", telling)
    path = tmp_path / "clip"
    path.write_bytes(encode(make_tone(440.0, 0.5, RATE), "wav", RATE))
    decoder.prepare()
    with pytest.raises(ClipTooLong, match="20 minutes"):  # MAX_CPU_S, told as minutes
        decode_clip(path)
