"""The passphrase is kept as a hash only. Truth: RFC 7914 (scrypt), RFC 8265 (preparing text)."""

import json
import unicodedata

import pytest

from tests.webapp.shared_access import hash_cheaply
from webapp.notebook.store.errors import PassphraseMissing, SharingRefused
from webapp.sharing import passphrase
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import (
    PassphraseHash,
    keep_passphrase,
    read_passphrase,
    sign_everyone_out,
)

TEXT = "slow reeds speak softly"


@pytest.fixture
def folder(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> SharingFolder:
    hash_cheaply(monkeypatch)
    return SharingFolder.of(tmp_path_factory.mktemp("notebook"))


def test_the_hash_is_scrypt_as_published() -> None:
    # RFC 7914, section 12, third test vector.
    published = (
        "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"
        "d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887"
    )
    kept = PassphraseHash(2**14, 8, 1, b"SodiumChloride".hex(), published, "")
    assert kept.fits("pleaseletmein")
    assert not kept.fits("pleaseletmeIn")


def test_the_cost_is_the_one_that_is_recommended() -> None:
    # OWASP Password Storage Cheat Sheet: N = 2^17, r = 8 (1024 bytes), p = 1.
    assert (passphrase.COST, passphrase.BLOCK_SIZE, passphrase.PARALLEL) == (131072, 8, 1)


def test_the_right_passphrase_fits_and_others_do_not(folder: SharingFolder) -> None:
    keep_passphrase(folder, TEXT)
    kept = read_passphrase(folder)
    assert kept.fits(TEXT)
    for other in ("", TEXT.upper(), TEXT + " ", TEXT[:-1], "x" * 5000):
        assert not kept.fits(other)


def test_nothing_of_the_passphrase_stands_in_the_file(folder: SharingFolder) -> None:
    keep_passphrase(folder, TEXT)
    written = folder.passphrase.read_text()
    assert not any(word in written for word in TEXT.split())
    assert TEXT.encode().hex() not in written


def test_the_same_passphrase_twice_has_two_hashes(folder: SharingFolder) -> None:
    keep_passphrase(folder, TEXT)
    first = read_passphrase(folder)
    keep_passphrase(folder, TEXT)
    second = read_passphrase(folder)
    assert first.salt != second.salt
    assert first.hash != second.hash


def test_letters_that_keyboards_put_together_differently_are_the_same(
    folder: SharingFolder,
) -> None:
    # RFC 8265 section 4.2.2: NFC; every space is U+0020.
    keep_passphrase(folder, "clarinette basse accordée")
    typed = unicodedata.normalize("NFD", "clarinette\u00a0basse accordée")
    assert typed != "clarinette basse accordée"
    assert read_passphrase(folder).fits(typed)


@pytest.mark.parametrize("text", ["", "nine char", "e\u0301" * 9, "x" * 201])
def test_a_passphrase_that_is_too_short_or_too_long_is_refused(
    folder: SharingFolder, text: str
) -> None:
    with pytest.raises(SharingRefused, match="10 to 200"):
        keep_passphrase(folder, text)
    assert not folder.passphrase.exists()


def test_signing_everyone_out_changes_the_mark_and_keeps_the_passphrase(
    folder: SharingFolder,
) -> None:
    keep_passphrase(folder, TEXT)
    before = read_passphrase(folder)
    sign_everyone_out(folder)
    after = read_passphrase(folder)
    assert after.devices != before.devices
    assert after.fits(TEXT)


def test_a_new_passphrase_changes_the_mark(folder: SharingFolder) -> None:
    keep_passphrase(folder, TEXT)
    before = read_passphrase(folder).devices
    keep_passphrase(folder, TEXT)
    assert read_passphrase(folder).devices != before


@pytest.mark.parametrize("remains", [b"", b"{", b"[]", b'{"cost": 2}', b"\xff"])
def test_a_damaged_file_is_the_same_as_none(folder: SharingFolder, remains: bytes) -> None:
    folder.write(folder.passphrase, remains)
    with pytest.raises(PassphraseMissing, match="quartervent passphrase"):
        read_passphrase(folder)


def test_without_a_passphrase_its_command_is_named(folder: SharingFolder) -> None:
    with pytest.raises(PassphraseMissing, match="quartervent passphrase"):
        read_passphrase(folder)


def test_a_cost_that_was_kept_earlier_still_counts(
    folder: SharingFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep_passphrase(folder, TEXT)
    monkeypatch.setattr(passphrase, "COST", 2**8)
    assert read_passphrase(folder).fits(TEXT)
    assert json.loads(folder.passphrase.read_text())["cost"] == 2**4


@pytest.mark.parametrize(
    "text", ["1234567890", "qwertyuiop", "passwordpassword", "aaaaaaaaaaaa", "clarinet2026"]
)
def test_what_is_easy_to_guess_is_refused_and_nothing_is_kept(
    folder: SharingFolder, text: str
) -> None:
    with pytest.raises(SharingRefused, match="easy to guess"):
        keep_passphrase(folder, text)
    assert not folder.passphrase.exists()
