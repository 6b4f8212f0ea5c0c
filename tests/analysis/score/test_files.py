"""Score files through the real child process: what is read, refused and stopped."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from analysis.score import (
    DamagedScore,
    EmptyScore,
    EncryptedScore,
    NoSuchPart,
    NotAScore,
    NothingPitched,
    ReadingTookTooLong,
    ScoreError,
    ScoreReaderFault,
    ScoreTooLarge,
    SeveralScores,
    UnsafeScore,
    files,
    read_part,
    read_score_file,
)
from tests.analysis.notation.scores import (
    attributes,
    bar,
    note,
    pack,
    rest,
    score,
    transcribe,
    transpose,
    words,
)
from tests.analysis.notation.test_hostile_files import encrypted, with_declaration

GOOD = score(bar(note("D5 -0.5", "quarter-flat"), note("E5")))
MOST_MEMORY_BYTES = 200_000_000


def write(folder: Path, content: bytes, name: str = "score.png") -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("content", [GOOD, pack({"a.xml": GOOD}, container="a.xml")])
def test_a_score_is_read_whatever_its_name(tmp_path: Path, content: bytes) -> None:
    assert read_score_file(write(tmp_path, content, "größe ✓.png")) == transcribe(GOOD)


REFUSALS: list[tuple[bytes, type[ScoreError], str]] = [
    (b"", EmptyScore, "This file is empty"),
    (b"%PDF-1.7", NotAScore, "a PDF document, which shows notes but holds none"),
    (b"\x89PNG....", NotAScore, "a picture"),
    (b"plain words", NotAScore, "This is not a score"),
    (b"<html/>", NotAScore, "a web page"),
    (pack({"a.xml": GOOD, "b.xml": GOOD}), SeveralScores, "several scores"),
    (encrypted(), EncryptedScore, "encrypted"),
    (with_declaration('<!ENTITY a "b">'), UnsafeScore, "defines entities"),
    (GOOD[:-30], DamagedScore, "breaks off"),
    (pack({"a.xml": GOOD})[:-30], DamagedScore, "archive is damaged or cut off"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "kind", "cause"), REFUSALS)
def test_a_refusal_names_the_cause_in_one_sentence_and_no_path(
    tmp_path: Path, content: bytes, kind: type[ScoreError], cause: str
) -> None:
    with pytest.raises(kind, match=cause) as refusal:
        read_score_file(write(tmp_path, content))
    assert str(tmp_path) not in str(refusal.value)
    assert "{" not in str(refusal.value)


def test_a_part_that_is_not_there_is_told_with_how_many_there_are(tmp_path: Path) -> None:
    with pytest.raises(NoSuchPart, match="this file has 1"):
        read_score_file(write(tmp_path, GOOD), 2)


def test_a_part_without_pitch_is_refused_by_its_name(tmp_path: Path) -> None:
    path = write(tmp_path, score(bar(rest(4))))
    with pytest.raises(NothingPitched, match=r"Clarinet in Bb.*no note with a pitch"):
        read_part(read_score_file(path))


def test_a_missing_file_is_the_callers_fault(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read_score_file(tmp_path / "none.xml")


def test_a_file_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.xml"
    with path.open("wb") as stream:
        stream.truncate(33 << 20)
    with pytest.raises(ScoreTooLarge, match="more than 32 MB"):
        read_score_file(path)


# --- what does harm: each in bounded memory; how long it takes is measured by bench_score


def daily(cases: Iterable[str], count: int) -> list[Any]:
    """The first cases for every day, the others for the long run."""
    return [
        pytest.param(name, marks=() if at < count else pytest.mark.long_run)
        for at, name in enumerate(cases)
    ]


def bomb() -> bytes:
    packed = io.BytesIO()
    with (
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
        archive.open("a.musicxml", "w", force_zip64=True) as entry,
    ):
        for _ in range(300):
            entry.write(bytes(1 << 20))
    return packed.getvalue()


def swollen(inner: bytes) -> bytes:
    return GOOD.replace(b"<note ", inner + b"<note ", 1)


HARMFUL = {
    "a bomb of 300 MB": (bomb, ScoreTooLarge),
    "200,000 levels": (lambda: swollen(b"<a>" * 200_000), UnsafeScore),
    "an attribute of 30 MB": (lambda: swollen(b'<a b="' + b"c" * (30 << 20) + b'"/>'), None),
    "a note of millions": (
        lambda: swollen(b"<note>" + b"<a/>" * (7 << 20) + b"</note>"), ScoreTooLarge,
    ),
    "millions of notes": (lambda: swollen(b"<note/>" * (4 << 20)), ScoreTooLarge),
    "a text of 30 MB": (lambda: swollen(b"<a>" + b"c" * (30 << 20) + b"</a>"), None),
    "millions of elements": (lambda: swollen(b"<a/>" * (7 << 20)), ScoreTooLarge),
    "30 MB of nothing": (lambda: b"<" + b"a" * (30 << 20), NotAScore),
}  # fmt: skip

# In a process of its own, so that the peak of memory of the reading child can be told.
MEASURE = """
import resource, sys
from pathlib import Path
from analysis.score import ScoreError, read_score_file
try:
    print(len(read_score_file(Path(sys.argv[1])).notes))
