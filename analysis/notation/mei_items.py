"""XML of an MEI file, cut into items: definitions, measures, and where endings begin and stop.

MEI (Music Encoding Initiative, version 4 and 5, common notation). A measure holds all staves, so
it is one item; notes are counted by staff while they pass.
"""

from __future__ import annotations

from typing import Protocol
from xml.parsers import expat

from analysis.notation.archive import make_parser
from analysis.notation.bounds import ScoreBounds, ScoreRejected
from analysis.notation.xml_items import TEXT_CHARACTERS, Item

ITEM_TAGS = frozenset({"titleStmt", "scoreDef", "staffDef", "measure"})
COUNTED = frozenset({"note", "rest", "mRest", "space"})
# Of two readings of a place the one that is not the text is passed over.
_SKIPPED = frozenset({"rdg", "del", "orig"})


class MeiSink(Protocol):
    """Receiver of the items of an MEI file, in file order."""

    def take_item(self, item: Item) -> None:
        """Take a title statement, a definition or a measure."""

    def begin_ending(self, numbers: str) -> None:
        """Begin an ending."""

    def stop_ending(self) -> None:
        """Stop the ending."""


class MeiCutter:
    """Cuts an MEI file into items for a sink, within bounds."""

    def __init__(self, sink: MeiSink, bounds: ScoreBounds) -> None:
        self._sink = sink
        self._bounds = bounds
        self._depth = self._element_count = self._item_count = self._skipping = 0
        self._staff = ""
        self._path: list[Item] = []
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
            raise ScoreRejected("damaged", f"line {error.lineno}") from error

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        tag = name.rpartition(":")[2]
        self._depth += 1
        self._element_count += 1
        if self._depth > self._bounds.depth:
            raise ScoreRejected("deep", str(self._bounds.depth))
        if self._element_count > self._bounds.elements:
            raise ScoreRejected("large", f"{self._bounds.elements:,} elements")
        if self._skipping or tag in _SKIPPED:
            self._skipping += 1
            return
        if self._path:
            self._grow(tag, attributes)
        elif tag in ITEM_TAGS:
            self._item_count = 0
            self._path.append(Item(tag, attributes))
        elif tag == "ending":
            self._sink.begin_ending(attributes.get("n", ""))

    def _grow(self, tag: str, attributes: dict[str, str]) -> None:
        self._item_count += 1
        if self._item_count > self._bounds.item_elements:
            raise ScoreRejected("large", f"{self._bounds.item_elements:,} elements in one bar")
        if tag == "staff":
            self._staff = attributes.get("n", "1")
        elif tag in COUNTED:
            count = self.note_counts[self._staff] = self.note_counts.get(self._staff, 0) + 1
            if count > self._bounds.notes:
                raise ScoreRejected("notes", f"{self._bounds.notes:,}")
            if len(self.note_counts) > self._bounds.parts:
                raise ScoreRejected("parts", str(self._bounds.parts))
        item = Item(tag, attributes)
        self._path[-1].children.append(item)
        self._path.append(item)

    def _end(self, name: str) -> None:
        self._depth -= 1
        if self._skipping:
            self._skipping -= 1
        elif self._path:
            item = self._path.pop()
            if not self._path:
                self._sink.take_item(item)
        elif name.rpartition(":")[2] == "ending":
            self._sink.stop_ending()

    def _take_text(self, text: str) -> None:
        if self._path and not self._skipping:
            item = self._path[-1]
            if len(item.text) < TEXT_CHARACTERS:
                item.text += text[:TEXT_CHARACTERS]
