"""The head of every page: entries, the instrument in use, the practice that goes on."""

from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import ENGLISH, Filled, add_clarinet, log
from webapp.app import create_app
from webapp.notebook.practice.at_hand import open_at_hand
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.practice_targets import add_typed, load_targets, settle_target
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import TargetState


def entries(page: Page) -> dict[str, str]:
    """The entries of a page with their addresses."""
    every = page.find_in_masthead("a")
    names = ("Notes", "Practise", "Charts", "Log")
    return {
        each.text.strip(): each.attributes["href"] for each in every if each.text.strip() in names
    }


def in_use(page: Page) -> str:
    """The name and the tuning A of the instrument in use."""
    (button,) = page.find_in_masthead("button", popovertarget="instruments")
    return " ".join(button.text.split())


def test_the_entries_lead_to_the_instrument_in_use(client: Browser, clarinet: int) -> None:
    assert entries(client.get("/")) == {
        "Notes": f"/instruments/{clarinet}/range",
        "Practise": f"/instruments/{clarinet}/practice",
        "Charts": f"/instruments/{clarinet}/chart",
        "Log": f"/instruments/{clarinet}/fingerings/new",
    }


def test_every_entry_says_that_it_is_here(client: Browser, clarinet: int) -> None:
    found = entries(client.get("/"))
    assert len(found) == 4
    for name, address in found.items():
        page = client.get(address)
        here = page.find_in_masthead("a", aria_current="page")
        assert [each.text.strip() for each in here] == [name]


def test_without_an_instrument_there_is_only_the_menu(client: Browser) -> None:
    page = client.get("/")
    assert entries(page) == {}
    assert [each.attributes["popovertarget"] for each in page.find_in_masthead("button")] == [
        "menu"
    ]


def test_the_instrument_of_the_last_page_stays_in_use_in_this_browser(
    notebook: Notebook, clarinet: int
) -> None:
    other = add_clarinet(notebook, "Second", tuning_a_hz=442.0)
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    here, there = (Browser(create_app(notebook)) for _ in range(2))
    assert in_use(here.get("/preferences")) == "B-flat A = 440"  # logged on last
    here.get(f"/instruments/{other}/range")
    assert in_use(here.get("/preferences")) == "Second A = 442"
    assert in_use(there.get("/preferences")) == "B-flat A = 440"


def test_another_instrument_is_chosen_on_the_page_where_one_is(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    other = add_clarinet(notebook, "Second")
    chosen = {
        path: next(
            each.attributes["href"]
            for each in client.get(path).find_in_masthead("a")
            if "Second" in each.text
        )
        for path in (f"/instruments/{clarinet}/range", "/preferences")
    }
    assert chosen == {
        f"/instruments/{clarinet}/range": f"/instruments/{other}/range",
        "/preferences": f"/?instrument={other}",
    }
    client.get(f"/?instrument={other}")
    assert in_use(client.get("/bin/")).startswith("Second")


def test_an_instrument_that_is_gone_gives_way(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    rows = filled[1]
    filled_client.get(f"/?instrument={rows.binned_instrument}")
    filled_client.get("/?instrument=99999999999999999999")
    assert in_use(filled_client.get("/?instrument=none")).startswith("Invented")


def test_a_practice_that_goes_on_is_a_bar_on_every_page_but_those_of_one_task(
    notebook: Notebook, client: Browser, clarinet: int
) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft(tuning_a_hz=443.0))
    bar = next(iter(client.get("/").find("a", class_="practice-bar")))
    assert (bar.attributes["href"], bar.text.split()) == (
        f"/practice/{practice}", ["Practising", "Continue"],
    )  # fmt: skip
    add_typed(notebook, practice, "D5 -50, E5 -50, F5 +50", names=ENGLISH)
    with notebook.database.reading() as session:
        first = load_targets(session, practice)[0].id
    settle_target(notebook, first, TargetState.DONE)
    page = client.get("/bin/")
    bar = next(iter(page.find("a", class_="practice-bar")))
    assert bar.attributes["href"] == f"/practice/{practice}/stand"
    assert "Practising, 1 of 3 done" in bar.text
    log = client.get(f"/instruments/{clarinet}/fingerings/new")  # its keys need the height
    assert (log.status, log.find("a", class_="practice-bar")) == (200, [])
    assert in_use(page) == "B-flat A = 443"  # that of the day
    assert not client.get(f"/practice/{practice}/stand").find("a", class_="practice-bar")
    end_practice(notebook, practice)
    assert not client.get("/").find("a", class_="practice-bar")


def test_an_error_has_no_head_to_fail_over(client: Browser, clarinet: int) -> None:
    page = client.get("/nothing")
    assert page.status == 404
    assert entries(page) == {}


def test_nothing_is_at_hand_in_an_empty_notebook(notebook: Notebook) -> None:
    found = open_at_hand(notebook)
    assert (found.instruments, found.current, found.practice, found.tuning_a_hz) == (
        (), None, None, None,
    )  # fmt: skip
