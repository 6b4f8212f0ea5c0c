"""The upkeep of what is derived, on notebooks of every earlier form.

The truth is what the verbs themselves write: the filled notebook as its takes and keys left it.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from analysis.keywork import assess_ease, hole_signature
from tests.thinning import every_daily
from tests.webapp.logging_rows import Filled, TakeMaker, log
from tests.webapp.older_forms import EARLIER, Rows, execute, file_of, go_back, tables_of, take_form
from tests.webapp.playing import sounding_hz
from webapp.notebook import upkeep
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering
from webapp.notebook.upkeep import bring_up_to_date

DERIVED = {
    "has_half_hole", "hole_signature", "ease", "take_count", "failed_take_count", "spread_cents",
    "offset_cents", "offset_uncertainty_cents", "sounding_cents",
}  # fmt: skip
SPOIL = (
    "UPDATE fingering SET has_half_hole = 1 - has_half_hole, hole_signature = 'x', ease = -1, "
    "take_count = 99, failed_take_count = 99, spread_cents = 99, offset_cents = 99, "
    "offset_uncertainty_cents = 99, sounding_cents = 99"
)
UNDONE = "DELETE FROM upkeep"


def fingerings(notebook: Notebook) -> Rows:
    """Every row, those in the bin too."""
    return tables_of(file_of(notebook))["fingering"]


def kept(notebook: Notebook) -> Rows:
    """What is the player's in every row."""
    return [
        {name: value for name, value in row.items() if name not in DERIVED}
        for row in fingerings(notebook)
    ]


def versions(notebook: Notebook) -> dict[object, tuple[object, object, object]]:
    """Which upkeep has been done, and how far another has come."""
    return {
        row["name"]: (row["version"], row["next_version"], row["done_to"])
        for row in tables_of(file_of(notebook))["upkeep"]
    }


DONE = {name: (version, None, 0) for name, (version, _) in upkeep.STEPS.items()}


@pytest.mark.parametrize("revision", every_daily(4, EARLIER))
def test_a_notebook_of_an_earlier_form_gets_every_derived_column(
    filled: tuple[Notebook, Filled], filled_forms: Path, revision: str
) -> None:
    notebook, rows = filled
    right = fingerings(notebook)
    take_form(notebook, filled_forms, revision)
    open_notebook(notebook.folder).close()
    assert fingerings(notebook) == right, "and no row is dated anew or has a new version"
    assert versions(notebook) == DONE
    found = {row["id"]: row for row in fingerings(notebook)}
    for number in (rows.base, rows.half_hole, rows.on_bass):
        keys = open_fingering(notebook, number).fingering.key_states()
        assert found[number]["hole_signature"] == hole_signature(keys)
        assert found[number]["ease"] == pytest.approx(assess_ease(keys).figure)
        assert found[number]["has_half_hole"] == keys.has_half_hole
    # one held note and one without a pitch (`fill`)
    assert (found[rows.base]["take_count"], found[rows.base]["failed_take_count"]) == (1, 1)
    assert found[rows.base]["spread_cents"] is not None
    assert found[rows.child]["spread_cents"] is None


