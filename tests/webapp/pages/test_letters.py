"""The page of a letter to a composer: edit it, keep it, take it along."""

from __future__ import annotations

from tests.webapp.browsing import Browser
from tests.webapp.notebook.pieces.filling import add_typed_piece
from webapp.notebook.store.notebook import Notebook

HOSTILE = "<b>Étude</b> & \u202eevil"


def test_a_letter_is_edited_kept_and_taken_along(
    notebook: Notebook, clarinet: int, client: Browser
) -> None:
    piece = add_typed_piece(notebook, clarinet, title=HOSTILE)
    path = f"/pieces/{piece}/letter/{clarinet}/"
    assert path in client.get(f"/pieces/{piece}").html
    page = client.get(path)
    assert "Dear composer," in page.html
    assert "<b>Étude" not in page.html
    assert page.find("div", class_="letter-paper"), "a printed page has the words of the field"
    kept = client.submit(path, text=f"Dear {HOSTILE},\n\nsee bar 2.")
    assert "The letter is kept." in kept.text
    assert "<b>Étude" not in kept.html
    assert "see bar 2." in client.fetch(f"{path}letter.txt").text
    assert client.fetch(f"{path}letter-a4.pdf").data.startswith(b"%PDF-")
    stale = client.submit(path, text="late", version="0")
    assert stale.status == 409
    assert "late" in stale.html
    assert "see bar 2." in stale.html
    again = client.submit(path, "/again")
    assert "Written again from the piece." in again.text
    assert client.submit(path, text="x" * 9_000).status == 422
