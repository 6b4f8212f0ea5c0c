"""Reader of what stands at a note: ties, slurs, ornaments, fingerings, techniques, articulations.

Element names and their meaning: MusicXML 4.0, `notations` and below. Nothing is made a pitch here.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from analysis.notation.xml_items import Item

TEXT_CHARACTERS = 200
MOST_TEXTS = 50
SMUFL = "smufl:"
_HOLES = {"yes": "●", "no": "○", "half": "◐"}
_PLAIN_HEADS = frozenset({"", "normal", "none"})
_NO_TECHNIQUE = frozenset({"pluck", "string", "fret", "up-bow", "down-bow", "heel", "toe"})


@dataclass(slots=True)
class NoteMarks:
    """Marks at a note; `events` are (kind, value, staff)."""

    is_trill: bool = False
    found: set[str] = field(default_factory=set)
    slur_list: list[str] = field(default_factory=list)
    trill_sign: str = ""
    fingering_list: list[str] = field(default_factory=list)
    technique_list: list[str] = field(default_factory=list)
    articulation_list: list[str] = field(default_factory=list)
    events: list[tuple[str, str, int]] = field(default_factory=list)

    @property
    def marks(self) -> tuple[str, ...]:
        """The marks of the note head, sorted."""
        return tuple(sorted(self.found))

    @property
    def slurs(self) -> tuple[str, ...]:
        """Slurs that start or stop here."""
        return tuple(self.slur_list)

    @property
    def fingerings(self) -> tuple[str, ...]:
        """Fingerings as printed."""
        return tuple(self.fingering_list[:MOST_TEXTS])

    @property
    def techniques(self) -> tuple[str, ...]:
        """Ways of playing, in words."""
        return tuple(self.technique_list[:MOST_TEXTS])

    @property
    def articulations(self) -> tuple[str, ...]:
        """Articulations, by name."""
        return tuple(self.articulation_list[:MOST_TEXTS])


def read_sign(item: Item | None) -> str:
    """Return the name of a printed accidental: 'sharp', 'smufl:accidentalKoron', or ''."""
    if item is None:
        return ""
    name = item.text.strip()[:TEXT_CHARACTERS]
    smufl = item.attributes.get("smufl", "").strip()[:TEXT_CHARACTERS]
    if smufl and name in ("", "other"):
        return SMUFL + smufl
    return name


def read_marks(note: Item, tags: set[str]) -> NoteMarks:
    """Read what stands at a note; `tags` are the names of its children."""
    read = NoteMarks()
    read.found |= tags & {"chord", "grace"}
    for child in note.children:
        if child.tag == "tie":
            _take_tie(child, read)
        elif child.tag == "notehead":
            head = child.text.strip()[:TEXT_CHARACTERS]
            if head not in _PLAIN_HEADS:
                read.technique_list.append(f"notehead {head}")
        elif child.tag == "notations":
            for notation in child.children:
                _take_notation(notation, read)
    return read


def _take_tie(item: Item, read: NoteMarks) -> None:
    kind = item.attributes.get("type", "")
    if kind in ("start", "stop"):
        read.found.add(f"tie-{kind}")


def _take_notation(item: Item, read: NoteMarks) -> None:
    tag, kind = item.tag, item.attributes.get("type", "")
    if tag == "tied":
        _take_tie(item, read)
    elif tag == "slur" and kind in ("start", "stop"):
        read.slur_list.append(f"{kind} {item.attributes.get('number', '1')[:4]}")
    elif tag == "fermata":
        read.found.add("fermata")
    elif tag == "accidental-mark":
        read.trill_sign = read.trill_sign or read_sign(item)
    elif tag in ("glissando", "slide") and kind == "start":
        read.technique_list.append("glissando")
    elif tag == "other-notation":
        _take_text(item, read)
    elif tag == "dynamics":
        read.events += read_dynamics(item)
    elif tag in ("ornaments", "technical", "articulations"):
        _take_group(item, read)


def _take_group(item: Item, read: NoteMarks) -> None:
    """Take ornaments, techniques or articulations."""
    if item.tag == "articulations":
        read.articulation_list += [each.tag.replace("-", " ") for each in item.children]
        return
    take = _take_ornament if item.tag == "ornaments" else _take_technique
    for child in item.children:
        take(child, read)
    holes = "".join(_HOLES.get(hole.text_of("hole-closed"), "") for hole in item.all("hole"))
    if holes:
        read.fingering_list.append(holes)


def _take_text(item: Item, read: NoteMarks) -> None:
    text = " ".join(item.text.split())[:TEXT_CHARACTERS] or item.attributes.get("smufl", "")
    if text:
        read.technique_list.append(text[:TEXT_CHARACTERS])


def _take_ornament(item: Item, read: NoteMarks) -> None:
    tag, kind = item.tag, item.attributes.get("type", "")
    if tag == "trill-mark":
        read.is_trill = True
        read.found.add("trill")
    elif tag == "accidental-mark":
        read.trill_sign = read.trill_sign or read_sign(item)
    elif tag == "tremolo" and kind in ("start", "stop"):
        read.found.add(f"tremolo-{kind}")
    elif tag == "tremolo":
        read.technique_list.append(f"tremolo {item.text.strip()[:2]}".strip())
    elif tag == "other-ornament":
        _take_text(item, read)
    elif tag == "wavy-line":
        if kind == "start" and not read.is_trill:
            read.technique_list.append("wavy line")
    else:
        read.technique_list.append(tag.replace("-", " "))


def _take_technique(item: Item, read: NoteMarks) -> None:
    if item.tag == "fingering":
        text = " ".join(item.text.split())[:TEXT_CHARACTERS]
        if text:
            read.fingering_list.append(text)
    elif item.tag == "other-technical":
        _take_text(item, read)
    elif item.tag != "hole" and item.tag not in _NO_TECHNIQUE:
        read.technique_list.append(item.tag.replace("-", " "))


def read_dynamics(item: Item) -> list[tuple[str, str, int]]:
    """Return the dynamics of an element as events."""
    found = [
        each.text.strip() if each.tag == "other-dynamics" else each.tag for each in item.children
    ]
    return [("dynamics", each[:TEXT_CHARACTERS], 0) for each in found if each]
