"""The cookie: flags and name by RFC 6265bis; its key stays with its owner."""

import stat
from pathlib import Path

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.conftest import Opener
from webapp.app import create_app
from webapp.notebook.store.notebook import read_cookie_key


def cookie_of(client: Browser) -> tuple[str, set[str]]:
    """Return name and attributes of the cookie that a form page sets."""
    header = client.fetch("/instruments/new").headers["Set-Cookie"]
    first, *rest = header.split("; ")
    return first.partition("=")[0], {each.casefold() for each in rest}


def test_the_cookie_is_out_of_reach_for_scripts_and_other_sites(client: Browser) -> None:
    name, attributes = cookie_of(client)
    assert name.startswith("quartervent_")
    assert {"httponly", "samesite=lax", "path=/"} <= attributes
    assert not any(each.startswith("domain") for each in attributes)


def test_the_cookie_outlives_the_browser(client: Browser) -> None:
    assert any(each.startswith("expires=") for each in cookie_of(client)[1])


def test_two_notebooks_side_by_side_have_cookies_of_their_own(
    opened: Opener, empty_folder: Path
) -> None:
    names = {cookie_of(Browser(create_app(opened(empty_folder))))[0] for _ in range(2)}
    assert len(names) == 2, "cookies ignore ports (RFC 6265 section 8.5)"


def test_the_key_is_made_once_and_readable_by_its_owner_only(tmp_path: Path) -> None:
    key = read_cookie_key(tmp_path)
    path = tmp_path / "session.key"
    assert len(key) == 32
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert read_cookie_key(tmp_path) == key
    assert [each.name for each in tmp_path.iterdir()] == ["session.key"]


@pytest.mark.parametrize("remains", [b"", b"cut"])
def test_a_key_that_was_cut_off_is_made_anew(tmp_path: Path, remains: bytes) -> None:
    (tmp_path / "session.key").write_bytes(remains)
    assert len(read_cookie_key(tmp_path)) == 32
    assert read_cookie_key(tmp_path) == read_cookie_key(tmp_path)


def test_two_notebooks_have_different_keys(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    assert read_cookie_key(tmp_path / "one") != read_cookie_key(tmp_path / "two")
