"""What is kept on disk is read again, and made again when it is damaged."""

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from analysis.finder import FinderCache, PlayerModel, Start, caching, prepare, suggest
from analysis.finder.spots import Spots
from analysis.finder.tube import Tube
from analysis.keywork import parse_fingering
from analysis.pitch import WrittenPitch
from tests.analysis.finder.players import KIND, soprano
from tests.computed_once import compute_anew


@pytest.fixture(scope="module")
def screened(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder where the soprano's screening lies, to be copied: making one takes a second."""
    folder = tmp_path_factory.mktemp("screened")
    fit(folder, [])
    return folder


@pytest.fixture
def kept(screened: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(screened, tmp_path / "kept"))


def fit(folder: Path, seen: list[float]) -> PlayerModel:
    cache = FinderCache(folder, progress=seen.append)
    return PlayerModel.fit(KIND, soprano(), [], cache=cache)


def test_a_damaged_screening_is_made_again_with_progress_and_only_once(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    compute_anew(monkeypatch)
    (stored,) = kept.glob("screening-*")
    stored.unlink()  # mapped files are replaced, never written over
    stored.write_bytes(b"no longer what it was")
    seen: list[float] = []
    model = fit(kept, seen)
    assert seen[0] == 0.0
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert not list(kept.glob(".making-*"))
    seen.clear()
    again = fit(kept, seen)
    assert seen == []
    fingering = parse_fingering("T R 123 | -2- | right cross", soprano())
    target = WrittenPitch.from_canonical("G5-50c")
    assert again.predict(fingering, target) == model.predict(fingering, target)


@pytest.mark.long_run
def test_a_screening_is_made_once_with_progress_and_made_again_if_damaged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    compute_anew(monkeypatch)
    folder = tmp_path / "cache"
    seen: list[float] = []
    model = fit(folder, seen)
    assert seen[0] == 0.0
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    (stored,) = folder.glob("screening-*")
    assert not list(folder.glob(".making-*"))
    seen.clear()
    again = fit(folder, seen)
    assert seen == []
    fingering = parse_fingering("T R 123 | -2- | right cross", soprano())
    target = WrittenPitch.from_canonical("G5-50c")
    assert again.predict(fingering, target) == model.predict(fingering, target)
    stored.unlink()  # mapped files are replaced, never written over
    stored.write_bytes(b"no longer what it was")
    fit(folder, seen)
    assert seen


def test_sensitivities_come_back_from_disk(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    model = fit(kept, [])
    fingering = parse_fingering("T R 123 | -2- | right cross", soprano())
    target = WrittenPitch.from_canonical("G5-50c")
    first = model.predict(fingering, target)
    model.tube.store_rows()

    def refuse(self: Tube, spots: object) -> None:
        raise AssertionError("computed again")

    monkeypatch.setattr(Tube, "_compute_rows", refuse)
    second = fit(kept, []).predict(fingering, target)
    assert second.sigma_cents == pytest.approx(first.sigma_cents, rel=1e-5)


def test_without_a_folder_nothing_is_written(tmp_path: Path) -> None:
    cache = FinderCache()
    cache.store_arrays("name", {})
    assert cache.load_arrays("name") is None
    assert list(tmp_path.iterdir()) == []


@dataclass(frozen=True)
class Prepared:
    """A model that was prepared for a start, and the progress that was told meanwhile."""

    model: PlayerModel
    start: Start
    progress: tuple[float, ...]
    seen: list[float]


@pytest.fixture(scope="module")
def prepared(screened: Path) -> Prepared:
    seen: list[float] = []
    model = PlayerModel.fit(KIND, soprano(), [], cache=FinderCache(screened, progress=seen.append))
    fingering = parse_fingering("T R 123 | -2- | right cross, G#/Eb", soprano())
    start = Start(WrittenPitch.from_canonical("G5-50c"), fingering, "logged", -14.0, 7)
    seen.clear()
    prepare(model.tube, [start])
    return Prepared(model, start, tuple(seen), seen)


def test_after_preparing_nothing_is_computed_for_a_suggestion(
    prepared: Prepared, monkeypatch: pytest.MonkeyPatch
) -> None:

    def refuse(self: Tube, spots: Spots) -> None:
        assert len(spots) == 0, "computed late"

    monkeypatch.setattr(Tube, "_compute_rows", refuse)
    start = prepared.start
    assert suggest(start.written, model=prepared.model, starts=[start]).items


def test_what_was_asked_for_least_recently_goes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(caching, "_MOST_KEPT", 2)
    cache = FinderCache()
    made: list[str] = []

    def recall(name: str) -> None:
        cache.recall(name, lambda: made.append(name))

    for name in ("first", "second", "first", "third", "first", "second"):
        recall(name)
    assert made == ["first", "second", "third", "second"]


def test_two_tubes_of_one_instrument_never_share_what_lies_around_a_fingering(
    kept: Path,
) -> None:
    cache = FinderCache(kept)
    tube = PlayerModel.fit(KIND, soprano(), [], cache=cache).tube
    other = Tube._make(KIND, soprano(), tube.geometry, tube.temperature_c, cache, is_screened=True)
    assert other.serial != tube.serial


def test_preparing_tells_its_progress_to_the_end(prepared: Prepared) -> None:
    assert list(prepared.progress) == sorted(prepared.progress)
    assert prepared.progress[-1] == 1.0
    prepared.seen.clear()
    prepare(prepared.model.tube, [replace(prepared.start, offset_cents=-9.0)])
    assert prepared.seen == [1.0]
