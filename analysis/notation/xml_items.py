"""XML of a score, cut into items: one small tree for each note, direction or other child of a bar.

Partwise files (part over measure) and timewise ones (measure over part) come out alike. Only the
items of the part that is wanted are built; of the others notes are counted. The whole text is fed
at once: in pieces, expat reads a long attribute again and again.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol
from xml.parsers import expat

from analysis.notation.archive import make_parser
from analysis.notation.bounds import ScoreBounds, ScoreRejected

ROOTS = {"score-partwise": ("part", "measure"), "score-timewise": ("measure", "part")}
OTHER_ROOTS = {
    "opus": "a list of scores and no score",
    "html": "a web page",
    "svg": "a picture",
    "container": "the list of an archive and no score",
}
HEADERS = frozenset(
    {"work", "movement-title", "identification", "defaults", "part-list", "movement-number"}
)
TEXT_CHARACTERS = 2_000
_HEAD_BYTES = 1 << 16
_BAR_LEVEL = 3
_ITEM_LEVEL = 4


class Item:
    """An element with its text and children."""

    __slots__ = ("attributes", "children", "tag", "text")

    def __init__(self, tag: str, attributes: dict[str, str]) -> None:
        self.tag = tag
        self.attributes = attributes
        self.text = ""
        self.children: list[Item] = []

    def first(self, tag: str) -> Item | None:
        """Return the first child of that name."""
        for child in self.children:
            if child.tag == tag:
                return child
        return None

    def all(self, tag: str) -> Iterator[Item]:
        """Every child of that name."""
        return (child for child in self.children if child.tag == tag)

    def text_of(self, tag: str) -> str:
        """Return the text of the first child of that name, '' if there is none."""
        child = self.first(tag)
        return child.text.strip() if child else ""


class _RootFound(Exception):
    """Ends the look for the root element."""


def find_root(content: bytes) -> str:
    """Return the name of the root element, '' if none begins in the first 64 KB."""

    def stop(tag: str, _: dict[str, str]) -> None:
        raise _RootFound(tag)

    parser = make_parser()
    parser.StartElementHandler = stop
    try:
        parser.Parse(content[:_HEAD_BYTES], False)
    except _RootFound as found:
        return str(found.args[0])
    except (expat.ExpatError, LookupError, UnicodeError, ValueError):
        return ""
    return ""


class ItemSink(Protocol):
    """Receiver of the items of one part, in file order."""

    def take_header(self, item: Item) -> None:
        """Take what stands before the music."""

    def wants(self, part_id: str) -> bool:
        """Whether this is the part whose items are wanted."""

    def begin_bar(self, attributes: dict[str, str]) -> None:
        """Begin a bar of the wanted part."""

    def take_item(self, item: Item) -> None:
        """Take a child of the bar."""

    def end_bar(self) -> None:
        """End the bar."""


class ItemCutter:
    """Cuts the XML of a score into items for a sink, within bounds."""

    def __init__(self, sink: ItemSink, bounds: ScoreBounds) -> None:
        self._sink = sink
        self._bounds = bounds
        self._depth = 0
        self._element_count = 0
        self._item_count = 0
        self._outer = self._inner = ""
        self._part_id = ""
        self._bar_attributes: dict[str, str] = {}
        self._is_wanted = self._is_in_outer = self._is_in_bar = False
        self._path: list[Item] = []  # open elements of the item
        self.note_counts: dict[str, int] = {}

    def cut(self, content: bytes) -> None:
        """Cut a whole file; raises `ScoreRejected`."""
        parser = make_parser()
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._take_text
        try:
            parser.Parse(content, True)
        except expat.ExpatError as error:
            reason = "damaged" if self._outer else "not xml"
            raise ScoreRejected(reason, f"line {error.lineno}") from error
        except (LookupError, UnicodeError, ValueError) as error:
            if self._element_count:
                raise
            raise ScoreRejected("encoding", "a coding that is not known") from error

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        self._element_count += 1
        if self._depth > self._bounds.depth:
            raise ScoreRejected("deep", str(self._bounds.depth))
        if self._element_count > self._bounds.elements:
            raise ScoreRejected("large", f"{self._bounds.elements:,} elements")
        if self._path:
            self._item_count += 1
            if self._item_count > self._bounds.item_elements:
                raise ScoreRejected("large", f"{self._bounds.item_elements:,} elements in one note")
            item = Item(tag, attributes)
            self._path[-1].children.append(item)
            self._path.append(item)
        elif self._depth > _BAR_LEVEL:
            if self._is_in_bar and self._depth == _ITEM_LEVEL:
                self._start_item(tag, attributes)
        elif self._depth == 1:
            self._start_root(tag)
        else:
            self._start_level(tag, attributes)

    def _start_root(self, tag: str) -> None:
        if tag not in ROOTS:
            name = tag.rpartition(":")[2]
            known = OTHER_ROOTS.get(name)
            shown = "".join(each for each in name[:30] if each.isprintable())
            raise ScoreRejected("root", known or f"XML of another kind (“{shown}”)")
        self._outer, self._inner = ROOTS[tag]

    def _start_level(self, tag: str, attributes: dict[str, str]) -> None:
        """Begin a part or a measure, or what stands before them."""
        if self._depth == 2 and tag in HEADERS:
            self._open(tag, attributes)
        if self._depth == 2:
            self._is_in_outer = tag == self._outer
        if not self._is_in_outer or (self._depth == _BAR_LEVEL and tag != self._inner):
            return
        if tag == "part":
            self._part_id = attributes.get("id", "")
            if self._part_id not in self.note_counts:
                self.note_counts[self._part_id] = 0
                if len(self.note_counts) > self._bounds.parts:
                    raise ScoreRejected("parts", str(self._bounds.parts))
            self._is_wanted = self._sink.wants(self._part_id)
        else:
            self._bar_attributes = attributes
        if self._depth == _BAR_LEVEL:
            self._is_in_bar = True
            if self._is_wanted:
                self._sink.begin_bar(self._bar_attributes)

    def _start_item(self, tag: str, attributes: dict[str, str]) -> None:
        if tag == "note":
            count = self.note_counts[self._part_id] = self.note_counts[self._part_id] + 1
            if count > self._bounds.notes:
                raise ScoreRejected("notes", f"{self._bounds.notes:,}")
        if self._is_wanted:
            self._open(tag, attributes)

    def _open(self, tag: str, attributes: dict[str, str]) -> None:
        self._item_count = 0
        self._path.append(Item(tag, attributes))

    def _end(self, _: str) -> None:
        self._depth -= 1
        if self._path:
            item = self._path.pop()
            if not self._path:
                if self._depth == 1:
                    self._sink.take_header(item)
                else:
                    self._sink.take_item(item)
        elif self._is_in_bar and self._depth == _BAR_LEVEL - 1:
            self._is_in_bar = False
            if self._is_wanted:
                self._sink.end_bar()

    def _take_text(self, text: str) -> None:
        if self._path:
            item = self._path[-1]
            if len(item.text) < TEXT_CHARACTERS:
                item.text += text[:TEXT_CHARACTERS]
