"""What is kept on disk is read again, and made again when it is damaged."""

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from analysis.acoustics.split_tube import SplitTube
from analysis.finder import FinderCache, PlayerModel, Start, caching, prepare, suggest
from analysis.finder.tube import Tube
from analysis.keywork import parse_fingering
from analysis.pitch import WrittenPitch
from tests.analysis.finder.players import KIND, soprano
from tests.computed_once import compute_anew

FINGERING = parse_fingering("T R 123 | -2- | right cross", soprano())
TARGET = WrittenPitch.from_canonical("G5-50c")


@pytest.fixture(scope="module")
def screened(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder where a part of the soprano's screening lies, to be copied."""
    folder = tmp_path_factory.mktemp("screened")
    model = fit(folder)
    model.predict(FINGERING, TARGET)
    model.tube.store()
    return folder


@pytest.fixture
def kept(screened: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(screened, tmp_path / "kept"))


def fit(folder: Path) -> PlayerModel:
    return PlayerModel.fit(KIND, soprano(), [], cache=FinderCache(folder))


def test_what_was_screened_comes_back_from_disk(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = fit(kept).predict(FINGERING, TARGET)

    def refuse(self: SplitTube, holes: object) -> None:
        raise AssertionError("computed again")

    monkeypatch.setattr(SplitTube, "find", refuse)
    assert fit(kept).predict(FINGERING, TARGET) == first


def test_a_damaged_screening_is_made_again(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = fit(kept).predict(FINGERING, TARGET)
    compute_anew(monkeypatch)
    (stored,) = kept.glob("screening-*")
    stored.write_bytes(stored.read_bytes()[:-40])
    again = fit(kept)
    assert len(again.tube.screening.known.holes) == 0
    assert again.predict(FINGERING, TARGET) == before
    again.tube.store()
    assert len(fit(kept).tube.screening.known.holes) > 0
    assert not list(kept.glob(".making-*"))


def test_nothing_is_stored_where_there_is_no_news(kept: Path) -> None:
    model = fit(kept)
    model.predict(FINGERING, TARGET)
    for path in kept.iterdir():
        path.unlink()
    model.tube.store()
    assert list(kept.iterdir()) == []


def test_sensitivities_come_back_from_disk(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = fit(kept).predict(FINGERING, TARGET)

    def refuse(self: Tube, *_: object) -> None:
        raise AssertionError("computed again")

    monkeypatch.setattr(Tube, "_compute_rows", refuse)
    second = fit(kept).predict(FINGERING, TARGET)
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

    def refuse(self: Tube, *_: object) -> None:
        raise AssertionError("computed late")

    monkeypatch.setattr(Tube, "_compute_rows", refuse)
    start = prepared.start
    assert suggest(start.written, model=prepared.model, starts=[start]).items


def test_what_was_done_before_preparing_is_ended_is_stored(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    compute_anew(monkeypatch)
    (stored,) = kept.glob("sensitivities-*")
    stored.unlink()
    tube = fit(kept).tube
    monkeypatch.setattr(Tube, "list_common", lambda self: self.ordinary)

    def end(share: float) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        tube.prepare(end)
    assert stored.exists()


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
