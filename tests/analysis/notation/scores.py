"""Small score files, written for the tests, and their way through the reader in this process."""

from __future__ import annotations

import io
import zipfile
from typing import Any

from analysis.notation.bounds import ScoreBounds
from analysis.notation.child import read_content
from analysis.notation.transcript import PartTranscript, from_plain
from analysis.score import ReadingSettings, ScorePart, read_part

B_FLAT = "-1 -2"
CONTAINER = (
    '<container><rootfiles><rootfile full-path="{path}" media-type="{kind}"/></rootfiles>'
    "</container>"
)
MUSICXML = "application/vnd.recordare.musicxml+xml"


def note(
    name: str,
    sign: str | None = None,
    *,
    duration: float | None = 1,
    voice: str = "1",
    staff: int | None = None,
    more: str = "",
    notations: str = "",
    attributes: str = "",
    before: str = "",
) -> str:
    """A note as 'D5' or 'D5 -0.5': step, octave, and alter if there is one."""
    pitch, _, alter = name.partition(" ")
    return (
        f"<note {attributes}>{before}<pitch><step>{pitch[0]}</step>"
        + (f"<alter>{alter}</alter>" if alter else "")
        + f"<octave>{pitch[1:]}</octave></pitch>"
        + ("" if duration is None else f"<duration>{duration:g}</duration>")
        + more
        + f"<voice>{voice}</voice>"
        + ("" if sign is None else f"<accidental>{sign}</accidental>")
        + ("" if staff is None else f"<staff>{staff}</staff>")
        + (f"<notations>{notations}</notations>" if notations else "")
        + "</note>"
    )


def rest(duration: float = 1) -> str:
    return f"<note><rest/><duration>{duration:g}</duration></note>"


def transpose(words: str, *, tag: str = "transpose") -> str:
    """A transposition from 'diatonic chromatic [octaves]'; '-' leaves one out."""
    names = ("diatonic", "chromatic", "octave-change")
    pairs = zip(names, words.split(), strict=False)
    inner = "".join(f"<{name}>{figure}</{name}>" for name, figure in pairs if figure != "-")
    return f"<{tag}>{inner}</{tag}>"


def words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def attributes(inner: str) -> str:
    return f"<attributes>{inner}</attributes>"


def bar(*items: str, number: str = "1") -> str:
    return f'<measure number="{number}">{"".join(items)}</measure>'


def score(
    *bars: str,
    transposition: str | None = B_FLAT,
    name: str = "Clarinet in Bb",
    divisions: str = "1",
    defaults: str = "",
    tempo: str = "60",
    begin: str = "",
) -> bytes:
    """A partwise file of one part; each of the bars is what `bar` makes."""
    first = attributes(
        (f"<divisions>{divisions}</divisions>" if divisions else "")
        + (transpose(transposition) if transposition else "")
        + begin
    )
    sound = f'<sound tempo="{tempo}"/>' if tempo else ""
    opened, _, closed = bars[0].partition(">")
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0">'
        f"{defaults}"
        f'<part-list><score-part id="P1"><part-name>{name}</part-name></score-part></part-list>'
        f'<part id="P1">{opened}>{first}{sound}{closed}{"".join(bars[1:])}</part></score-partwise>'
    ).encode()


def bars_of(*bars: list[str]) -> list[str]:
    """Bars numbered from 1."""
    return [bar(*items, number=str(number)) for number, items in enumerate(bars, start=1)]


def answer(content: bytes, number: int = 0, bounds: ScoreBounds | None = None) -> dict[str, Any]:
    """What the child would answer."""
    return read_content(content, number, bounds)


def transcribe(content: bytes, number: int = 0) -> PartTranscript:
    told = answer(content, number)
    assert "read" in told, told
    return from_plain(told["read"])


def read(content: bytes, settings: ReadingSettings | None = None, number: int = 0) -> ScorePart:
    return read_part(transcribe(content, number), settings)


def written(part: ScorePart) -> list[str]:
    return [each.written.canonical for each in part.notes]


def sounding(part: ScorePart) -> list[float]:
    return [each.sounding.cents for each in part.notes]


def topics(part: ScorePart) -> list[str]:
    return [each.topic.value for each in part.questions]


def pack(entries: dict[str, bytes], *, container: str | None = None, kind: str = MUSICXML) -> bytes:
    """An archive; `container` is the path that its list names."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        if container is not None:
            listed = CONTAINER.format(path=container, kind=kind)
            archive.writestr("META-INF/container.xml", listed)
        for name, content in entries.items():
            archive.writestr(name, content)
    return packed.getvalue()
