"""The chart as PDF: what is on it, that it is tagged, that nothing written breaks it."""

import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import pymupdf_fonts
import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, StreamObject

from analysis.pitch import SIGN_SYSTEMS, SystemId, WrittenPitch
from tests.pdf_text import read_pages
from tests.steady_examples import any_text
from tests.thinning import examples
from tests.webapp.notebook.charts.pdf.samples import (
    ENTRY,
    SPEC,
    chart_of,
    dictionary_in,
    entry,
    ordinary,
    read,
    text_of,
)
from webapp.notebook.charts.pdf import ChartEntry, ChartPrediction, ChartSpec, Paper, render_chart
from webapp.notebook.charts.pdf.feed import EMPTY_CHART, feed_chart
from webapp.notebook.charts.pdf.legend import CAUTION, PREDICTED

# A code point of the last private plane: no font of any computer has a letter for it.
WITHOUT_ANY_FONT = "\U0010fffd"


def is_accessible(pdf: bytes) -> bool:
    """Whether the file says that it meets PDF/UA-1 (ISO 14289-1, section 5: pdfuaid:part)."""
    metadata = dictionary_in(read(pdf).root_object, "/Metadata")
    assert isinstance(metadata, StreamObject)
    return b"<pdfuaid:part>1</pdfuaid:part>" in metadata.get_data()


def is_tagged(pdf: bytes) -> bool:
    """Whether the file carries its structure (ISO 32000-1, 14.7.1: Marked)."""
    return bool(dictionary_in(read(pdf).root_object, "/MarkInfo")["/Marked"])


def alternative_texts(pdf: bytes) -> list[str]:
    """The alternative text of every tagged picture, in the order of the structure tree."""
    found: list[str] = []

    def walk(node: object) -> None:
        node = node.get_object() if isinstance(node, IndirectObject) else node
        if isinstance(node, ArrayObject):
            for child in node:
                walk(child)
        elif isinstance(node, DictionaryObject):
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            if "/K" in node:
                walk(node["/K"])

    walk(dictionary_in(read(pdf).root_object, "/StructTreeRoot")["/K"])
    return found


def test_an_entry_shows_pitch_offset_evidence_words_and_notes() -> None:
    text = text_of(render_chart(SPEC))

    for shown in (
        "Quarter tones for winter",
        "D quarter-flat 5",
        "−3.2 ± 1.1 cents",
        "3 takes · half-hole",
        "resistance 4 of 5",
        "raised from the lower neighbour",
        "shades left first finger",
        "Speaks softly.",
        "slow · trill",
    ):
        assert shown in text


def test_the_foot_has_instrument_set_up_tuning_date_and_page() -> None:
    foot = (
        "Invented B-flat · mouthpiece: open; reed: 3 · A = 442 Hz · as of 14 March 2026 page 1 of 1"
    )

    assert foot in text_of(render_chart(SPEC))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"offset_cents": None, "uncertainty_cents": None, "take_count": 0}, "not tried"),
        ({"does_not_speak": True}, "does not speak"),
        ({"uncertainty_cents": None, "take_count": 1}, "−3.2 cents"),
        ({"take_count": 1}, "1 take "),
    ],
)
def test_missing_evidence_is_told_in_words(changes: dict[str, object], words: str) -> None:
    assert words in text_of(render_chart(chart_of(entry(**changes))))


def test_the_file_is_tagged_titled_and_in_english() -> None:
    pdf = render_chart(SPEC)
    root = read(pdf).root_object
    metadata = read(pdf).metadata

    assert is_tagged(pdf)
    assert str(root["/Lang"]) == "en"
    assert metadata is not None
    assert metadata.title == "Quarter tones for winter"
    assert is_accessible(pdf)


def test_every_picture_has_its_words() -> None:
    texts = alternative_texts(render_chart(SPEC))

    assert "Staff: D quarter-flat 5" in texts
    assert any(text.startswith("Fingering: ") and "shade" in text for text in texts)
    assert any(text.startswith("−3.2 cents, give or take 1.1") for text in texts)
    assert "quarter-flat (−50 cents)" in texts


# ISO 216 A4 is 210 mm by 297 mm, US Letter (ANSI A) 8.5 in by 11 in; a point is 1/72 inch.
@pytest.mark.parametrize(
    ("paper", "width_pt", "height_pt"),
    [(Paper.A4, 210 / 25.4 * 72, 297 / 25.4 * 72), (Paper.LETTER, 8.5 * 72, 11 * 72)],
)
def test_the_sheet_is_the_one_chosen(paper: Paper, width_pt: float, height_pt: float) -> None:
    page = read(render_chart(chart_of(ENTRY, paper=paper))).pages[0]

    assert float(page.mediabox.width) == pytest.approx(width_pt, abs=0.1)
    assert float(page.mediabox.height) == pytest.approx(height_pt, abs=0.1)


