"""What is still to do for a part on a notebook of awkward cases, and in which order."""

from __future__ import annotations

import pytest
from sqlalchemy import event

from analysis.pitch import WrittenPitch
from analysis.score import NothingPitched, ReadingSettings, parse_typed_part, to_transcript
from tests.analysis.notation.scores import bar, note, rest, score, transcribe
from tests.webapp.awkward_cases import CASES, log_case, note_of_case, sounding_hz
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, log
from webapp.notebook.instruments.layouts import add_layout, propose_layout
from webapp.notebook.pieces.needs import name_bars
from webapp.notebook.pieces.todo import PieceTodo, TodoNote, open_todo
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.targets.choices import set_tolerance
from webapp.notebook.targets.search import SearchQuery, search_target
from webapp.notebook.targets.standing import Judged, Standing

KEYS = "T R 123 | 12-"
TEMPO = '"1/4=60"'


def ask(notebook: Notebook, instrument: int, text: str) -> PieceTodo:
    transcript = to_transcript(parse_typed_part(text))
    return open_todo(notebook, instrument, transcript, ReadingSettings())


def names_of(found: PieceTodo) -> list[str]:
    return [each.need.written.canonical for each in found.notes]


def only(found: PieceTodo) -> TodoNote:
    (note,) = found.notes
    return note


class Player:
    """Logs measured fingerings."""

    def __init__(self, notebook: Notebook, instrument: int, take_maker: TakeMaker) -> None:
        self.notebook, self.instrument, self._make = notebook, instrument, take_maker

    def play(self, target: str, offset_cents: float) -> int:
        number = log(self.notebook, self.instrument, target, KEYS)
        cents = float(WrittenPitch.from_canonical(target).cents)
        self._make(self.notebook, number, sounding_hz(cents + offset_cents, -200))
        return number


@pytest.fixture
def player(notebook: Notebook, soprano: int, take_maker: TakeMaker) -> Player:
    return Player(notebook, soprano, take_maker)


def stance(judged: Judged | None) -> tuple[int, Standing, float | None] | None:
    """Which fingering it is and how it stands; texts are read only where they are shown."""
    if judged is None:
        return None
    return judged.facts.fingering_id, judged.standing, judged.offset_cents


