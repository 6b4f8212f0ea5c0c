"""The forms a score comes in: they all say the same."""

from __future__ import annotations

import codecs

import pytest

from analysis.notation.transcript import PartTranscript
from tests.analysis.notation.scores import (
    attributes,
    bar,
    note,
    pack,
    score,
    transcribe,
    transpose,
    words,
)

TEXT = score(
    bar(note("D5 -0.5", "quarter-flat"), words("größer")), bar(note("E5"), number="2")
).decode()
UTF_16 = TEXT.replace('encoding="UTF-8"', 'encoding="UTF-16"')
FORMS = {
    "UTF-8": TEXT.encode(),
    "with a byte order mark": codecs.BOM_UTF8 + TEXT.encode(),
    "blank lines first": b"\n\n  " + TEXT.encode(),
    "UTF-16": UTF_16.encode("utf-16"),
    "UTF-16, big end first": codecs.BOM_UTF16_BE + UTF_16.encode("utf-16-be"),
    "Latin-1": TEXT.replace('encoding="UTF-8"', 'encoding="ISO-8859-1"').encode("latin-1"),
    "an archive": pack({"folder/a.xml": TEXT.encode()}, container="folder/a.xml"),
    "an archive without a list": pack({"a.musicxml": TEXT.encode(), "a.txt": b"notes"}),
    "UTF-16 in an archive": pack({"a.xml": UTF_16.encode("utf-16")}, container="a.xml"),
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_read_alike(form: str) -> None:
    assert transcribe(FORMS[form]) == transcribe(TEXT.encode())


LIST = (
    '<part-list><score-part id="P1"><part-name>Flute</part-name></score-part>'
    '<score-part id="P2"><part-name>Clarinet in A</part-name></score-part></part-list>'
)
A_CLARINET = attributes(f"<divisions>2</divisions>{transpose('-2 -3')}")
BARS = {
    ("P1", "1"): [attributes("<divisions>4</divisions>"), note("C5", duration=4)],
    ("P2", "1"): [A_CLARINET, note("D5 -0.5", "quarter-flat", duration=2)],
    ("P1", "2"): [note("E5", duration=4)],
    ("P2", "2"): [note("F5", duration=3), note("G5", duration=1)],
}


def partwise() -> bytes:
    parts = "".join(
        f'<part id="{part}">'
        + "".join(bar(*BARS[part, number], number=number) for number in ("1", "2"))
        + "</part>"
        for part in ("P1", "P2")
    )
    return f'<score-partwise version="3.1">{LIST}{parts}</score-partwise>'.encode()


def timewise() -> bytes:
    bars = "".join(
        f'<measure number="{number}">'
        + "".join(
            f'<part id="{part}">{"".join(BARS[part, number])}</part>' for part in ("P1", "P2")
        )
        + "</measure>"
        for number in ("1", "2")
    )
    return f'<score-timewise version="3.1">{LIST}{bars}</score-timewise>'.encode()


@pytest.mark.parametrize("number", [0, 1, 2])
def test_timewise_is_read_as_partwise(number: int) -> None:
    assert transcribe(timewise(), number) == transcribe(partwise(), number)


def _steps(transcript: PartTranscript) -> str:
    return "".join(head.step for head in transcript.notes)


def test_the_clarinet_is_chosen_unless_another_part_is_asked_for() -> None:
    chosen = transcribe(partwise())
    assert (chosen.heading.number, chosen.heading.name, _steps(chosen)) == (
        2,
        "Clarinet in A",
        "DFG",
    )
    assert _steps(transcribe(partwise(), 1)) == "CE"
    assert [each.note_count for each in chosen.parts] == [2, 3]


def test_parts_that_are_not_listed_are_read_in_their_order() -> None:
    content = partwise().replace(LIST.encode(), b"")
    assert _steps(transcribe(content)) == "CE"
    assert _steps(transcribe(content, 2)) == "DFG"


def test_title_and_composer_are_kept() -> None:
    front = (
        "<work><work-title>Moon\n study</work-title></work><identification>"
        '<creator type="lyricist">A</creator><creator type="composer">B</creator></identification>'
    )
    found = transcribe(score(bar(note("C5")), defaults=front))
    assert (found.title.split(), found.composer) == (["Moon", "study"], "B")