def test_the_same_chart_has_the_same_bytes() -> None:
    assert render_chart(SPEC) == render_chart(replace(SPEC))


def test_another_date_gives_another_file() -> None:
    assert render_chart(SPEC) != render_chart(replace(SPEC, as_of=date(2026, 3, 15)))


def test_a_long_chart_has_all_entries_and_numbers_its_pages() -> None:
    pdf = render_chart(chart_of(*(entry(notes=f"entry {number}.") for number in range(45))))
    pages = read(pdf).pages
    text = text_of(pdf)

    assert 5 <= len(pages) <= 9
    assert all(f"entry {number}." in text for number in range(45))
    assert all(
        f"page {n} of {len(pages)}" in page for n, page in enumerate(read_pages(pdf), start=1)
    )


def test_entries_stand_in_the_order_given() -> None:
    first, second = entry(notes="printed first"), entry(notes="printed second")

    text = text_of(render_chart(chart_of(second, first)))

    assert text.index("printed second") < text.index("printed first")


def test_an_empty_chart_is_a_page_that_says_so() -> None:
    pdf = render_chart(chart_of())

    assert len(read(pdf).pages) == 1
    assert EMPTY_CHART in text_of(pdf)
    assert "page 1 of 1" in text_of(pdf)
    assert CAUTION not in text_of(pdf)


def test_the_caution_stands_once() -> None:
    assert text_of(render_chart(chart_of(*[ENTRY] * 30))).count(CAUTION) == 1


def test_the_legend_names_the_signs_that_the_chart_uses_and_no_others() -> None:
    arrows = chart_of(
        entry(written=WrittenPitch.from_canonical("D5-25c")),
        accidental_style=SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH],
    )

    assert "(−25 cents)" in text_of(render_chart(arrows))
    assert "(−50 cents)" not in text_of(render_chart(arrows))
    assert "(−50 cents)" in text_of(render_chart(SPEC))


@pytest.mark.parametrize(
    "hostile",
    [
        '#import "@preview/evil:1.0.0": *',
        '#panic() #eval("1") #read("/etc/passwd")',
        "$ x^2 $ *bold* _it_ `raw` = heading @ref <label>",
        "\\ \\\\ \\u{1f600} // comment /* comment */",
        "</svg><script>alert(1)</script>&amp;",
        '{"json": "}]',
        "~ -- --- ... 'quotes' \"quotes\" https://example.org",
    ],
)
def test_markup_in_any_field_comes_out_as_text(hostile: str) -> None:
    spec = chart_of(
        entry(notes=hostile, strategy=hostile, tags=(hostile,)),
        title=hostile,
        instrument_name=hostile,
        setup_lines=(hostile,),
    )

    text = text_of(render_chart(spec))

    # Notes, strategy, title, instrument (heading and foot), set-up (heading and foot); long words
    # break over lines, so white space is left out on both sides.
    assert text.replace(" ", "").count(hostile.replace(" ", "")) >= 6


@pytest.mark.parametrize(
    "note",
    ["Ελληνικά", "Русский", "עברית", "العربية", "ภาษาไทย", "Đặng 𝄲 ♯ ♭", "日本語 한국어", "🎵 🎷"],
)
def test_notes_in_any_script_are_on_the_page_and_the_page_stays_accessible(note: str) -> None:
    pdf = render_chart(chart_of(entry(notes=note)))

    assert is_accessible(pdf)
    # Right-to-left text may come out in its order on paper, and marks in theirs: compare letters.
    assert set("".join(note.split())) <= set(text_of(pdf))


@pytest.mark.parametrize("name", ["קלרינט 7", "كلارينت ٧"])
def test_a_name_read_from_right_to_left_turns_its_own_text_and_no_line_of_the_chart(
    name: str,
) -> None:
    spec = chart_of(
        entry(notes=name, tags=(name, "slow"), strategy=name),
        title=name,
        instrument_name=name,
        setup_lines=(f"mouthpiece: {name}", "reed: 3"),
    )
    fed = feed_chart(spec)
    assert {fed[line]["direction"] for line in ("instrument", "setup", "foot")} == {"ltr"}
    assert fed["title_line"]["direction"] == fed["entries"][0]["notes"]["direction"] == "rtl"
    turned = render_chart(spec)
    assert is_accessible(turned)
    assert len(read(turned).pages) == 1


