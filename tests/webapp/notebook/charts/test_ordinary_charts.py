"""The chart of ordinary fingerings of every layout."""

import pytest

from analysis.keywork import layout_ids, load_layout, ordinary_fingerings
from analysis.pitch import KINDS
from tests.pdf_text import read_text
from tests.thinning import every_daily
from webapp.notebook.charts.ordinary_charts import make_ordinary_chart
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.preferences.preferences import Writing


@pytest.mark.parametrize("layout_id", every_daily(6, layout_ids()))
def test_every_layout_prints_all_its_ordinary_fingerings_and_where_they_come_from(
    layout_id: str,
) -> None:
    layout = load_layout(layout_id)
    made = make_ordinary_chart(layout, writing=Writing())
    text = read_text(made.pdf)
    assert made.entry_count == len(ordinary_fingerings(layout))
    assert text.count("usual fingering") == sum(
        each.choice == 1 for each in ordinary_fingerings(layout)
    )
    assert "from memory" in text
    assert layout.provenance[:50] in text
    joined = text.replace(" ", "")  # a name may be broken at its hyphen
    assert all(KINDS[each].name.replace(" ", "") in joined for each in layout.kinds)
    for word in ("A = ", "as of", "not measured", "Figures are"):
        assert word not in text, "nothing of it was measured"


def test_the_same_layout_prints_the_same_bytes() -> None:
    layout = load_layout("soprano-german")
    first, second = (make_ordinary_chart(layout, writing=Writing()) for _ in range(2))
    assert first == second
    letter = make_ordinary_chart(layout, paper=Paper.LETTER, writing=Writing())
    assert letter.pdf != first.pdf
    assert first.file_name == "ordinary-fingerings-soprano-german.pdf"
