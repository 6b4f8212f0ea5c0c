"""Tables as CSV files, for a spreadsheet.

Text from a player is text: a cell that a spreadsheet would read as a formula gets an apostrophe in
front. Source of the form: RFC 4180.
"""

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

Cell = str | int | float | None
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def write_csv(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Write a table; numbers stay numbers, text that looks like a formula is made plain text.

    >>> write_csv(("note", "cents"), [("=1+1", -4.5), ("D5", None)])
    "note,cents\\r\\n'=1+1,-4.5\\r\\nD5,\\r\\n"
    """
    written = StringIO()
    writer = csv.writer(written)
    writer.writerow([_plain(cell) for cell in header])
    writer.writerows([[_plain(cell) for cell in row] for row in rows])
    return written.getvalue()


def _plain(cell: Cell) -> Cell:
    if isinstance(cell, str) and cell.startswith(_FORMULA_STARTS):
        return f"'{cell}"
    return cell