def test_every_note_is_judged_as_a_search_judges_it(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    notes = [note_of_case(case) for case in CASES]
    for case, written in zip(CASES, notes, strict=True):
        log_case(notebook, take_maker, soprano, written, case)
    found = ask(notebook, soprano, " | ".join(each.canonical for each in notes))
    assert {each.need.written.cents for each in found.notes} == {each.cents for each in notes}
    open_bars: list[int] = []
    for each in found.notes:
        query = SearchQuery(each.need.written.canonical, soprano)
        result = search_target(notebook, query, names=ENGLISH)
        assert result.answer is not None
        assert stance(each.best) == stance(result.answer.best)
        assert each.answer.is_solved == result.answer.is_solved
        assert each.answer.note == result.answer.note
        if not each.answer.is_solved:
            open_bars += each.need.bars
        if each.nearest is not None and result.nearest:
            assert each.nearest.facts.fingering_id in {hit.fingering.id for hit in result.nearest}
    assert found.open_bars == tuple(sorted(open_bars))
    pressing = [(each.answer.is_solved, each.standing_words) for each in found.notes]
    standings = ["open", "near", "not tried", "in tune"]
    assert pressing == sorted(pressing, key=lambda each: (each[0], standings.index(each[1])))


def test_the_most_pressing_comes_first(player: Player) -> None:
    player.play("G4-50c", 0.0)
    player.play("A4-50c", 17.0)
    log(player.notebook, player.instrument, "B4 -50", KEYS)
    text = f"G4 -50 (1/4) {TEMPO}, B4 -50, A4 -50 | C5 -50 (1/8), D5 -50, D5 -50, E5 -50 (3/4)"
    found = ask(player.notebook, player.instrument, text)
    order = ["E5-50c", "D5-50c", "C5-50c", "A4-50c", "B4-50c", "G4-50c"]
    assert names_of(found) == order
    words = ["open", "open", "open", "near", "not tried", "in tune"]
    assert [each.standing_words for each in found.notes] == words


def test_without_a_tempo_the_longest_in_quarters_comes_first(player: Player) -> None:
    found = ask(player.notebook, player.instrument, "C5 -50 (1/8), D5 -50 (1/2), E5 -50 (1/4)")
    assert names_of(found) == ["D5-50c", "E5-50c", "C5-50c"]
    assert {each.answer.note.tolerance_cents for each in found.notes} == {10.0}


def test_the_part_decides_how_near_is_in_tune(player: Player) -> None:
    """Eight cents off are in tune in passing, not in a held note; eighteen only in a short one."""
    player.play("D5-50c", 8.0)
    player.play("G4-50c", 18.0)

    def stand(text: str) -> Standing | None:
        best = only(ask(player.notebook, player.instrument, text)).best
        return best.standing if best else None

    assert stand(f"D5 -50 (1/4) {TEMPO}") is Standing.IN_TUNE
    assert stand(f"D5 -50 (1/2) {TEMPO}") is Standing.NEAR
    assert stand(f"G4 -50 (1/4) {TEMPO}") is Standing.NEAR
    assert stand(f"G4 -50 (1/16) {TEMPO}") is Standing.IN_TUNE


def test_a_tolerance_of_the_notes_own_wins(player: Player) -> None:
    player.play("D5-50c", 8.0)
    set_tolerance(player.notebook, player.instrument, "D5-50c", 9.0)
    found = only(ask(player.notebook, player.instrument, f"D5 -50 (1/2) {TEMPO}"))
    assert found.answer.note.tolerance_cents == 9.0
    assert (found.tolerance_words, found.standing_words) == ("your own", "in tune")


def test_the_usual_tolerance_is_the_players(player: Player) -> None:
    change_preferences(player.notebook, Writing(tolerance_cents=7.0))
    found = ask(player.notebook, player.instrument, f"D5 -50 (1/4) {TEMPO}, gr E5 -50")
    assert {each.answer.note.tolerance_cents for each in found.notes} == {7.0, 20.0}


def test_ordinary_semitones_are_settled_until_the_player_says_otherwise(player: Player) -> None:
    found = ask(player.notebook, player.instrument, "E3, C#5, Db5, C6 | D5")
    assert (found.notes, found.open_bars) == ((), ())
    set_tolerance(player.notebook, player.instrument, "C#5", 5.0)
    note = only(ask(player.notebook, player.instrument, "E3, C#5, Db5, C6 | D5"))
    assert (note.need.written.canonical, note.need.count) == ("C#5", 2)


def test_a_semitone_beyond_the_ordinary_ones_needs_thought(player: Player) -> None:
    found = ask(player.notebook, player.instrument, "C3, E3")
    assert names_of(found) == ["C3"]


def test_what_is_nearest_is_said_only_where_nothing_serves(player: Player) -> None:
    near = player.play("D5-50c", 40.0)
    far = player.play("D5-50c", -60.0)
    found = only(ask(player.notebook, player.instrument, "D5 -50"))
    assert found.best is None and found.nearest is not None
    assert found.nearest.facts.fingering_id == near
    assert found.nearest.offset_cents == pytest.approx(40.0, abs=0.01)
    put_in_bin(player.notebook, "fingering", near)
    found = only(ask(player.notebook, player.instrument, "D5 -50"))
    assert found.nearest is not None and found.nearest.facts.fingering_id == far
    assert only(ask(player.notebook, player.instrument, "A5 -50")).nearest is None
    player.play("D5-50c", 0.0)
    assert only(ask(player.notebook, player.instrument, "D5 -50")).nearest is None


def test_a_silent_or_rejected_fingering_is_not_the_nearest(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    by_name = {case.name: case for case in CASES}
    for name in ("nothing but a rejected one", "does not speak"):
        case = by_name[name]
        log_case(notebook, take_maker, soprano, note_of_case(case), case)
        found = only(ask(notebook, soprano, note_of_case(case).canonical))
        assert (found.standing_words, found.nearest) == ("open", None)


def test_the_bars_that_remain_are_named(player: Player) -> None:
    player.play("D5-50c", 0.0)
    text = "12: E5 -50 | 30: D5 -50 | 31: E5 -50 | G4 -50 | tr C5/Dqf5, E5 -50 | D5 -50"
    found = ask(player.notebook, player.instrument, text)
    assert name_bars(found.open_bars, found.part) == "12, 31-33"


def test_a_score_file_is_answered_alike(player: Player) -> None:
    player.play("D5-50c", 0.0)
    content = score(bar(note("D5 -0.5", "quarter-flat"), note("E5 0.5"), number="7"))
    found = open_todo(player.notebook, player.instrument, transcribe(content), ReadingSettings())
    assert [each.standing_words for each in found.notes] == ["open", "in tune"]
    assert name_bars(found.open_bars, found.part) == "7"


def test_another_instruments_fingerings_say_nothing(player: Player) -> None:
    player.play("D5-50c", 0.0)
    other = add_clarinet(player.notebook, "in A", kind_id="a-soprano")
    assert only(ask(player.notebook, other, "D5 -50")).standing_words == "open"


def test_refusals(player: Player) -> None:
    with pytest.raises(NotInNotebook):
        ask(player.notebook, 99, "D5 -50")
    with pytest.raises(NothingPitched):
        open_todo(
            player.notebook, player.instrument, transcribe(score(bar(rest(4)))), ReadingSettings()
        )


def test_the_number_of_queries_does_not_grow(player: Player) -> None:
    def count(text: str) -> int:
        statements: list[str] = []

        def note_down(*arguments: object) -> None:
            statements.append(str(arguments[2]))

        engine = player.notebook.database.engine
        event.listen(engine, "before_cursor_execute", note_down)
        try:
            ask(player.notebook, player.instrument, text)
        finally:
            event.remove(engine, "before_cursor_execute", note_down)
        return len(statements)

    few = count("D5 -50")
    for target in ("D5-50c", "E5-50c", "G4-50c"):
        player.play(target, 5.0)
    many = " | ".join(f"{letter}{octave} -50" for letter in "CDEFGAB" for octave in (4, 5))
    assert count(many) == few


def test_a_layout_of_the_players_own_is_judged_by_its_ordinary_notes(notebook: Notebook) -> None:
    own = add_layout(notebook, propose_layout(notebook, "soprano-german"))
    instrument = add_clarinet(notebook, "own", layout_id=own)
    assert names_of(ask(notebook, instrument, "E4, D5 -50")) == ["D5-50c"]
