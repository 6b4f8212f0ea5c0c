"""The bin: in, back, empty."""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.logging_rows import Filled
from webapp.notebook.store.notebook import Notebook


def test_an_empty_bin_says_what_it_is_for(client: Browser) -> None:
    page = client.get("/bin/")
    assert "waits here until you empty it" in page.text
    assert not [form for form in page.forms if form.action.endswith("/empty")]


def test_the_bin_lists_what_lies_in_it(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get("/bin/")
    assert "Invented, sold" in page.text
    assert len([form for form in page.forms if form.action.endswith("/restore")]) == 3


@pytest.mark.parametrize("kind", ["instrument", "fingering", "take"])
def test_what_goes_into_the_bin_can_be_had_back_at_once(
    filled: tuple[Notebook, Filled], filled_client: Browser, kind: str
) -> None:
    _, rows = filled
    number = {"instrument": rows.bass, "fingering": rows.base, "take": rows.take}[kind]
    path = f"/{kind}s/{number}"
    where = f"{path}/edit" if kind == "instrument" else path
    page = filled_client.submit(where, f"/bin/{kind}/{number}")
    assert page.status == 200
    assert f"The {kind} was moved to the bin" in page.text
    belongs_to = {"take": f"/fingerings/{rows.base}", "fingering": f"/instruments/{rows.soprano}"}
    assert page.response.request.path == belongs_to.get(kind, "/")
    assert filled_client.get(path).status == 404
    undo = page.form(f"/bin/{kind}/{number}/restore")
    back = filled_client.follow(filled_client.send(page, undo))
    assert back.status == 200
    assert back.response.request.path == path
    assert f"The {kind} is back." in back.text


def test_what_comes_back_into_something_binned_says_so(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    _, rows = filled
    filled_client.submit(f"/fingerings/{rows.child}", f"/bin/fingering/{rows.child}")
    page = filled_client.submit("/bin/", f"/bin/take/{rows.binned_take}/restore")
    assert page.status == 200
    assert page.response.request.path == "/bin/"
    assert "still lies in the bin" in page.text


def test_emptying_says_what_was_removed(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    clips = len(notebook.clips.names())
    page = filled_client.submit("/bin/", "/bin/empty")
    assert "1 recording was removed for good" in page.text
    assert len(notebook.clips.names()) == clips - 1
    assert filled_client.get(f"/takes/{rows.binned_take}/clip").status == 404


@pytest.mark.parametrize(
    "path", ["/bin/fingering/999", "/bin/key/1", "/bin/take/999/restore", "/bin/key/1/restore"]
)
def test_what_is_not_there_is_404(filled_client: Browser, path: str) -> None:
    page = filled_client.get("/bin/")
    form = page.form("/bin/empty")
    form.action = path
    assert filled_client.send(page, form).status_code == 404
