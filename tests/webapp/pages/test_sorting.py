"""Pages that say what does not count, and let one touch say otherwise."""

from io import BytesIO

from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import TakeMaker
from tests.webapp.pages.sending import json_of, send
from tests.webapp.tones import tone_wav
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.fingerings.sorting import keep_unsorted
from webapp.notebook.safekeeping.bin import list_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.takes import TakeNote
from webapp.notebook.takes.unsorted import list_unsorted


def hz(offset_cents: float) -> float:
    """The frequency this far above D5 -50 on a B-flat soprano, which sounds 250 above A4 = 440."""
    return float(440 * 2 ** ((250 + offset_cents) / 1200))


def press(client: Browser, page: Page, action: str) -> Page:
    """Press the button of a small form."""
    return client.follow(client.send(page, page.form(action)))


def test_the_entry_says_what_does_not_count_and_one_touch_sorts_it(
    notebook: Notebook, client: Browser, fingering: int, take_maker: TakeMaker
) -> None:
    for cents in (-4.0, -5.0, -3.0):
        take_maker(notebook, fingering, hz(cents))
    wrong = take_maker(notebook, fingering, hz(-1900.0))
    page = client.get(f"/fingerings/{fingering}")
    assert "1 take is not counted" in page.text
    assert "You played G quarter-flat 3: not counted" in page.text
    assert "How far 3 takes" in page.text.replace("The ± is how", "How")
    assert {form.action for form in page.forms} >= {
        f"/takes/{wrong}/count", f"/takes/{wrong}/own-entry", f"/bin/take/{wrong}",
    }  # fmt: skip

    moved = press(client, page, f"/takes/{wrong}/own-entry")
    assert "The take of G quarter-flat 3 now stands at G quarter-flat 3." in moved.text
    back = press(client, moved, "/takes/undo-sorting")
    assert "The take is back where it was." in back.text
    assert open_fingering(notebook, fingering).fingering.set_aside_count == 1

    slip = press(client, back, f"/bin/take/{wrong}")
    assert "was moved to the bin" in slip.text
    assert [row.id for row in list_bin(notebook).takes] == [wrong]
    assert "not counted" not in client.get(f"/fingerings/{fingering}").text


def test_a_fingering_that_sounds_elsewhere_is_asked_about(
    notebook: Notebook, client: Browser, fingering: int, take_maker: TakeMaker
) -> None:
    for cents in (149.0, 150.0, 151.0):
        take = take_maker(notebook, fingering, hz(cents))
    page = client.get(f"/fingerings/{fingering}")
    assert "It was logged for D quarter-flat 5 and sounds as E flat 5" in page.text
    moved = press(client, page, f"/takes/{take}/move-entry")
    assert open_fingering(notebook, fingering).fingering.target_text == "Eb5"
    assert "It was logged for" not in moved.text


def test_an_unsorted_take_goes_to_a_fingering_or_makes_one(
    notebook: Notebook, client: Browser, clarinet: int, fingering: int
) -> None:
    path = f"/instruments/{clarinet}/takes.json"
    answer = json_of(send(client, path, tone_wav(hz(3.0)), meant="D5 -50", is_watched="1"))
    assert (answer["fingering"], answer["counts"]) == (None, False)
    assert answer["standing"] == ["Kept as an unsorted take."]
    (played,) = answer["played"]
    assert played["words"] == "D quarter-flat 5"
    page = client.get(f"/instruments/{clarinet}/unsorted")
    assert "D quarter-flat 5, +3.0 ± 0.1 cents" in page.text and "watching" in page.text
    assert client.get(answer["url"]).status == 200

    press(client, page, f"/takes/{answer['take']}/give")
    row = open_fingering(notebook, fingering).fingering
    assert (row.take_count, row.is_watched) == (1, True)

    second = keep_unsorted(notebook, clarinet, BytesIO(tone_wav(hz(103.0))), TakeNote())
    form_page = client.get(f"/instruments/{clarinet}/fingerings/new?target=D5%2B50c&take={second}")
    form = form_page.form()
    assert form.values["take"] == str(second)
    client.send(form_page, form)
    assert list_unsorted(notebook, clarinet).count == 0


def test_the_start_page_names_what_waits(
    notebook: Notebook, client: Browser, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    assert "sounded as another note" not in client.get("/").text
    take_maker(notebook, fingering, hz(-1900.0))
    keep_unsorted(notebook, clarinet, BytesIO(tone_wav(hz(103.0))), TakeNote())
    page = client.get("/")
    assert "Takes that sounded as another note" in page.text
    assert "1 unsorted take" in page.text