def test_spoilt_figures_are_computed_anew_and_nothing_of_the_players_changes(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, _ = filled
    right, players = fingerings(notebook), kept(notebook)
    execute(file_of(notebook), SPOIL)
    execute(file_of(notebook), UNDONE)
    bring_up_to_date(notebook.database)
    assert kept(notebook) == players, "updated_at and version among them"
    assert fingerings(notebook) == right


def test_the_day_is_taken_out_of_figures_of_an_earlier_form(
    notebook: Notebook, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    tuning = log(notebook, clarinet, "B4", "T R 123 | 123")
    played = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    note = take_maker(notebook, tuning, sounding_hz(7100 + 12))
    take_maker(notebook, played, sounding_hz(7350 + 15))
    assert open_fingering(notebook, played).fingering.offset_cents == pytest.approx(15.0)
    choose_tuning_take(notebook, practice, note)
    # 15 cents sharp on a day that is 12 cents sharp (closed formula: the difference)
    assert open_fingering(notebook, played).fingering.offset_cents == pytest.approx(3.0)
    execute(file_of(notebook), "UPDATE fingering SET offset_cents = 15, sounding_cents = 7165")
    go_back(notebook, "0005")
    with closing(open_notebook(notebook.folder)) as again:
        row = open_fingering(again, played).fingering
        assert row.offset_cents == pytest.approx(3.0)
        assert row.sounding_cents == pytest.approx(7150 + 3)


def test_takes_of_an_earlier_form_are_judged_and_the_player_is_told(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    played = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    for cents in (-4.0, -5.0, -3.6, -1211.0):
        take_maker(notebook, played, sounding_hz(7350 + cents))
    right = open_fingering(notebook, played).fingering
    # what the version before made of it: all four in one figure
    execute(
        file_of(notebook),
        "UPDATE fingering SET offset_cents = -607.8, sounding_cents = 6542.2, take_count = 4",
    )
    execute(file_of(notebook), "UPDATE upkeep SET version = 1 WHERE name = 'evidence'")
    go_back(notebook, "0006")
    with closing(open_notebook(notebook.folder)) as again:
        row = open_fingering(again, played).fingering
        assert (row.take_count, row.set_aside_count) == (3, 1)
        assert row.offset_cents == pytest.approx(right.offset_cents)
        assert again.news == (
            "Takes are judged anew: 1 of 1 fingering no longer counts. Each is kept; its page says "
            "why, and one touch says otherwise.",
        )
    with closing(open_notebook(notebook.folder)) as once_more:
        assert once_more.news == ()


def test_it_goes_on_where_it_was_stopped(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, _ = filled
    right, players = fingerings(notebook), kept(notebook)
    execute(file_of(notebook), SPOIL)
    execute(file_of(notebook), UNDONE)
    monkeypatch.setattr(upkeep, "STRETCH", 2)
    seen: list[int] = []
    version, refresh = upkeep.STEPS["keys"]

    def stop_in_the_second_stretch(session: Session, fingering: Fingering) -> None:
        if len(seen) == 3:
            raise KeyboardInterrupt
        seen.append(fingering.id)
        refresh(session, fingering)

    monkeypatch.setitem(upkeep.STEPS, "keys", (version, stop_in_the_second_stretch))
    with pytest.raises(KeyboardInterrupt):
        bring_up_to_date(notebook.database)
    first, second = seen[:2]
    assert versions(notebook) == {"keys": (0, version, second)}, "the first stretch is kept"
    spoilt = [row["id"] for row in fingerings(notebook) if row["hole_signature"] == "x"]
    assert first not in spoilt
    assert second not in spoilt
    assert len(spoilt) == len(right) - 2
    seen[:] = [0] * 10
    bring_up_to_date(notebook.database)
    assert first not in seen[10:], "what is done is not done again"
    assert len(seen) - 10 == len(right) - 2
    assert fingerings(notebook) == right
    assert kept(notebook) == players
    assert versions(notebook) == DONE


def test_when_the_rules_change_meanwhile_it_begins_with_the_first_row(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, _ = filled
    execute(
        file_of(notebook),
        f"UPDATE upkeep SET version = 0, next_version = {upkeep.KEYS_VERSION}, done_to = 2 "
        "WHERE name = 'keys'",
    )
    seen: list[int] = []
    later = upkeep.KEYS_VERSION + 1
    monkeypatch.setitem(upkeep.STEPS, "keys", (later, lambda _, row: seen.append(row.id)))
    bring_up_to_date(notebook.database)
    assert seen == [row["id"] for row in fingerings(notebook)]
    assert versions(notebook)["keys"] == (later, None, 0)


def test_what_is_up_to_date_is_only_read(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    before = file_of(notebook).read_bytes()
    bring_up_to_date(notebook.database)
    open_notebook(notebook.folder).close()
    assert file_of(notebook).read_bytes() == before


def test_an_empty_notebook_is_done_at_once(tmp_path: Path) -> None:
    with closing(open_notebook(tmp_path / "new")) as new:
        assert versions(new) == DONE


def test_keys_that_cannot_be_read_stop_nothing(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    right = {row["id"]: row for row in fingerings(notebook)}
    spoil = f"UPDATE fingering SET keys_text = 'spoon' WHERE id = {rows.silent}"
    execute(file_of(notebook), spoil)
    go_back(notebook, "0005")
    open_notebook(notebook.folder).close()
    found = {row["id"]: row for row in fingerings(notebook)}
    assert (found[rows.silent]["keys_text"], found[rows.silent]["ease"]) == ("spoon", None)
    assert found[rows.base] == right[rows.base]


def test_the_migration_alone_leaves_it_to_the_upkeep(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    go_back(notebook, "0002")
    migrate(notebook.database.engine)
    with closing(sqlite3.connect(file_of(notebook))) as connection:
        query = "SELECT DISTINCT hole_signature, ease FROM fingering"
        assert connection.execute(query).fetchall() == [(None, None)]
