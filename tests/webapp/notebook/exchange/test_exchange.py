"""Exchange between two notebooks: what leaves one arrives in the other as the sender's own."""

from pathlib import Path

import pytest
from sqlalchemy import select

from analysis.finder import Strategy
from analysis.keywork import RightThumb
from analysis.pitch import NoteNames, WrittenPitch
from tests.webapp.conftest import Opener
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, log
from tests.webapp.notebook.exchange.sending import (
    arrive,
    bring_in,
    document_of,
    export,
    send_on,
    unpack,
)
from webapp.notebook.entry.opening import open_entry
from webapp.notebook.exchange import trying
from webapp.notebook.exchange.comparing import Standpoint, preview_document
from webapp.notebook.exchange.received import (
    COLUMNS,
    list_senders,
    open_near,
    open_received,
    open_sender,
    tabulate_sender,
)
from webapp.notebook.exchange.selecting import Sending
from webapp.notebook.exchange.trying import accept_list, try_theirs
from webapp.notebook.finder.finder_evidence import collect_evidence
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.practice import practice_targets
from webapp.notebook.practice.practice_targets import load_targets
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin, restore
from webapp.notebook.safekeeping.checking import check_clips, check_database
from webapp.notebook.store.errors import ExchangeRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.targets.search import SearchQuery, search_target

ENGLISH = NoteNames.ENGLISH
NOTE = WrittenPitch.from_canonical("D5-50c")


@pytest.fixture
def other(opened: Opener, empty_folder: Path) -> Notebook:
    """The notebook of another player, empty."""
    return opened(empty_folder)


@pytest.fixture
def sent(filled: tuple[Notebook, Filled]) -> bytes:
    """All of an instrument of the filled notebook, with a list."""
    notebook, rows = filled
    return export(notebook, rows.soprano, Sending("A. Player", True, "For next week", "Slowly."))


