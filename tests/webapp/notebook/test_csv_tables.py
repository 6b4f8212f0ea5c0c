"""Tables for spreadsheets: RFC 4180, and text that never becomes a formula."""

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from webapp.notebook.csv_tables import write_csv

TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"))


@given(st.lists(st.lists(TEXT, min_size=2, max_size=2), max_size=5))
def test_every_text_comes_back_and_none_begins_like_a_formula(rows: list[list[str]]) -> None:
    read = list(csv.reader(io.StringIO(write_csv(("a", "b"), rows), newline="")))[1:]
    cells = [cell for row in read for cell in row]
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)
    assert [cell.removeprefix("'") for cell in cells] == [
        cell.removeprefix("'") for row in rows for cell in row
    ]


def test_numbers_stay_numbers() -> None:
    assert write_csv(("cents",), [(-4.5,)]) == "cents\r\n-4.5\r\n"
