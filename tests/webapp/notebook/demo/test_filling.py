"""The filled demo notebook: what the services measured is what was put in."""

import shutil
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import func, select

from analysis.recording import Verdict
from webapp.notebook.demo import attaching, fill_demo, filling
from webapp.notebook.demo.story import DemoFingering, DemoTake, read_story
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.evidence import load_details, load_takes

STORY = {each.name: each for owner in read_story() for each in owner.fingerings}
Rows = dict[str, Fingering]
Takes = dict[str, list[Take]]
TAKE_COUNT = sum(len(each.takes) for each in STORY.values())
# Those that a test names, and every sixteenth: what is played every day. The long run plays all.
PLAYED_DAILY = frozenset(STORY) & {
    "a-qs-3-low-f", "b-qs-5", "bass-c-qs-4", "e-qf-4", "e-qf-5-low-e", "f-qs-5-low-f",
    *list(STORY)[::16],
}  # fmt: skip


@pytest.fixture(name="played", scope="module")
def _played(request: pytest.FixtureRequest) -> frozenset[str]:
    """Return the fingerings of the story whose takes are played and measured."""
    return frozenset(STORY) if request.config.getoption("--all") else PLAYED_DAILY


@pytest.fixture(name="demo", scope="module")
def _demo(tmp_path_factory: pytest.TempPathFactory, played: frozenset[str]) -> Iterator[Notebook]:
    """Fill one notebook for the whole module: a quarter of a second for each take."""
    notebook = open_notebook(tmp_path_factory.mktemp("demo"), is_demo=True)
    attach = attaching.attach
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            attaching,
            "attach",
            lambda into, each, take: (
                attach(into, each, take) if each.fingering.name in played else None
            ),
        )
        fill_demo(notebook)
    yield notebook
    notebook.close()


@pytest.fixture(name="empty")
def _empty(tmp_path: Path) -> Iterator[Notebook]:
    notebook = open_notebook(tmp_path / "demo", is_demo=True)
    yield notebook
    notebook.close()