except ScoreError as refusal:
    print(type(refusal).__name__)
print(1024 * resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="memory is told in other units elsewhere")
@pytest.mark.parametrize("name", daily(HARMFUL, 2))
def test_harmful_files_are_refused_in_little_memory(tmp_path: Path, name: str) -> None:
    make, kind = HARMFUL[name]
    path = write(tmp_path, make())
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, str(path)], capture_output=True, check=True, timeout=60
    )
    outcome, memory_bytes = done.stdout.decode().splitlines()
    # what meets the child's limit of 10 s would be told as another refusal
    assert outcome == ("2" if kind is None else kind.__name__)
    assert int(memory_bytes) < MOST_MEMORY_BYTES


CROWDED = {
    "a bar without end": [note("D5", "natural-up"), *[note("D5")] * 19_000],
    "one tie through everything": [
        note("C5", notations=f"<technical><fingering>{n}</fingering></technical>",
             more='<tie type="stop"/><tie type="start"/>')
        for n in range(15_000)
    ],
    "thousands of transpositions": [
        attributes(transpose(f"-1 -{2 + n % 3}")) + words("to A clarinet") + note("C5")
        for n in range(15_000)
    ],
    "thousands of slurs": [note("C5", notations='<slur type="start"/>' * 20)] * 15_000,
    "thousands of trills": [note("C5", notations="<ornaments><trill-mark/></ornaments>")] * 15_000,
    "thousands of repeats": [
        note("C5") + '<barline><repeat direction="backward"/></barline>' for _ in range(15_000)
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", daily(CROWDED, 1))
def test_a_crowded_part_is_read_in_one_pass(tmp_path: Path, name: str) -> None:
    """What takes time by the square of the notes would not end here."""
    path = write(tmp_path, score(bar(*CROWDED[name]), transposition=None))
    part = read_part(read_score_file(path))
    assert part.notes
    assert len(part.remarks) <= 60


# --- the child


def test_a_child_that_takes_too_long_is_stopped(tmp_path: Path) -> None:
    with pytest.raises(ReadingTookTooLong, match="limits of time"):
        read_score_file(write(tmp_path, GOOD), timeout_s=0.0)


def _run_instead(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    """Let the child do something else before it reads."""
    monkeypatch.setattr(
        files, "_CHILD_CODE", files._CHILD_CODE.replace("main(sys", code + "; main(sys")
    )


@pytest.mark.skipif(sys.platform != "linux", reason="limits of a process are told in /proc")
@pytest.mark.parametrize(
    ("code", "kind"),
    [
        ("bytearray(2**30)", ReadingTookTooLong),
        ("exec('while True: pass')", ReadingTookTooLong),
        ("__import__('os').abort()", DamagedScore),
        ("1/0", ScoreReaderFault),
    ],
)
def test_a_child_at_its_limits_or_with_a_fault_is_told_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: str, kind: type[ScoreError]
) -> None:
    inside = (
        f"import analysis.notation.child as c; c.MAX_CPU_S = 1; c.unpack_score = lambda *a: {code}"
    )
    _run_instead(monkeypatch, inside)
    with pytest.raises(kind) as refusal:
        read_score_file(write(tmp_path, GOOD))
    if kind is ScoreReaderFault:
        assert "ZeroDivisionError" in refusal.value.__notes__[0]


@pytest.mark.parametrize("step", [3, pytest.param(1, marks=pytest.mark.long_run)])
def test_the_reader_is_alive_after_all_of_it(tmp_path: Path, step: int) -> None:
    for content, kind, _ in REFUSALS[::step]:
        with pytest.raises(kind):
            read_score_file(write(tmp_path, content))
    assert len(read_score_file(write(tmp_path, GOOD)).notes) == 2
