"""Pages about layouts: list, look, print, make, change, bring in, bin."""

from io import BytesIO

import pytest
from werkzeug.datastructures import MultiDict

from analysis.keywork import layout_ids, load_layout, read_layout, write_layout
from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser, Page
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.notebook.instruments.layouts import open_layout, own_layouts
from webapp.notebook.store.notebook import Notebook


def press(client: Browser, path: str, action: str, **fields: str) -> Page:
    """Open an editor, type in it, and press one of its buttons."""
    return client.submit(path, "", {"action": action, **fields})


def upload(client: Browser, path: str, content: bytes, name: str = "layout.toml") -> Page:
    page = client.get(path)
    values: MultiDict[str, object] = MultiDict(page.form().values)
    values["action"] = "load"
    values["file"] = (BytesIO(content), name)
    answer = client.client.post(
        path, base_url=ORIGIN, data=values, headers=SAME_ORIGIN, buffered=True,
        content_type="multipart/form-data",
    )  # fmt: skip
    answer.request.environ["wsgi.input"].close()  # the test client leaves its file open
    return Page(answer)


def text_in(page: Page) -> str:
    return page.form().values["toml"]


def test_the_list_shows_every_layout_with_its_facts_and_picture(client: Browser) -> None:
    page = client.get("/layouts/")
    assert page.status == 200
    for layout in map(load_layout, layout_ids()):
        assert page.find("a", href=f"/layouts/{layout.id}")
    assert len(page.find("svg")) == len(layout_ids())
    assert "66 ordinary fingerings" in page.text


@pytest.mark.parametrize("layout_id", layout_ids())
def test_each_layout_says_where_it_comes_from_and_leads_to_its_chart(
    client: Browser, layout_id: str
) -> None:
    page = client.get(f"/layouts/{layout_id}")
    assert page.find("a", href=f"/layouts/{layout_id}/chart.pdf")
    provenance = " ".join(load_layout(layout_id).provenance.split())
    assert provenance[0].upper() + provenance[1:] in page.text


def test_one_layout_says_what_its_keys_are_called(client: Browser) -> None:
    page = client.get("/layouts/bass-low-c")
    for key in load_layout("bass-low-c").complete.keys:
        assert key.name in page.text
    assert "usually missing" in page.text
    assert page.find("a", href="/layouts/new?from=bass-low-c")
    assert not page.find("a", href="/layouts/bass-low-c/edit"), "a shipped one stays as it is"


@pytest.mark.parametrize("paper", ["", "?paper=letter", "?paper=nonsense"])
def test_the_ordinary_fingerings_are_a_pdf(client: Browser, paper: str) -> None:
    answer = client.fetch(f"/layouts/soprano-german/chart.pdf{paper}")
    assert answer.mimetype == "application/pdf"
    assert answer.get_data().startswith(b"%PDF")
    assert "ordinary-fingerings-soprano-german.pdf" in answer.headers["Content-Disposition"]


def test_a_layout_is_saved_as_a_file_that_reads_back(client: Browser) -> None:
    answer = client.fetch("/layouts/bass-low-c/layout.toml")
    assert "bass-low-c.toml" in answer.headers["Content-Disposition"]
    assert read_layout(answer.get_data(as_text=True)) == load_layout("bass-low-c")


@pytest.mark.parametrize(
    "path", ["/layouts/nothing", "/layouts/nothing/chart.pdf", "/layouts/nothing/layout.toml",
             "/layouts/nothing/edit", "/layouts/new?from=nothing"]
)  # fmt: skip
def test_what_is_not_there_is_not_found(client: Browser, path: str) -> None:
    assert client.get(path).status == 404


def test_a_layout_is_looked_at_before_it_is_kept(notebook: Notebook, client: Browser) -> None:
    text = text_in(client.get("/layouts/new?from=soprano-17-6")).replace("My Soprano", "Odd one")
    page = press(client, "/layouts/new", "look", toml=text)
    assert page.status == 200
    assert "Not saved yet" in page.text
    assert "Odd one" in page.text
    assert len(page.find("svg")) == 1
    assert read_layout(text_in(page)) == read_layout(text)
    assert own_layouts(notebook) == ()


def test_a_layout_is_kept_and_an_instrument_can_have_it(
    notebook: Notebook, client: Browser
) -> None:
    page = press(client, "/layouts/new?from=soprano-17-6", "keep")
    assert page.find("h1")[0].text == "My Soprano, 17 keys and 6 rings"
    assert "An instrument can have it now" in page.text
    made = client.submit("/instruments/new", name="Own", model="a-soprano|my-soprano-17-6")
    assert made.status == 200
    assert "My Soprano" in client.get("/instruments/1").text
    assert "your own, version 1" in client.get("/layouts/").text
    assert "Yours: Own." in client.get("/layouts/my-soprano-17-6").text


def test_a_fault_is_shown_with_its_line_and_the_text_survives(
    notebook: Notebook, client: Browser
) -> None:
    text = text_in(client.get("/layouts/new"))
    number = text.splitlines().index('finger = "thumb"') + 1
    text = text.replace('finger = "thumb"', 'finger = "toe"', 1)
    for action in ("look", "keep"):
        page = press(client, "/layouts/new", action, toml=text)
        assert page.status == 422
        assert f"Line {number}." in page.text
        assert "toe" in page.find("div", id="problem")[0].text
        (meant,) = page.find("li", class_="is-meant")
        assert meant.text == 'finger = "toe"'
        assert page.find("ol", class_="excerpt")[0].attributes["start"] == str(number - 2)
        assert text_in(page) == text
    assert own_layouts(notebook) == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "this field is missing"),
        ('id = "x"\nname = \n', "Line 2."),
        ("[[[", "Line 1."),
        ("<script>alert(1)</script>", "not TOML"),
        ("x" * 200_001, "characters are too many"),
    ],
)
def test_a_text_that_is_no_layout_is_refused_in_words(
    client: Browser, text: str, words: str
) -> None:
    page = press(client, "/layouts/new", "look", toml=text)
    assert page.status == 422
    assert words in page.text
    assert "<script>alert" not in page.html


