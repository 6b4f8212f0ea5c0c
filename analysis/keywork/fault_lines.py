"""Line numbers of faults in the text of a layout, so that whoever edits it finds the line."""

from __future__ import annotations

import re

# What errors call an entry, the table of the file it stands in, and the field it is known by.
_TABLES = {
    "key": ("keys", "id"),
    "hole": ("holes", "id"),
    "fingering": ("fingerings", "note"),
    "caption": ("captions", "hand"),
}
_ENTRY = re.compile(r"(key|hole|fingering|caption) '([^']*)'")
_PART = re.compile(r", (outline|text|remove)\b")
_FIELD = re.compile(r"field '([^']*)'")
_CHOICE = re.compile(r"choice (\d+)")
_HEADER = re.compile(r"\s*\[+\s*([\w.]+)\s*\]+")


def find_line(text: str, place: str) -> int | None:
    """Find the line of a text that an error's place means.

    `place` is `LayoutError.place`, such as "key 'thumb', field 'behind'". Returns the line of the
    field, else of the table it belongs to, counted from 1; None if there is no such table.

    >>> find_line('id = "x"\\n[[keys]]\\nid = "a"\\nkind = "pin"', "key 'a', field 'kind'")
    4
    """
    lines = text.splitlines()
    start, end = 0, _next_header(lines, 0)
    entry = _ENTRY.match(place)
    if entry is not None:
        found = _find_entry(lines, place, called=entry[1], title=entry[2])
        if found is None:
            return None
        start, end = found
    elif place.startswith(("text", "remove")):
        start = next((n for n, line in enumerate(lines) if _names(line, place)), 0)
        end = _next_header(lines, start + 1)
    return _find_field(lines[start:end], place, start)


def _find_entry(lines: list[str], place: str, *, called: str, title: str) -> tuple[int, int] | None:
    table, known_by = _TABLES[called]
    found = None
    for start, line in enumerate(lines):
        if _header(line) != table:
            continue
        end = _next_header(lines, start + 1)
        block = lines[start:end]
        if any(_is_assignment(one, known_by, title) for one in block) and _has_choice(block, place):
            found = (start, end)  # The last one: an id that is given twice is wrong there.
    return found


def _find_field(lines: list[str], place: str, start: int) -> int | None:
    part = _PART.search(place)
    field = _FIELD.search(place)
    names = [match[1] for match in (part, field) if match is not None]
    for name in names:
        for number, line in enumerate(lines, start=start + 1):
            if re.match(rf"\s*{re.escape(name)}\s*=", line):
                return number
    return start + 1 if _ENTRY.match(place) or start else None


def _has_choice(block: list[str], place: str) -> bool:
    choice = _CHOICE.search(place)
    if choice is None:
        return True
    return any(re.match(rf"\s*choice\s*=\s*{choice[1]}\s*(#|$)", line) for line in block)


def _is_assignment(line: str, name: str, value: str) -> bool:
    match = re.match(rf"""\s*{name}\s*=\s*["']([^"']*)["']""", line)
    return match is not None and match[1] == value


def _header(line: str) -> str | None:
    match = _HEADER.match(line)
    return match[1] if match else None


def _names(line: str, place: str) -> bool:
    header = _header(line)
    return header is not None and place.startswith(header)


def _next_header(lines: list[str], start: int) -> int:
    return next((n for n in range(start, len(lines)) if _header(lines[n])), len(lines))
