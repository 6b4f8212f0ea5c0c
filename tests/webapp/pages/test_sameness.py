"""Sharing evidence from the entry page."""

from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled, log
from webapp.notebook.store.notebook import Notebook


def test_the_entry_says_so_and_shares_on_wish(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    same = log(notebook, rows.soprano, "C#5 +25", "T R 123 | 123 | left F#")
    page = filled_client.get(f"/fingerings/{same}")
    assert "The same to the air" in page.text
    assert page.find("a", href=f"/fingerings/{rows.base}")
    assert "Not tried" in page.text

    shared = filled_client.submit(f"/fingerings/{same}", "/evidence/share")
    assert shared.status == 200
    assert "measured, 1 take, 1 of another fingering" in shared.text
    apart = filled_client.submit(f"/fingerings/{same}", "/evidence/apart")
    assert "Not tried" in apart.text


def test_one_with_another_target_is_named_and_not_shared(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    other = log(notebook, rows.soprano, "D5 -50", "T R 123 | 123 | left F#")
    page = filled_client.get(f"/fingerings/{other}")
    assert "The same to the air" in page.text
    assert "Share the evidence" not in page.text


def test_with_nothing_to_share_it_is_refused(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/fingerings/{filled[1].child}")
    assert "The same to the air" not in page.text
    token = page.form("/takes").values["csrf_token"]
    for number, status in ((filled[1].child, 422), (999, 404)):
        answer = filled_client.client.post(
            f"/fingerings/{number}/evidence/share", base_url=ORIGIN, headers=SAME_ORIGIN,
            data={"csrf_token": token},
        )  # fmt: skip
        assert answer.status_code == status


def test_evidence_is_not_shared_by_a_link(filled_client: Browser) -> None:
    for verb in ("share", "apart"):
        assert filled_client.fetch(f"/fingerings/1/evidence/{verb}").status_code == 405