def test_a_character_that_no_font_has_prints_as_a_box_and_copies_as_itself() -> None:
    pdf = render_chart(chart_of(entry(notes=f"before {WITHOUT_ANY_FONT} after")))

    assert f"before {WITHOUT_ANY_FONT} after" in text_of(pdf)
    assert "A box with a number stands for a character" in text_of(pdf)
    assert is_accessible(pdf)
    assert pdf == render_chart(chart_of(entry(notes=f"before {WITHOUT_ANY_FONT} after")))


def test_control_characters_and_direction_overrides_are_left_out() -> None:
    pdf = render_chart(chart_of(entry(notes="a\x00b\x07c \u202edrawkcab\u202c \ud800 \ufffe end")))

    assert "abc drawkcab end" in text_of(pdf)
    assert is_accessible(pdf)


def test_a_long_note_begins_in_its_entry_and_stands_in_full_at_the_end() -> None:
    note = " ".join(f"word{number}" for number in range(1500))
    text = text_of(render_chart(chart_of(entry(notes=note))))

    assert "in full at the end: note 1" in text
    assert "1. D quarter-flat 5" in text
    assert all(f"word{number}" in text for number in range(1500))


@pytest.mark.parametrize("letter", ["x", "W", "ж"])
def test_a_word_of_any_length_breaks_before_the_edge_of_the_sheet(letter: str) -> None:
    pdf = render_chart(chart_of(entry(notes=letter * 5_000)))
    font = TTFont(BytesIO(pymupdf_fonts.myfont("figo")))
    advance = font["hmtx"][font.getBestCmap()[ord(letter)]][0] / font["head"].unitsPerEm
    lines = [line for page in read(pdf).pages for line in page.extract_text().splitlines()]
    longest = max(len(line) for line in lines if set(line) == {letter})

    # Text is set in 8.5 points; the sheet is 210 mm wide with margins of 12.5 mm.
    assert longest * advance * 8.5 <= (210 - 2 * 12.5) / 25.4 * 72
    assert text_of(pdf).count(letter) >= 5_000


def test_a_note_of_very_many_lines_runs_over_as_many_pages_as_it_needs() -> None:
    pdf = render_chart(chart_of(entry(notes="\n".join(f"line {n}." for n in range(500)))))

    assert all(f"line {n}." in text_of(pdf) for n in (0, 250, 499))
    assert len(read(pdf).pages) > 3


def test_an_empty_title_gives_way_to_the_instrument() -> None:
    metadata = read(render_chart(chart_of(ENTRY, title=" \n\x00"))).metadata

    assert metadata is not None
    assert metadata.title == "Invented B-flat"


@settings(max_examples=examples(16))
@given(texts=st.lists(any_text(max_size=60), min_size=1, max_size=6))
def test_whatever_is_written_there_is_a_chart(texts: list[str]) -> None:
    first, last = texts[0], texts[-1]
    spec: ChartSpec = chart_of(
        *(entry(notes=each, strategy=each, tags=(each,), base=ordinary("D5")) for each in texts),
        title=first,
        instrument_name=last,
        kind_name=first,
        setup_lines=(first, last),
    )

    assert is_tagged(render_chart(spec))


def test_what_is_predicted_says_so_in_its_entry_its_picture_the_head_and_the_legend() -> None:
    guess = entry(
        offset_cents=None,
        uncertainty_cents=None,
        take_count=0,
        prediction=ChartPrediction(offset_cents=-7.4, sigma_cents=11.8),
    )
    pdf = render_chart(chart_of(ENTRY, guess))
    words = text_of(pdf)
    assert "2 fingerings, 1 only predicted" in words
    assert "predicted −7 ± 12 cents" in words
    assert "not measured" in words
    assert PREDICTED in words
    assert any(text.startswith("predicted −7.4 cents") for text in alternative_texts(pdf))
    assert is_accessible(pdf)


def test_a_chart_without_predictions_does_not_speak_of_them() -> None:
    assert "redicted" not in text_of(render_chart(chart_of(ENTRY)))


def test_each_prediction_and_nothing_else_stands_in_a_dashed_frame() -> None:
    # ISO 32000-1, 8.4.3.6: the operator d sets the dash pattern. The frame's is three on, three
    # off; pictures have others.
    guess = entry(offset_cents=None, prediction=ChartPrediction(-7.4, 11.8))

    def count_frames(*entries: ChartEntry) -> int:
        page = read(render_chart(chart_of(*entries))).pages[0].get_contents()
        assert page is not None
        return len(re.findall(rb"\[3 3\] ?0 d", page.get_data()))

    assert count_frames(ENTRY, guess, guess) == 2
    assert count_frames(ENTRY) == 0
