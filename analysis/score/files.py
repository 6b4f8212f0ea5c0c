"""Score files: untrusted bytes to the transcript of a part, in a child process with limits.

Read: MusicXML 3.1 and 4.0, partwise and timewise, plain (.musicxml, .xml) and compressed (.mxl);
MEI 4 and 5, common notation; judged by content. Up to 16 MB packed and 32 MB unpacked, 40 levels,
2,000 files in an archive, 60 parts, 20,000 notes a part, 10 s of processor time, 512 MB of memory.
The time limit holds everywhere; processor and memory limits on POSIX systems. Nothing is ever
fetched.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NoReturn

from analysis.notation.bounds import ScoreBounds
from analysis.notation.transcript import PartTranscript, from_plain
from analysis.sandbox.child_processes import (
    child_code,
    isolated_command,
    met_limit,
    start_child,
)
from analysis.score.errors import (
    DamagedScore,
    EmptyScore,
    EncryptedScore,
    NoSuchPart,
    NotAScore,
    ReadingTookTooLong,
    ScoreError,
    ScoreReaderFault,
    ScoreTooLarge,
    SeveralScores,
    UnsafeScore,
)

TIMEOUT_S = 20.0
ACCEPTED_WORDS = "MusicXML (.musicxml, .xml or .mxl) or MEI"
_CHILD_CODE = child_code("analysis.notation.child")
_NEEDS = ("analysis",)
_SAVE_AGAIN = "Export the score again as MusicXML, and choose that file."


def read_score_file(
    path: Path, part: int | None = None, *, timeout_s: float = TIMEOUT_S
) -> PartTranscript:
    """Return the transcript of one part of the score at `path`, however the file is named.

    `part` counts from 1; None takes the only part, else the first whose name is a clarinet's, else
    the first. Raises a `ScoreError` that names the cause; a missing file raises OSError.
    """
    size = path.stat().st_size
    most = ScoreBounds().unpacked_bytes
    if size > most:
        raise ScoreTooLarge(_too_large(f"{most >> 20} MB"))
    if size == 0:
        raise EmptyScore(f"This file is empty. {_SAVE_AGAIN}")
    job = json.dumps([str(path.absolute()), part or 0]).encode("ascii")
    with start_child(isolated_command(_CHILD_CODE, _NEEDS)) as child:
        child.hand_over(job)  # one that has died meanwhile is judged by how it ended
        exit_code = child.wait(timeout_s)
        if exit_code is None or met_limit(exit_code):
            raise _stopped()
        child.output.seek(0)
        answer = _read_answer(child.output.read()) if exit_code == 0 else None
    if answer is None:
        raise DamagedScore(f"This file is damaged in a way that ended the reader. {_SAVE_AGAIN}")
    if "refused" in answer:
        _refuse(str(answer["refused"]), str(answer["detail"]))
    return from_plain(answer["read"])


def _read_answer(output: bytes) -> dict[str, Any] | None:
    try:
        answer = json.loads(output)
    except ValueError:
        return None
    return answer if isinstance(answer, dict) else None


def _stopped() -> ReadingTookTooLong:
    return ReadingTookTooLong(
        "This file could not be read within the limits of time and memory. Save the part alone, "
        "without the rest of the score."
    )


def _too_large(what: str) -> str:
    return (
        f"This file is too large: more than {what}. Save the part alone, without the rest of the "
        "score."
    )


# The reason's name: the class, and the sentence with the detail in it.
_REFUSALS: dict[str, tuple[type[ScoreError], str]] = {
    "empty": (EmptyScore, f"This file is empty. {_SAVE_AGAIN}"),
    "no score inside": (
        EmptyScore, f"This archive holds no score. Choose {ACCEPTED_WORDS} itself."
    ),
    "no parts": (EmptyScore, f"This score has no parts. {_SAVE_AGAIN}"),
    "picture": (
        NotAScore,
        "This is {detail}, which shows notes but holds none. Export the score as MusicXML where it "
        "was written, or type the notes.",
    ),
    "other": (NotAScore, f"This is {{detail}} and not a score. Choose {ACCEPTED_WORDS}."),
    "root": (NotAScore, f"This is {{detail}}, not a score. Choose {ACCEPTED_WORDS}."),
    "not xml": (NotAScore, f"This is not a score. Choose {ACCEPTED_WORDS}."),
    "encoding": (
        NotAScore, "The text of this file is in {detail}, which is not read. Save it as UTF-8."
    ),
    "several": (
        SeveralScores,
        "There are several scores ({detail}) in this archive. Unpack it and choose one of them.",
    ),
    "encrypted": (
        EncryptedScore, "This archive is encrypted. Save the score without a password."
    ),
    "entities": (
        UnsafeScore,
        "This file defines entities, which no exporter of scores does; it is not read. "
        f"{_SAVE_AGAIN}",
    ),
    "deep": (
        UnsafeScore,
        "This file nests too deep: more than {detail} levels, which no score needs. "
        f"{_SAVE_AGAIN}",
    ),
    "large": (ScoreTooLarge, _too_large("{detail}")),
    "entries": (ScoreTooLarge, _too_large("{detail} files in the archive")),
    "parts": (ScoreTooLarge, _too_large("{detail} parts")),
    "notes": (ScoreTooLarge, _too_large("{detail} notes and rests in one part")),
    "damaged": (DamagedScore, f"This score breaks off or is damaged at {{detail}}. {_SAVE_AGAIN}"),
    "damaged archive": (DamagedScore, f"This archive is damaged or cut off. {_SAVE_AGAIN}"),
    "no such part": (
        NoSuchPart, "There is no such part: this file has {detail}. Choose one of them by number."
    ),
}  # fmt: skip


def _refuse(reason: str, detail: str) -> NoReturn:
    if reason == "limit":
        raise _stopped()
    if reason not in _REFUSALS:
        fault = ScoreReaderFault(
            "This program failed while it read the score; the file itself may be sound. Save it "
            "again in another version of MusicXML and try that."
        )
        fault.add_note(f"In the reading child: {detail}")
        raise fault
    kind, words = _REFUSALS[reason]
    raise kind(words.format(detail=detail))
