"""Table of what is still to do for a piece, as CSV: a row a note, the most pressing first."""

from analysis.pitch import format_pitch
from webapp.drawing.figures import round_uncertainty
from webapp.notebook.csv_tables import Cell, write_csv
from webapp.notebook.pieces.needs import name_bars
from webapp.notebook.pieces.todo import PieceTodo, TodoNote

HEADER = (
    "note", "written", "count", "bars", "shortest_s", "longest_s", "shortest_quarters",
    "longest_quarters", "slurred", "tongued", "dynamics", "tolerance_cents", "tolerance",
    "standing", "offset_cents", "uncertainty_cents", "fingering", "settled", "reason",
)  # fmt: skip


def write_todo_table(todo: PieceTodo) -> str:
    """Write what is still to do; multiphonics and the like stand in no row."""
    return write_csv(HEADER, [_list_cells(each, todo) for each in todo.notes])


def _list_cells(note: TodoNote, todo: PieceTodo) -> list[Cell]:
    need, best = note.need, note.best
    uncertainty = note.softly.uncertainty_cents if note.softly else None
    if uncertainty is None and best is not None:
        uncertainty = best.facts.uncertainty_cents
    return [
        format_pitch(need.written.to_be_read(), names=todo.writing.names, style="words"),
        need.written.canonical,
        need.count,
        name_bars(need.bars, todo.part),
        _round(need.shortest_s, 2),
        _round(need.longest_s, 2),
        None if need.shortest_quarters is None else str(need.shortest_quarters),
        None if need.longest_quarters is None else str(need.longest_quarters),
        need.slurred_count,
        need.tongued_count,
        " ".join(need.dynamics),
        note.answer.note.tolerance_cents,
        note.tolerance_words,
        note.standing_words,
        None if best is None else _round(best.offset_cents, 1),
        None if uncertainty is None else round_uncertainty(uncertainty),
        "" if best is None else best.facts.keys_text,
        note.settled.settlement.words if note.settled else "",
        note.settled.reason if note.settled else "",
    ]


def _round(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals)
