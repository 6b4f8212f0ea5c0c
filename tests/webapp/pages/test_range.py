"""The range page and its table."""

import csv
import io
from urllib.parse import urlencode

import pytest

from analysis.pitch import NoteNames
from tests.thinning import each_daily
from tests.webapp.browsing import Browser, Element, Page
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.app import create_app
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Suggestion

KEYS = "T R 123 | 12-"
RANGE = "/instruments/1/range"


def rows(page: Page) -> dict[str, str]:
    """The steps of a page by their place in written cents, each with all of its words."""
    return {
        each.attributes["id"].removeprefix("step-"): " ".join(each.text.split())
        for each in page.find("tr")
        if each.attributes.get("id", "").startswith("step-")
    }


def targets(page: Page) -> list[str]:
    """Where the steps lead, in order; a step is the only link in a row."""
    table = [each for each in page.find("a") if _is_target(each)]
    return [each.attributes["href"] for each in table]


def _is_target(link: Element) -> bool:
    href = link.attributes.get("href", "")
    return href.startswith("/search?") or "/notes/" in href


def test_every_step_stands_in_a_table_with_what_is_known_of_it(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/instruments/{filled[1].soprano}/range")
    assert page.status == 200
    found = rows(page)
    # E3 to G6 in quarter tones: 2 * 39 + 1 (closed formula).
    assert len(found) == 79
    assert len(page.find("th", scope="row")) == 79
    # The base is meant for C#5 +25 and was recorded 10 cents sharper: 15 cents under C#5 +50, which
    # is farther than the lip goes up, so it does not count there.
    assert found["7350"] == "D quarter-flat 5 meant for this step not tried 1 other"
    eighths = filled_client.get(f"/instruments/{filled[1].soprano}/range?grid=48")
    assert "in tune +10.0 ±" in rows(eighths)["7325"]
    assert rows(eighths)["7325"].endswith("light")
    assert "1 of 157 steps in tune; " in eighths.text
    assert found["7400"].endswith("nothing recorded ordinary note")
    assert found["6450"].endswith("a gap open 1 does not speak"), "E4 +50 was tried"
    assert "0 of 79 steps in tune; 2 logged and not tried" in page.text


def test_every_step_opens_its_target_and_an_open_one_what_could_be_tried(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    number = filled[1].soprano
    page = filled_client.get(f"/instruments/{number}/range")
    assert len(targets(page)) == 79
    logged, gap = (f"/instruments/{number}/notes/{note}" for note in ("D5-50c", "G5-50c"))
    assert {logged, gap} <= set(targets(page))
    assert filled_client.get(logged).find("a", href=f"/fingerings/{filled[1].base}")


def test_a_semitone_opens_a_search_as_wide_as_the_step(notebook: Notebook, client: Browser) -> None:
    log(notebook, add_clarinet(notebook), "D5 -40", KEYS)
    page = client.get(f"{RANGE}?grid=12")
    assert "not tried" in rows(page)["7400"]
    (there,) = [each for each in targets(page) if "q=D5&" in each]
    assert "1 fingering within 50 cents" in client.get(there).text


def test_a_prediction_looks_and_reads_like_one_and_is_only_read(
    notebook: Notebook, client: Browser
) -> None:
    number = add_clarinet(notebook)
    with notebook.database.writing() as session:
        session.add(
            Suggestion(
                instrument_id=number, target_text="D5-50c", keys_text=KEYS, strategy="raised",
                predicted_offset_cents=-7.0, predicted_sigma_cents=12.0, method_version="finder-1",
            )
        )  # fmt: skip
    page = client.get(RANGE)
    assert rows(page)["7350"].endswith("predicted −7 ± 12 predicted")
    (row,) = page.find("tr", id="step-7350")
    assert row.attributes["class"] == "is-predicted"
    assert "1 predicted only" in page.text
    assert page.find("use", href="#rung-predicted")


def test_an_empty_instrument_says_what_to_do(notebook: Notebook, client: Browser) -> None:
    add_clarinet(notebook)
    page = client.get(RANGE)
    assert "0 of 79 steps in tune; 40 ordinary and not logged, 39 open." in page.text
    assert "Nothing is logged on this instrument yet" in page.text
    assert page.find("a", href="/instruments/1/fingerings/new")


def test_choices_that_leave_nothing_say_so(notebook: Notebook, client: Browser) -> None:
    log(notebook, add_clarinet(notebook), "D5 -50", KEYS)
    page = client.get(f"{RANGE}?measured=y")
    assert "Nothing in the notebook passes these choices" in page.text
    assert "Nothing is logged on this instrument yet" not in page.text


def test_the_grid_is_chosen_by_links_that_keep_the_filters(
    notebook: Notebook, client: Browser
) -> None:
    add_clarinet(notebook)
    page = client.get(f"{RANGE}?within=8&measured=y&register=clarion")
    counts = {}
    for link in page.find("a"):
        if "grid=" not in link.attributes["href"]:
            continue
        turned = client.get(link.attributes["href"])
        counts[link.text] = len(rows(turned))
        values = dict(turned.form(method="get").values)
        assert (values["within"], values["measured"], values["register"]) == ("8", "y", "clarion")
    # The clarion goes from a quarter tone under B4 to C6 and what is nearer to it than to C#6:
    # 7050 to below 8450 (closed formula).
    assert counts == {"semitones": 14, "quarter tones": 28, "eighth tones": 56}


def test_a_register_is_chosen_by_the_form(notebook: Notebook, client: Browser) -> None:
    add_clarinet(notebook)
    page = client.get(f"{RANGE}?grid=48")
    form = page.form(method="get")
    chosen = client.get(f"{RANGE}?{urlencode({**form.values, 'register': 'throat'})}")
    # 6650 to below 7050 in steps of 25 cents (closed formula)
    assert len(rows(chosen)) == 16
    (grid,) = [each for each in chosen.find("a") if "aria-current" in each.attributes]
    assert grid.text == "eighth tones"


def test_the_form_keeps_every_choice(notebook: Notebook, client: Browser) -> None:
    add_clarinet(notebook)
    query = {
        "grid": "48", "within": "7,5", "strategy": "raised", "resistance": "3",
        "register": "clarion", "whole": "y", "measured": "y",
        "mine": "y",
    }  # fmt: skip
    page = client.get(f"{RANGE}?{urlencode(query)}")
    assert page.status == 200
    assert dict(page.form(method="get").values) == query
    assert "sounds within 7.5 cents is shown at an open step" in page.text


def test_registers_are_reached_by_jumps_and_so_is_the_largest_gap(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/instruments/{filled[1].soprano}/range")
    jumps = [each.attributes["href"] for each in page.find("a") if "#" in each.attributes["href"]]
    for register in ("chalumeau", "throat", "clarion", "altissimo"):
        assert f"#{register}" in jumps
        assert page.find("h2", id=register)
    assert "Largest gap: " in page.text
    (gap,) = [each for each in jumps if each.startswith("#step-")]
    assert "open" in rows(page)[gap.removeprefix("#step-")]


@pytest.mark.parametrize(
    ("refusal", "path"),
    each_daily(
        [
            ("within=wide", "is not a number"),
            ("within=0", "more than 0"),
            ("within=500", "up to 200"),
            ("strategy=magic", "is not one of the choices"),
            ("register=basement", "is not one of the choices"),
            ("resistance=9", "is not one of the choices"),
        ],
        [RANGE, f"{RANGE}.csv"],
    ),
)
def test_what_cannot_be_read_stands_beside_its_field_and_is_no_empty_range(
    notebook: Notebook, client: Browser, path: str, refusal: tuple[str, str]
) -> None:
    query, words = refusal
    add_clarinet(notebook)
    page = client.get(f"{path}?{query}&whole=y&grid=12")
    assert page.status == 422
    (error,) = page.find("p", id=f"{query.partition('=')[0]}-error")
    assert words in error.text
    assert rows(page) == {}
    assert page.form(method="get").values["whole"] == "y"
    for link in page.find("a"):
        if "grid=" in link.attributes["href"]:
            assert client.get(link.attributes["href"]).status == 200


@pytest.mark.parametrize("path", [RANGE, f"{RANGE}.csv"])
def test_a_strange_grid_is_refused(notebook: Notebook, client: Browser, path: str) -> None:
    add_clarinet(notebook)
    page = client.get(f"{path}?grid=7")
    assert page.status == 422
    assert "There is no such grid" in page.text


@pytest.mark.parametrize("ending", ["", ".csv"])
def test_a_strange_or_binned_instrument_is_not_found_and_nothing_is_sent_there(
    filled: tuple[Notebook, Filled], filled_client: Browser, ending: str
) -> None:
    for number in (99, filled[1].binned_instrument):
        for query in ("", "?within=x"):
            path = f"/instruments/{number}/range{ending}{query}"
            assert filled_client.fetch(path).status_code == 404
    answer = filled_client.open(f"/instruments/1/range{ending}", method="DELETE")
    assert answer.status_code == 405


def test_a_register_the_instrument_has_not_is_said(notebook: Notebook, client: Browser) -> None:
    add_clarinet(notebook)
    page = client.get(f"{RANGE}?register=extension")
    assert page.status == 200
    assert "no notes in the register you chose" in page.text


def test_a_bass_in_bass_clef_is_shown_as_it_is_written(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/instruments/{filled[1].bass}/range")
    found = rows(page)
    assert next(iter(found)) == "3900", "E flat 2"
    # G3 +50 is the throat's in bass clef, as G4 +50 is in treble clef.
    assert "not tried" in found["5550"]
    assert [each.attributes["id"] for each in page.find("h2") if "id" in each.attributes][:3] == [
        "extension", "chalumeau", "throat",
    ]  # fmt: skip


def test_names_follow_the_preferences(notebook: Notebook, client: Browser) -> None:
    change_preferences(notebook, Writing(names=NoteNames.GERMAN, tolerance_cents=3.0))
    add_clarinet(notebook)
    page = client.get(RANGE)
    assert rows(page)["7050"].startswith("H4, Viertelton tiefer")
    assert "your tolerance of 3 cents" in page.text


def test_start_and_instrument_page_lead_to_the_range(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    number = filled[1].soprano
    for path in (f"/?instrument={number}", f"/instruments/{number}"):
        assert filled_client.get(path).find("a", href=f"/instruments/{number}/range")


def test_the_page_takes_as_many_queries_for_many_rows(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    number = add_clarinet(notebook)
    client = Browser(create_app(notebook))
    with counted_queries(notebook) as few:
        client.get(RANGE)
    for cents in range(0, 2000, 100):
        fingering = log(notebook, number, f"{cents + 200} Hz", KEYS)
        take_maker(notebook, fingering, 200.0 + cents)
    with counted_queries(notebook) as many:
        assert client.get(RANGE).status == 200
    assert len(many) == len(few)


def test_the_table_is_that_of_the_page(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/instruments/{filled[1].soprano}/range.csv"
    answer = filled_client.fetch(f"{path}?grid=48&register=clarion")
    assert answer.mimetype == "text/csv"
    assert answer.headers["Content-Disposition"] == "attachment; filename=range-1.csv"
    table = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))
    assert len(table) == 56
    (in_tune,) = [each for each in table if each["standing"] == "in tune"]
    assert (in_tune["written_cents"], in_tune["target"], in_tune["fingering"]) == (
        "7325.0", "C#5+25c", str(filled[1].base),
    )  # fmt: skip
    assert (in_tune["solved"], in_tune["choice"]) == ("yes", "")
    assert float(in_tune["offset_cents"]) == pytest.approx(10.0, abs=0.1)
    page = filled_client.get(f"/instruments/{filled[1].soprano}/range?grid=48&register=clarion")
    assert len(rows(page)) == len(table)
    link = [each for each in page.find("a") if "range.csv" in each.attributes["href"]]
    assert link[0].attributes["href"] == f"{path}?grid=48&register=clarion"


def test_a_spreadsheet_reads_no_formula_out_of_the_table(
    notebook: Notebook, client: Browser
) -> None:
    number = add_clarinet(notebook, '=HYPERLINK("nowhere")')
    log(notebook, number, "G4", "--- | ---")
    table = list(csv.DictReader(io.StringIO(client.fetch(f"{RANGE}.csv").get_data(as_text=True))))
    assert {each["instrument"] for each in table} == {'\'=HYPERLINK("nowhere")'}
    (open_g,) = [each for each in table if each["keys"]]
    assert open_g["keys"].startswith("'-"), "nothing pressed is written with dashes"
    assert (open_g["note"], open_g["offset_cents"]) == ("G4", "0.0")