@pytest.fixture
def short_story(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first fingerings of the story, without its piece: enough for what ends the filling."""
    first = read_story()[0]
    few = sorted(first.fingerings, key=lambda each: each.logged_at)[:5]
    assert any(each.takes for each in few)
    monkeypatch.setattr(filling, "read_story", lambda: (replace(first, fingerings=tuple(few)),))
    monkeypatch.setattr(filling, "_bring_in_piece", lambda *_: None)


@pytest.fixture(name="rows", scope="module")
def _rows(demo: Notebook) -> dict[str, Fingering]:
    """Return the fingerings in the notebook by their name in the story."""
    with demo.database.reading() as session:
        rows = list(session.scalars(select(Fingering).order_by(Fingering.created_at)))
    names = sorted(STORY, key=lambda name: STORY[name].logged_at)
    return dict(zip(names, rows, strict=True))


@pytest.fixture(name="takes", scope="module")
def _takes(demo: Notebook, rows: Rows, played: frozenset[str]) -> dict[str, list[Take]]:
    """Return the takes of each fingering that was played by its name in the story."""
    with demo.database.reading() as session:
        found = {name: load_takes(session, row.id) for name, row in rows.items() if name in played}
        load_details(session, [take for each in found.values() for take in each])
        return found


def pair_takes(rows: Rows, takes: Takes) -> Iterator[tuple[DemoTake, Take, Fingering]]:
    for name, some in takes.items():
        for put_in, take in zip(STORY[name].takes, some, strict=True):
            yield put_in, take, rows[name]


def count_played(played: frozenset[str]) -> int:
    return sum(len(STORY[name].takes) for name in played)


def test_everything_in_the_story_is_in_the_notebook(
    rows: Rows, takes: Takes, played: frozenset[str]
) -> None:
    assert len(rows) == len(STORY)
    assert sum(len(each) for each in takes.values()) == count_played(played)
    for name, row in rows.items():
        put_in = STORY[name]
        assert (row.keys_text, row.notes, row.resistance) == (
            put_in.keys,
            put_in.notes,
            put_in.resistance,
        )


def test_every_measured_offset_is_the_one_put_in(
    rows: Rows, takes: Takes, played: frozenset[str]
) -> None:
    # The truth is the formula of the synthesiser: target and offset give the median pitch. That
    # of a vibrato depends on where in its turn the steady part starts and ends.
    errors, limits = {}, {}
    for put_in, take, row in pair_takes(rows, takes):
        if put_in.is_silent:
            continue
        assert take.sounding is not None, take.original_name
        errors[take.original_name] = take.sounding.cents - row.target_cents - put_in.offset_cents
        limits[take.original_name] = 1.0 if put_in.vibrato_cents else 0.5
    assert len(errors) == count_played(played) - 1
    assert {name: error for name, error in errors.items() if abs(error) > limits[name]} == {}


def test_takes_raise_no_warning(rows: Rows, takes: Takes) -> None:
    for _, take, _ in pair_takes(rows, takes):
        assert take.measurement.read().warnings == (), take.original_name


def test_the_silent_take_is_kept_with_its_verdict_and_proves_nothing(
    rows: Rows,
    takes: dict[str, list[Take]],
) -> None:
    row = rows["f-qs-5-low-f"]
    assert [take.measurement.verdict for take in takes["f-qs-5-low-f"]] == [Verdict.SILENCE]
    assert row.take_count == 0 and row.offset_cents is None


def test_the_vibrato_is_found_with_its_size_and_rate(rows: Rows, takes: Takes) -> None:
    put_in = next(take for take, _, _ in pair_takes(rows, takes) if take.vibrato_cents)
    found = [
        vibrato
        for _, take, _ in pair_takes(rows, takes)
        if (vibrato := take.measurement.read().vibrato) is not None
    ]
    assert len(found) == 1
    assert found[0].rate_hz == pytest.approx(put_in.vibrato_hz, abs=0.2)
    assert found[0].extent_cents == pytest.approx(put_in.vibrato_cents, abs=1.0)


def test_the_outlier_does_not_drag_the_pooled_figure(rows: Rows) -> None:
    row = rows["e-qf-4"]
    assert row.take_count == 4
    assert row.offset_cents is not None
    # The mean of the four would be +4.6; the three that agree lie around -2.7.
    assert row.offset_cents == pytest.approx(-2.7, abs=2.0)


def test_the_brightness_of_each_register_is_that_of_real_notes(rows: Rows, takes: Takes) -> None:
    # Centroid / f0 of public orchestral single notes, 10th to 90th percentile (chalumeau, clarion,
    # low bass clarinet), from memory; widened by a tenth.
    limits = {"a-qs-3-low-f": (1.5, 8.1), "e-qf-5-low-e": (1.2, 3.5), "bass-c-qs-4": (2.9, 8.1)}
    for name, (least, most) in limits.items():
        for take in takes[name]:
            brightness = take.measurement.brightness_partials
            assert brightness is not None and least < brightness < most


def test_the_lineage_can_be_followed_back(demo: Notebook, rows: Rows) -> None:
    page = open_fingering(demo, rows["b-qf-3"].id)
    expected = ["a-qs-3-low-e", "a-qs-3-low-f", "a-qs-3"]
    assert [each.id for each in page.ancestors] == [rows[name].id for name in expected]


def test_every_date_is_one_of_the_story(demo: Notebook, rows: Rows, takes: Takes) -> None:
    for name, row in rows.items():
        put_in = STORY[name].takes if name in takes else ()
        moments = [STORY[name].logged_at, *(take.at for take in put_in)]
        assert (row.created_at, row.updated_at) == (moments[0], moments[-1])
        for take, at in zip(takes.get(name, ()), moments[1:], strict=True):
            assert take.recorded_at == take.created_at == take.measurement.measured_at == at
    with demo.database.reading() as session:
        for instrument in session.scalars(select(Instrument)):
            assert instrument.created_at == instrument.updated_at
            assert instrument.created_at.year == 2025


def count(notebook: Notebook, kind: type[Fingering | Take]) -> int:
    with notebook.database.reading() as session:
        return session.scalar(select(func.count()).select_from(kind)) or 0


def test_a_set_stop_ends_after_the_fingerings_are_logged(empty: Notebook) -> None:
    stop = threading.Event()
    stop.set()
    fill_demo(empty, stop=stop)
    assert count(empty, Fingering) == len(STORY)
    assert count(empty, Take) == 0


def test_the_newest_fingerings_get_their_takes_first(
    empty: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    attached: list[DemoFingering] = []
    monkeypatch.setattr(attaching, "attach", lambda _, each, __: attached.append(each.fingering))
    fill_demo(empty)
    times = [each.logged_at for each in attached]
    assert len(times) == TAKE_COUNT
    assert times == sorted(times, reverse=True)


@pytest.mark.usefixtures("short_story")
def test_a_notebook_removed_meanwhile_ends_the_filling_quietly(
    empty: Notebook, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def remove_folder(*_: object, **__: object) -> bytes:
        shutil.rmtree(empty.folder)
        return b"RIFF"

    monkeypatch.setattr(attaching, "play_take", remove_folder)
    fill_demo(empty)
    assert not empty.folder.exists()
    assert not [record for record in caplog.records if record.levelname == "ERROR"]


@pytest.mark.usefixtures("short_story")
def test_a_failure_in_an_open_notebook_is_not_hidden(
    empty: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> bytes:
        raise RuntimeError("no sound")

    monkeypatch.setattr(attaching, "play_take", fail)
    with pytest.raises(RuntimeError, match="no sound"):
        fill_demo(empty)


@pytest.mark.usefixtures("short_story")
def test_a_fingering_binned_meanwhile_is_passed_over(
    empty: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    def bin_everything(*_: object, **__: object) -> None:
        raise NotInNotebook("in the bin")

    monkeypatch.setattr(attaching, "open_fingering", bin_everything)
    fill_demo(empty)
    assert count(empty, Take) == 0


def test_a_players_own_notebook_is_never_filled(tmp_path: Path) -> None:
    notebook = open_notebook(tmp_path / "own")
    with pytest.raises(ValueError, match="never a player's own"):
        fill_demo(notebook)
    assert count(notebook, Fingering) == 0
    notebook.close()
