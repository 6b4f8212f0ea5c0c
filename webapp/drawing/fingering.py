"""The drawing of a fingering: the same on the screen, on paper and in a file of its own.

The picture is the player's own view: what the left hand works lies left. A circle is a finger's
hole, a pill a key that opens a pad (raises), a square-cornered box a key that closes one (lowers);
the left edge is behind the tube, and what lies there has a thin double line while open. Down is
ink, up an outline, a shaded hole has its lower half inked, a vented plate is ink round a small
hole. What differs from the base fingering has a halo of its own form. Nothing depends on colour.
Places and outlines come from the layout alone.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from analysis.keywork import (
    Acts,
    Hand,
    Key,
    KeyStates,
    Layout,
    Outline,
    State,
    describe_changes,
    find_changes,
    format_fingering,
    spell_out,
)
from analysis.pitch import NoteNames
from webapp.drawing.fingering_labels import key_label
from webapp.drawing.fingering_profiles import PENS, Pen, Profile
from webapp.drawing.fingering_shapes import (
    INK,
    PAPER,
    grown,
    half_width,
    lower_half,
    middle,
    mirrored,
    shape,
    small_hole,
)
from webapp.drawing.sign_text import draw_runs, split_signs, write_runs
from webapp.drawing.svg import element, render, svg_root

# How far below the middle of a label its baseline lies, as a share of the type size.
BASELINE_SHARE = 0.36

# A label beside a group: its distance, and how many letters it has in full size.
_BESIDE_GAP, _SHORT_LABEL = 9.0, 2

# States that ink a key in part.
PARTLY = frozenset({State.SHADED, State.VENTED})

# The chart's text face first; a browser without it takes its own.
FONT_FAMILY = "FiraGO, sans-serif"


def draw_fingering(
    fingering: KeyStates,
    *,
    base: KeyStates | None = None,
    profile: Profile = Profile.STAND,
    is_reduced: bool = False,
    is_mirrored: bool = False,
    names: NoteNames = NoteNames.ENGLISH,
    title: str | None = None,
    id_prefix: str = "fingering",
) -> str:
    """Draw a fingering as SVG.

    `base` marks what changed against it; `is_reduced` leaves out the keys that are at rest (the
    SMALL profile always does); `is_mirrored` is the view of a teacher who faces the player.
    `title` names the picture and is the text form when left out; `id_prefix` must be unique on
    the page. Raises `DifferentLayouts` if the base belongs to another layout.
    """
    changed = frozenset(change.key.id for change in find_changes(base, fingering)) if base else None
    sheet = Sheet(
        layout=fingering.layout,
        pen=PENS[profile],
        is_mirrored=is_mirrored,
        names=names,
    )
    x, y, width, height = fingering.layout.view_box
    margin = sheet.pen.margin
    root = svg_root(
        (x - margin, y, width + 2 * margin, height),
        title=title or format_fingering(fingering),
        desc=describe_picture(fingering, base),
        id_prefix=id_prefix,
        class_=f"fingering fingering-{profile}",
    )
    root.extend(sheet.guides())
    root.extend(sheet.captions())
    shown = _choose_marks(fingering, changed or frozenset(), is_reduced or profile is Profile.SMALL)
    root.extend(_in_three_passes(sheet, shown))
    root.extend(sheet.labels_beside(shown))
    return render(root)


def describe_picture(fingering: KeyStates, base: KeyStates | None) -> str:
    """Say in words what the picture shows, for its description."""
    words = spell_out(fingering)
    if base is None:
        return words
    changes = describe_changes(find_changes(base, fingering))
    return f"{words}. Against {format_fingering(base)}: {changes}"


# A thin double line: two lines of ink and the paper between them, one as wide as the other.
_LINES_BEHIND = 3


@dataclass(frozen=True, slots=True)
class Mark:
    """One key as it is to be drawn."""

    key: Key
    state: State
    is_changed: bool
    is_neighbour: bool


def _choose_marks(
    fingering: KeyStates, changed: frozenset[str], is_reduced: bool
) -> tuple[Mark, ...]:
    layout = fingering.layout
    live = {key.id for key in fingering.pressed} | changed
    live_groups = {layout.key(key_id).group for key_id in live}
    holes = {*layout.text.left, *layout.text.right}
    marks = []
    for key, state in zip(layout.keys, fingering.states, strict=True):
        is_neighbour = is_reduced and key.cluster and key.id not in live
        # An open thumb hole is worth showing when its thumb is at work on another key.
        is_open_thumb = key.acts is Acts.HOLE and key.group in live_groups
        is_wanted = key.id in live or key.id in holes or is_open_thumb
        if is_wanted or not is_reduced or (is_neighbour and key.group in live_groups):
            marks.append(Mark(key, state, key.id in changed, is_neighbour))
    return tuple(marks)


def _in_three_passes(sheet: Sheet, marks: tuple[Mark, ...]) -> Iterator[ET.Element]:
    """Draw all halos, then all their gaps, then the keys: neighbours merge and nothing is cut."""
    passes: tuple[Callable[[Mark], Iterator[ET.Element]], ...] = (
        sheet.halo,
        sheet.halo_gap,
        sheet.body,
    )
    for draw in passes:
        for mark in marks:
            yield from draw(mark)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Draws the parts of one picture with one pen, from the player's side or mirrored."""

    layout: Layout
    pen: Pen
    is_mirrored: bool
    names: NoteNames

    def outline(self, key: Key) -> Outline:
        """Find where a key is drawn."""
        return mirrored(key.outline, self._axis_sum) if self.is_mirrored else key.outline

    def stroke(self, mark: Mark) -> float:
        """Find how thick a key's line is."""
        if mark.key.acts is Acts.HOLE:
            return self.pen.hole
        return self.pen.neighbour if mark.is_neighbour else self.pen.key

    def halo(self, mark: Mark) -> Iterator[ET.Element]:
        """Draw the halo of a changed key, filled."""
        if mark.is_changed:
            reach = self.stroke(mark) / 2 + self.pen.halo_gap + self.pen.halo_line
            yield shape(grown(self.outline(mark.key), reach), fill=INK, class_="ink")

    def halo_gap(self, mark: Mark) -> Iterator[ET.Element]:
        """Clear the gap between the halo and its key."""
        if mark.is_changed:
            reach = self.stroke(mark) / 2 + self.pen.halo_gap
            yield shape(grown(self.outline(mark.key), reach), fill=PAPER, class_="paper")

    def body(self, mark: Mark) -> Iterator[ET.Element]:
        """Draw a key in its state, with its label."""
        outline, stroke = self._line(mark)
        is_down = mark.state in {State.DOWN, State.VENTED}
        yield shape(
            outline,
            fill=INK if is_down else PAPER,
            stroke=INK,
            stroke_width=stroke,
            class_="ink" if is_down else "paper",
        )
        yield from self.parting(mark)
        if mark.state is State.SHADED:
            yield lower_half(outline, fill=INK, class_="ink")
        elif mark.state is State.VENTED:
            yield small_hole(outline, fill=PAPER, class_="paper")
        yield from self.label(mark)

    def parting(self, mark: Mark) -> Iterator[ET.Element]:
        """Draw the paper between the two thin lines round an open key behind the tube."""
        if self._is_behind(mark):
            yield shape(
                self._line(mark)[0],
                fill="none",
                stroke=PAPER,
                stroke_width=self.pen.neighbour,
                class_="parting",
            )

    def label(self, mark: Mark) -> Iterator[ET.Element]:
        """Print the name of a key on it or beside it; one inked in part has no room for it."""
        is_inside = mark.key.label_at is None
        if not self.pen.label_size or (is_inside and mark.state in PARTLY):
            return
        x, y = mark.key.label_at or middle(mark.key.outline)
        is_on_ink = is_inside and mark.state is State.DOWN
        yield self._text(
            key_label(mark.key, self.names),
            (x, y + BASELINE_SHARE * self.pen.label_size),
            size=self.pen.label_size,
            fill=PAPER if is_on_ink else INK,
        )

    def labels_beside(self, marks: tuple[Mark, ...]) -> Iterator[ET.Element]:
        """Print the names of live keys that lie in groups, at the outer side of their group."""
        if not self.pen.beside_size:
            return
        live = [each.key for each in marks if each.key.cluster and not each.is_neighbour]
        rows: dict[tuple[str, float], list[Key]] = {}
        for key in live:
            rows.setdefault((key.group, middle(key.outline)[1]), []).append(key)
        for (group, y), keys in rows.items():
            left, right = self._edges(group)
            is_left = left + right < self._axis_sum
            text = " ".join(key_label(key, self.names) for key in keys)
            size = self.pen.beside_size * (1.0 if len(text) <= _SHORT_LABEL else 0.72)
            yield self._text(
                text,
                (
                    left - _BESIDE_GAP if is_left else right + _BESIDE_GAP,
                    y + BASELINE_SHARE * size,
                ),
                size=size,
                anchor="end" if is_left != self.is_mirrored else "start",
            )

    def _edges(self, group: str) -> tuple[float, float]:
        """Find the left and right edge of a group of keys."""
        outlines = [each.outline for each in self.layout.keys if each.group == group]
        reaches = [middle(each)[0] for each in outlines], [half_width(each) for each in outlines]
        lefts = [x - half for x, half in zip(*reaches, strict=True)]
        rights = [x + half for x, half in zip(*reaches, strict=True)]
        return min(lefts), max(rights)

    def guides(self) -> Iterator[ET.Element]:
        """Draw the lines that are no keys, such as the joint."""
        for guide in self.layout.guides:
            yield element(
                "line",
                x1=self._x(guide.x1),
                y1=guide.y1,
                x2=self._x(guide.x2),
                y2=guide.y2,
                stroke=INK,
                stroke_width=self.pen.key,
            )

    def captions(self) -> Iterator[ET.Element]:
        """Print the names of the hands, on the largest drawing only."""
        if not self.pen.caption_size:
            return
        for caption in self.layout.captions:
            yield self._text(
                "left" if caption.hand is Hand.LEFT else "right",
                (caption.x, caption.y + BASELINE_SHARE * self.pen.caption_size),
                size=self.pen.caption_size,
                anchor="end" if self.is_mirrored else "start",
            )

    def _text(
        self,
        text: str,
        place: tuple[float, float],
        *,
        size: float,
        fill: str = INK,
        anchor: str = "middle",
    ) -> ET.Element:
        runs, x, y = split_signs(text), self._x(place[0]), place[1]
        if self.pen.is_in_page:
            return write_runs(runs, x=x, y=y, size=size, fill=fill, anchor=anchor)
        return draw_runs(runs, x=x, y=y, size=size, fill=fill, family=FONT_FAMILY, anchor=anchor)

    @property
    def _axis_sum(self) -> float:
        x, _, width, _ = self.layout.view_box
        return 2 * x + width

    def _x(self, x: float) -> float:
        return self._axis_sum - x if self.is_mirrored else x

    def _line(self, mark: Mark) -> tuple[Outline, float]:
        """Find where the line round a key runs, and how thick; a double one reaches inwards."""
        outline, stroke = self.outline(mark.key), self.stroke(mark)
        if not self._is_behind(mark):
            return outline, stroke
        double = _LINES_BEHIND * self.pen.neighbour
        return grown(outline, (stroke - double) / 2), double

    @staticmethod
    def _is_behind(mark: Mark) -> bool:
        """Whether a key lies behind the tube and is open, which a thin double line tells."""
        return mark.key.is_behind and mark.state is State.UP
