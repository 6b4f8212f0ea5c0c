"""Errors about keywork and fingerings.

The tree::

    AnalysisError
    +-- KeyworkError
        +-- LayoutError             a layout file that can't be used: names the key or field
        +-- KeyNotOptional          a key switched off that every such instrument has
        +-- UnknownLayout           no layout of that name
        +-- UnknownKey              no key of that name on this layout
        +-- StateNotAllowed         a key asked to take a state that it does not have
        +-- DifferentLayouts        two fingerings of different instruments can't be compared
        +-- UnreadableFingering     typed text that is no fingering: has the character's position
        +-- ImpossibleFingering     key states that two hands can't hold
"""

from __future__ import annotations

from collections.abc import Iterable

from analysis.errors import AnalysisError


class KeyworkError(AnalysisError):
    """Base of all errors about keywork."""


class LayoutError(KeyworkError):
    """A layout can't be used; `layout_id`, `place` (a key, hole or field) and `line` say where.

    `line` counts from 1 in the text that was read; None if the fault has no line of its own.
    """

    def __init__(
        self, layout_id: str, place: str, problem: str, *, line: int | None = None
    ) -> None:
        self.layout_id = layout_id
        self.place = place
        self.problem = problem
        self.line = line
        where = place if line is None else f"{place} (line {line})"
        super().__init__(f"The layout {layout_id!r} can't be used: {where}: {problem}")


class KeyNotOptional(KeyworkError):
    """A key can't be switched off: it is not among the layout's optional keys."""

    def __init__(self, key_name: str, layout_name: str, optional: Iterable[str]) -> None:
        self.key_name = key_name
        choices = ", ".join(optional) or "none"
        super().__init__(
            f"The {key_name} can't be switched off on {layout_name}. Keys that can: {choices}."
        )


class UnknownLayout(KeyworkError):
    """There is no layout of this name."""

    def __init__(self, layout_id: str, known: Iterable[str]) -> None:
        self.layout_id = layout_id
        super().__init__(f"There is no layout {layout_id!r}. Known layouts: {', '.join(known)}.")


class UnknownKey(KeyworkError):
    """The layout has no key of this name."""

    def __init__(self, key_id: str, layout_name: str) -> None:
        self.key_id = key_id
        super().__init__(f"{layout_name} has no key {key_id!r}. Choose one of the layout's keys.")


class StateNotAllowed(KeyworkError):
    """A key was asked to take a state that it does not have."""

    def __init__(self, key_name: str, state: str, allowed: Iterable[str]) -> None:
        self.key_name = key_name
        self.state = state
        super().__init__(f"The {key_name} can't be {state}; it can be {' or '.join(allowed)}.")


class DifferentLayouts(KeyworkError):
    """Two fingerings that belong to different layouts can't be compared."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(
            f"These fingerings belong to different keywork ({first}; {second}). "
            "Compare fingerings of one instrument."
        )


class UnreadableFingering(KeyworkError):
    """Typed text that can't be read as a fingering.

    `position` counts characters of `text` from 0 and points at the first one that can't be read;
    `known` lists what could stand there.
    """

    def __init__(
        self, text: str, position: int, problem: str, *, known: tuple[str, ...] = ()
    ) -> None:
        self.text = text
        self.position = position
        self.problem = problem
        self.known = known
        hint = f" Known here: {', '.join(known)}." if known else ""
        super().__init__(f"At character {position + 1}: {problem}{hint}")


class ImpossibleFingering(KeyworkError):
    """Key states that two hands can't hold; `reasons` has one sentence for each conflict."""

    def __init__(self, reasons: tuple[str, ...]) -> None:
        self.reasons = reasons
        super().__init__(" ".join(reasons))
