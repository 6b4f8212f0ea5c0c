"""Readiness for sharing, and the words for what is missing."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.webapp.shared_access import HOSTS, PASSPHRASE, hash_cheaply
from webapp.notebook.store.errors import CertificateMissing, CertificateOutdated, PassphraseMissing
from webapp.sharing.certificates import make_certificate
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import keep_passphrase
from webapp.sharing.state import read_state, require_ready

NOW = datetime(2026, 3, 14, 12, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SharingFolder:
    hash_cheaply(monkeypatch)
    return SharingFolder.of(tmp_path)


def test_at_first_nothing_is_ready_and_both_commands_are_named(folder: SharingFolder) -> None:
    state = read_state(folder, NOW)
    assert not state.is_ready
    assert "quartervent certificate" in state.certificate_problem
    assert "quartervent passphrase" in state.passphrase_problem
    assert not folder.path.exists(), "looking makes nothing"


def test_a_passphrase_alone_is_not_enough(folder: SharingFolder) -> None:
    keep_passphrase(folder, PASSPHRASE)
    with pytest.raises(CertificateMissing):
        require_ready(folder, NOW)


def test_a_certificate_alone_is_not_enough(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    with pytest.raises(PassphraseMissing):
        require_ready(folder, NOW)


def test_both_together_are_enough(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    keep_passphrase(folder, PASSPHRASE)
    assert require_ready(folder, NOW).hosts == HOSTS
    state = read_state(folder, NOW)
    assert state.is_ready
    assert not state.ends_soon


@pytest.mark.parametrize("days", [-1, 398])
def test_a_certificate_that_is_not_valid_today_is_not_enough(
    folder: SharingFolder, days: int
) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    keep_passphrase(folder, PASSPHRASE)
    with pytest.raises(CertificateOutdated, match="2026-03-14 to 2027-04-1"):
        require_ready(folder, NOW + timedelta(days=days))
    assert "Renew it" in read_state(folder, NOW + timedelta(days=days)).certificate_problem


def test_the_last_month_is_said_beforehand(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=NOW)
    assert not read_state(folder, NOW + timedelta(days=366)).ends_soon
    assert read_state(folder, NOW + timedelta(days=368)).ends_soon