def test_a_shipped_id_is_refused(client: Browser) -> None:
    text = write_layout(load_layout("soprano-17-6"))
    page = press(client, "/layouts/new", "keep", toml=text)
    assert page.status == 422
    assert "belongs to a layout that comes with the program" in page.text


def test_a_file_is_brought_in_and_not_kept_yet(notebook: Notebook, client: Browser) -> None:
    text = write_layout(load_layout("bass-low-c")).replace('"bass-low-c"', '"sent"', 1)
    page = upload(client, "/layouts/new", b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert page.status == 200
    assert read_layout(text_in(page)).id == "sent"
    assert own_layouts(notebook) == ()


@pytest.mark.parametrize(
    ("content", "name", "words"),
    [
        (b"", "", "No file was chosen"),
        (b"\xff\xfe\x00", "layout.toml", "no text in UTF-8"),
        (b"x" * 1_000_001, "layout.toml", "too large"),
        (b"RIFF words", "layout.toml", "not TOML"),
    ],
)
def test_a_file_that_is_no_layout_is_refused(
    client: Browser, content: bytes, name: str, words: str
) -> None:
    page = upload(client, "/layouts/new", content, name)
    assert page.status == 422
    assert words in page.text


def test_an_own_layout_is_changed(filled: tuple[Notebook, Filled], filled_client: Browser) -> None:
    path = f"/layouts/{filled[1].own_layout}/edit"
    text = text_in(filled_client.get(path)).replace('name = "My Soprano', 'name = "Our soprano')
    page = press(filled_client, path, "keep", toml=text)
    assert page.status == 200
    assert "Our soprano" in page.find("h1")[0].text
    assert open_layout(filled[0], filled[1].own_layout).layout.version == 2


def test_a_stale_change_overwrites_nothing(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/layouts/{filled[1].own_layout}/edit"
    stale = filled_client.get(path)
    newer = text_in(stale).replace('name = "My ', 'name = "Their ')
    press(filled_client, path, "keep", toml=newer)
    mine = text_in(stale).replace('name = "My ', 'name = "Mine, ')
    answer = filled_client.send(stale, stale.form(), fields={"toml": mine, "action": "keep"})
    page = Page(answer)
    assert page.status == 409
    assert text_in(page) == mine
    assert open_layout(filled[0], filled[1].own_layout).layout.name.startswith("Their ")


def test_a_change_that_loses_keys_in_use_says_which(notebook: Notebook, client: Browser) -> None:
    press(client, "/layouts/new?from=soprano-17-6", "keep")
    add_clarinet(notebook, "Own", layout_id="my-soprano-17-6")
    client.submit("/instruments/1/fingerings/new", "", {"target": "B4", "key-r1": "shaded"})
    path = "/layouts/my-soprano-17-6/edit"
    text = text_in(client.get(path)).replace('["up", "down", "shaded"]', '["up", "down"]')
    page = press(client, path, "keep", toml=text)
    assert page.status == 422
    assert "can't be shaded" in page.text
    assert "B4" in page.text


def test_a_shipped_layout_stays_as_it_is(client: Browser) -> None:
    page = client.get("/layouts/soprano-17-6/edit")
    assert page.status == 404
    assert "make one of your own" in page.text
    refused = client.client.post(
        "/layouts/soprano-17-6/edit",
        base_url=ORIGIN,
        headers=SAME_ORIGIN,
        data={
            "csrf_token": client.get("/layouts/new").form().values["csrf_token"],
            "toml": "x",
            "action": "keep",
        },
    )
    assert refused.status_code == 404


def test_an_own_layout_goes_to_the_bin_and_comes_back(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    own = filled[1].own_layout
    page = filled_client.submit(f"/layouts/{own}", "/remove")
    assert "was moved to the bin" in page.text
    assert filled_client.get(f"/layouts/{own}").status == 404
    assert "layout of your own" in filled_client.get("/bin/").text
    back = filled_client.submit("/bin/", f"/layouts/{own}/restore")
    assert back.find("h1")[0].text.startswith("My Soprano")


def test_a_layout_in_use_does_not_go(notebook: Notebook, client: Browser) -> None:
    press(client, "/layouts/new?from=soprano-17-6", "keep")
    add_clarinet(notebook, "Own", layout_id="my-soprano-17-6")
    page = client.submit("/layouts/my-soprano-17-6", "/remove")
    assert page.status == 422
    assert "is the keywork of “Own”" in page.text


@pytest.mark.parametrize(
    ("path", "method"),
    [("/layouts/", "POST"), ("/layouts/x/remove", "GET"), ("/layouts/x/restore", "GET"),
     ("/layouts/soprano-17-6/chart.pdf", "POST"), ("/layouts/soprano-17-6", "DELETE")],
)  # fmt: skip
def test_other_ways_are_refused(client: Browser, path: str, method: str) -> None:
    assert client.open(path, SAME_ORIGIN, method=method).status_code in (400, 405)


def test_what_the_right_thumb_usually_does_is_said_where_it_matters(client: Browser) -> None:
    assert "The right thumb usually is free" in client.get("/layouts/bass-low-c").text
    assert "right thumb usually" not in client.get("/layouts/soprano-17-6").text
