import numpy as np

from analysis.finder.row_table import RowTable


def test_rows_come_back_by_their_codes() -> None:
    table = RowTable(2)
    codes = np.array([40, 7, 2**63 + 5], dtype=np.uint64)
    rows = np.array([[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]])
    assert table.list_missing(codes).tolist() == [1, 0, 2]
    table.add(codes, rows)
    table.add(codes[:1], rows[1:2])  # what is there stays
    assert len(table) == 3
    asked = np.array([7, 2**63 + 5, 7, 40], dtype=np.uint64)
    assert table.find(asked).tolist() == [[3.0, 4.0], [5.0, 6.0], [3.0, 4.0], [1.0, 2.0]]
    assert table.list_missing(np.array([7, 8, 8], dtype=np.uint64)).tolist() == [1]
    assert table.find(asked[:0]).shape == (0, 2)