def test_what_came_is_theirs_and_is_shown_whole(
    other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    sender_id, preview = bring_in(other, sent, tmp_path)
    page = open_sender(other, sender_id)
    assert page.sender.name == "A. Player"
    assert preview.sound_count > 0
    (entry,) = list_senders(other)
    assert (entry.fingering_count, entry.list_count) == (len(page.fingerings), 1)
    first = next(each for each in page.fingerings if each.theirs.said["notes"])
    assert first.theirs.said["notes"] == "First of its line."
    assert first.theirs.strategy is Strategy.RAISED
    assert first.theirs.instrument.setup_lines[0] == "Mouthpiece: open, invented"
    assert first.attribution == "from A. Player, on Invented B-flat"
    heard = next(each for each in page.fingerings if each.sounds)
    assert open_received(other, heard.id).received.sounds == heard.sounds


def test_every_row_of_the_table_says_whose_it_is(
    other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    sender_id, _ = bring_in(other, sent, tmp_path)
    table = [
        dict(zip(COLUMNS, row, strict=True))
        for row in tabulate_sender(open_sender(other, sender_id))
    ]
    assert table
    assert {row["from"] for row in table} == {"A. Player"}
    assert {row["measured_by"] for row in table} == {None, "A. Player"}


def test_export_import_export_gives_the_same_bytes(
    filled: tuple[Notebook, Filled], other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    sender_id, _ = bring_in(other, sent, tmp_path)
    assert send_on(other, sender_id) == sent
    notebook, rows = filled
    again = export(notebook, rows.soprano, Sending("A. Player", True, "For next week", "Slowly."))
    assert again == sent


def test_the_same_archive_again_changes_nothing(
    other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    bring_in(other, sent, tmp_path)
    before, clips = list_senders(other), other.clips.names()
    preview = preview_document(other, arrive(sent, tmp_path).document)
    assert preview.changes_nothing
    bring_in(other, sent, tmp_path)
    assert [each.fingering_count for each in list_senders(other)] == [before[0].fingering_count]
    assert list_senders(other)[0].sender.received_at == before[0].sender.received_at
    assert other.clips.names() == clips


def test_a_newer_one_says_what_changed_and_an_older_one_changes_nothing(
    notebook: Notebook,
    other: Notebook,
    soprano: int,
    take_maker: TakeMaker,
    tmp_path: Path,
) -> None:
    mine = log(notebook, soprano, "D5 -50", "T R 123 | 12-")
    take_maker(notebook, mine, 510.0)
    old = export(notebook, soprano, Sending("A. Player", has_recordings=False))
    sender_id, _ = bring_in(other, old, tmp_path)
    take_maker(notebook, mine, 512.0)
    new = export(notebook, soprano, Sending("A. Player", has_recordings=False))
    preview = preview_document(other, arrive(new, tmp_path).document)
    (changed,) = preview.of(Standpoint.CHANGED)
    assert "became" in changed.changes[0]
    assert "1 more take" in changed.changes
    bring_in(other, new, tmp_path)
    (kept,) = open_sender(other, sender_id).fingerings
    assert kept.theirs.take_count == 2
    preview = preview_document(other, arrive(old, tmp_path).document)
    assert preview.changes_nothing
    assert len(preview.of(Standpoint.OLDER)) == 1
    bring_in(other, old, tmp_path)
    assert open_sender(other, sender_id).fingerings[0].theirs.take_count == 2


def test_recordings_that_come_later_are_added_and_never_go_away(
    filled: tuple[Notebook, Filled], other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    notebook, rows = filled
    silent = export(notebook, rows.soprano, Sending("A. Player", False, "For next week", "Slowly."))
    assert not any(name.startswith("takes/") for name in unpack(silent))
    sender_id, _ = bring_in(other, silent, tmp_path)
    _, preview = bring_in(other, sent, tmp_path)
    assert preview.sound_count == len([n for n in unpack(sent) if n.startswith("takes/")])
    assert preview_document(other, arrive(silent, tmp_path).document).changes_nothing
    assert send_on(other, sender_id) == sent


def judged(notebook: Notebook, instrument_id: int) -> tuple[object, ...]:
    """All that the notebook answers of its own for a note, and what its finder learns from."""
    query = SearchQuery("D5 -50", instrument_id, within_cents=200.0)
    found = search_target(notebook, query, names=ENGLISH)
    with notebook.database.reading() as session:
        instrument = session.get(Instrument, instrument_id)
        assert instrument is not None
        evidence = collect_evidence(session, instrument)
        mine = (session.scalars(select(Fingering.id)).all(), session.scalars(select(Take.id)).all())
    hits = [(each.fingering.id, each.judged) for each in (*found.hits, *found.nearest)]
    return hits, evidence, mine


def test_nothing_of_theirs_counts_as_mine(
    filled: tuple[Notebook, Filled], other: Notebook, take_maker: TakeMaker, tmp_path: Path
) -> None:
    notebook, rows = filled
    theirs = add_clarinet(other, "Theirs")
    take_maker(other, log(other, theirs, "D5 -50", "T R 123 | 12-"), 512.0)
    before = judged(notebook, rows.soprano)
    archive = export(other, theirs, Sending("A. Player", has_recordings=False))
    bring_in(notebook, archive, tmp_path)
    assert judged(notebook, rows.soprano) == before
    instrument = open_instrument(notebook, rows.soprano)
    assert open_near(notebook, instrument, NOTE)


def test_trying_makes_an_entry_of_mine_that_started_from_theirs(
    filled: tuple[Notebook, Filled], other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    mine = add_clarinet(other, "Mine")
    sender_id, _ = bring_in(other, sent, tmp_path)
    received = next(e for e in open_sender(other, sender_id).fingerings if e.theirs.is_measured)
    number = try_theirs(other, received.id, mine)
    assert try_theirs(other, received.id, mine) == number
    fingering = open_fingering(other, number).fingering
    assert (fingering.keys_text, fingering.take_count) == (received.theirs.said["keys"], 0)
    assert fingering.base_keys_text == received.theirs.said["keys"]
    origin = open_entry(other, number).origin
    assert origin is not None
    assert (origin.received_id, origin.sender_name) == (received.id, "A. Player")
    assert [each.id for each in open_received(other, received.id).tried] == [number]


def test_keys_that_my_instrument_lacks_are_named(
    notebook: Notebook, other: Notebook, tmp_path: Path
) -> None:
    theirs = add_clarinet(notebook, "Full", layout_id="soprano-20-7")
    keys = "T R 123 | 123 | left G#/Eb"
    log(notebook, theirs, "E5", keys, layout_id="soprano-20-7")
    mine = add_clarinet(other, "Plain")
    archive = export(notebook, theirs)
    (lacked,) = preview_document(other, arrive(archive, tmp_path).document).lacked
    assert (lacked.instrument.name, lacked.fingering_count) == ("Plain", 1)
    sender_id, _ = bring_in(other, archive, tmp_path)
    (received,) = open_sender(other, sender_id).fingerings
    with pytest.raises(Refused, match=f"Plain has no {lacked.keys[0][0]}"):
        try_theirs(other, received.id, mine)


def test_what_their_thumb_does_comes_along_and_what_mine_cannot_hold_is_named(
    notebook: Notebook, other: Notebook, tmp_path: Path
) -> None:
    bass = {"kind_id": "b-flat-bass", "layout_id": "bass-low-c"}
    theirs = add_clarinet(notebook, "Shared", right_thumb="shares", **bass)
    log(notebook, theirs, "C3", "T 123 | 123 | thumb low C", layout_id="bass-low-c")
    mine = add_clarinet(other, "Carried", right_thumb="carries", **bass)
    sender_id, _ = bring_in(other, export(notebook, theirs), tmp_path)
    (received,) = open_sender(other, sender_id).fingerings
    assert received.theirs.instrument.layout.right_thumb is RightThumb.SHARES
    assert received.theirs.instrument.layout == open_instrument(notebook, theirs).layout
    with pytest.raises(Refused, match=r"On Carried it can't be held\. The right thumb carries"):
        try_theirs(other, received.id, mine)
    free = add_clarinet(other, "Free", **bass)
    assert open_fingering(other, try_theirs(other, received.id, free)).fingering.ease == 1.0


def test_a_list_is_there_to_accept(
    filled: tuple[Notebook, Filled], other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    mine = add_clarinet(other, "Mine")
    sender_id, _ = bring_in(other, sent, tmp_path)
    ((row, theirs),) = open_sender(other, sender_id).lists
    assert (theirs.said["title"], theirs.said["message"]) == ("For next week", "Slowly.")
    assert row.accepted_at is None
    accepted = accept_list(other, row.id, mine)
    with other.database.reading() as session:
        listed = load_targets(session, accepted.practice_id)
    assert len(listed) == accepted.note_count == len(theirs.notes)
    assert sum(each.fingering is not None for each in listed) == len(theirs.notes)
    with pytest.raises(Refused, match="on the list already"):
        accept_list(other, row.id, mine)


def test_my_own_archive_is_refused(
    filled: tuple[Notebook, Filled], sent: bytes, tmp_path: Path
) -> None:
    with pytest.raises(ExchangeRefused, match="this very notebook"):
        bring_in(filled[0], sent, tmp_path)


def test_nothing_to_hand_on_is_refused(notebook: Notebook, soprano: int) -> None:
    with pytest.raises(Refused, match="nothing to hand on"):
        export(notebook, soprano)


def test_filters_narrow_a_selection(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    everything = document_of(export(notebook, rows.soprano))["instruments"][0]["fingerings"]
    for chosen in (
        {"tag": "soft"},
        {"is_measured_only": True},
        {"is_without_half_holes": True},
        {"low": "D5"},
        {"fingering_ids": frozenset({rows.base})},
    ):
        found = document_of(export(notebook, rows.soprano, **chosen))
        assert 0 < len(found["instruments"][0]["fingerings"]) < len(everything), chosen


def test_the_bin_takes_a_sender_and_gives_it_back(
    other: Notebook, sent: bytes, tmp_path: Path
) -> None:
    sender_id, _ = bring_in(other, sent, tmp_path)
    assert check_clips(other).is_sound
    put_in_bin(other, "sender", sender_id)
    assert list_senders(other) == ()
    with pytest.raises(NotInNotebook):
        open_sender(other, sender_id)
    assert restore(other, "sender", sender_id)
    assert send_on(other, sender_id) == sent
    put_in_bin(other, "sender", sender_id)
    empty_bin(other)
    assert other.clips.names() == frozenset()


def test_what_came_is_checked_with_the_rest(other: Notebook, sent: bytes, tmp_path: Path) -> None:
    bring_in(other, sent, tmp_path)
    assert check_database(other).is_sound
    name = sorted(other.clips.names())[0]
    (other.clips.folder / name).write_bytes(b"altered")
    assert check_clips(other).altered == (name,)


def test_a_piece_leaves_as_a_list_with_its_bars_and_arrives_to_be_accepted(
    with_pieces: tuple[Notebook, Filled], other: Notebook, tmp_path: Path
) -> None:
    (notebook, rows), piece = with_pieces, 1
    archive = export(notebook, rows.soprano, Sending("A. Player", True, "Study"), piece_id=piece)
    (said,) = document_of(archive)["lists"]
    first = said["notes"][0]
    assert (first["written"], first["remark"]) == ("D5-50c", "bars 1, 2, 5")
    assert first["fingering"] is not None
    assert any(each["fingering"] is None for each in said["notes"])
    mine = add_clarinet(other, "Mine")
    sender_id, _ = bring_in(other, archive, tmp_path)
    ((row, _),) = open_sender(other, sender_id).lists
    accepted = accept_list(other, row.id, mine)
    with other.database.reading() as session:
        listed = load_targets(session, accepted.practice_id)
    assert listed[0].note == "bars 1, 2, 5"
    assert len(listed) == len(said["notes"])


def test_a_list_longer_than_a_practice_is_accepted_in_parts(
    notebook: Notebook,
    other: Notebook,
    soprano: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    most = 6
    for module in (trying, practice_targets):
        monkeypatch.setattr(module, "TARGETS_AT_MOST", most)
    for number in range(most + 5):
        log(notebook, soprano, f"D5 {number - 40:+d}", "T R 123 | 12-")
    archive = export(notebook, soprano, Sending("A. Player", True, "Long"))
    mine = add_clarinet(other, "Mine")
    sender_id, _ = bring_in(other, archive, tmp_path)
    ((row, _),) = open_sender(other, sender_id).lists
    accepted = accept_list(other, row.id, mine)
    assert (accepted.note_count, accepted.left_out) == (most, 5)
    with pytest.raises(Refused, match="is the limit"):
        accept_list(other, row.id, mine)


def test_notes_stay_at_home_unless_they_are_wanted(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    archive = export(notebook, rows.soprano, Sending("A. Player", has_notes=False))
    assert b"First of its line." not in archive
    assert b"stuffy" not in archive
