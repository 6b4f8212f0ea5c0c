"""Fingered passages on a notebook: options by the judge, what is fixed, what is awkward."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.planning import Backing, Emphasis
from analysis.score import ReadingSettings, ScorePart, parse_typed_part, to_transcript
from tests.webapp.awkward_cases import sounding_hz
from tests.webapp.finder_fakes import RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.looping import record_loop
from tests.webapp.notebook.pieces.filling import add_typed_piece, written
from webapp.notebook.pieces.decisions import FixPlace, fix, load_decisions
from webapp.notebook.pieces.fingered import FingeringWishes, finger_bars
from webapp.notebook.pieces.needs import read_part_for
from webapp.notebook.pieces.passage_notes import (
    Stretch,
    check_tempo,
    find_tempo,
    list_timed,
    read_bars,
)
from webapp.notebook.pieces.passage_options import NoteOption, Predict
from webapp.notebook.pieces.passage_steps import FingeredPassage, FingeredStep, tell_harder
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Choice, Circumstance, Instrument, Role
from webapp.notebook.targets.choices import WordDraft, say_word

A4, A4_RIGHT_HAND = "--- | --- | throat A", "--- | 123 | throat A"
FORK, CROSS = "T R 123 | -2-", "T R 123 | 1-- | right cross"
D_QUARTER_FLAT = "T R 123 | 12- | G#/Eb"
SOME = '1: A4 (1/8) "1/4=120"~B4 (1/8), D5 -50 (1/4) | 2: tr G4/A4 (1/2), C5 (1/2)'


def read(instrument: Instrument, text: str) -> ScorePart:
    transcript = to_transcript(parse_typed_part(text))
    return read_part_for(transcript, ReadingSettings(), instrument.transposition)


def finger(
    notebook: Notebook,
    number: int,
    text: str,
    *,
    bars: str = "",
    tempo: float | None = None,
    piece: int | None = None,
    emphasis: Emphasis = Emphasis.SAFEST,
    predict: Predict | None = None,
) -> FingeredPassage:
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, number)
        part = read(instrument, text)
        wishes = FingeringWishes(emphasis, predict=predict)
        if piece is not None:
            wishes = FingeringWishes(
                emphasis, load_decisions(session, piece, number), predict=predict
            )
        stretch = Stretch(*read_bars(part, bars), tempo)
        return finger_bars(session, instrument, part, stretch, wishes)


def option_of(step: FingeredStep) -> NoteOption:
    assert step.option is not None
    return step.option


def keys_of(passage: FingeredPassage) -> list[str]:
    return [each.keys_text for each in passage.steps]


# Common practice, from memory: over the break the right hand stays down on throat notes.
def test_over_the_break_the_right_hand_is_kept_down(notebook: Notebook, soprano: int) -> None:
    line = "1: " + ", ".join(["A4~B4 (1/16)"] * 4)
    fast = finger(notebook, soprano, line, tempo=120)
    assert set(keys_of(fast)[::2]) == {A4_RIGHT_HAND}
    first = fast.steps[0]
    assert first.option is not None
    assert first.option.words == "right hand kept down, not tried"
    plain = next(each for each in first.alternatives if each.option.keys_text == A4)
    assert plain.words in ("a little harder", "harder", "much harder")
    alone = finger(notebook, soprano, "1: A4 (1/2)")
    assert keys_of(alone) == [A4]


def test_what_is_known_to_be_out_of_tune_silent_or_rejected_is_no_option(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    far = log(notebook, soprano, "F#5", FORK)
    take_maker(notebook, far, sounding_hz(7800 + 45, -200))
    silent = log(notebook, soprano, "F#5", CROSS, does_not_speak=True)
    step = finger(notebook, soprano, "1: F#5").steps[0]
    known = [step.option, *(each.option for each in step.alternatives)]
    assert not {far, silent} & {each.fingering_id for each in known if each}
    assert not {FORK, CROSS} & {each.keys_text for each in known if each}


def test_a_measured_one_stands_in_place_of_the_ordinary_one_it_is(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    number = log(notebook, soprano, "F#5", FORK)
    take_maker(notebook, number, sounding_hz(7803, -200))
    step = finger(notebook, soprano, "1: F#5 (1/2)").steps[0]
    assert step.option is not None
    assert (step.option.fingering_id, step.option.words) == (number, "in tune, +3.0")
    assert step.option.option.backing is Backing.MEASURED
    assert FORK not in [each.option.keys_text for each in step.alternatives]


def test_an_open_note_is_left_open_until_something_is_predicted(
    notebook: Notebook, soprano: int
) -> None:
    passage = finger(notebook, soprano, "1: D5 (1/4), E5 -50 (1/4), F5 (1/4)")
    assert passage.is_waiting
    assert [each.option is None for each in passage.steps] == [False, True, False]
    suggestion = FakeFinder().suggestion(RAISED_E5)
    told = finger(notebook, soprano, "1: D5, E5 -50, F5", predict=lambda *_: [suggestion])
    assert not told.is_waiting
    option = told.steps[1].option
    assert option is not None
    assert (option.is_predicted, option.words, option.keys_text) == (
        True,
        "predicted \N{MINUS SIGN}7",
        RAISED_E5,
    )


@pytest.mark.parametrize(
    ("place", "fixed_steps"),
    [
        (FixPlace(written("F#5")), [0, 2]),
        (FixPlace(written("F#5"), bar=0, onset=Fraction(2)), [2]),
        (FixPlace(written("F#5"), before=written("G5"), after=written("E5")), [2]),
    ],
)
def test_what_is_fixed_is_in_it_by_note_pitch_and_pattern(
    notebook: Notebook, soprano: int, place: FixPlace, fixed_steps: list[int]
) -> None:
    text = "1: F#5 (1/4), G5 (1/4), F#5 (1/4), E5 (1/4)"
    piece = add_typed_piece(notebook, soprano, text=text)
    odd = log(notebook, soprano, "F#5", "T R 123 | 1-3 | G#/Eb")
    fix(notebook, piece, odd, place)
    for emphasis in Emphasis:
        passage = finger(notebook, soprano, text, piece=piece, emphasis=emphasis)
        held = [at for at, each in enumerate(passage.steps) if each.fixed is not None]
        assert held == fixed_steps
        assert all(option_of(passage.steps[at]).fingering_id == odd for at in held)


def test_the_players_own_comes_first_and_by_circumstance(notebook: Notebook, soprano: int) -> None:
    own = log(notebook, soprano, "F#5", "T R 123 | 1-3 | G#/Eb")
    say_word(notebook, own, WordDraft(Role.MINE, circumstance=Circumstance.FAST))
    slow, fast = (
        finger(notebook, soprano, "1: F#5 (1/16), F5 (1/4)", tempo=tempo).steps[0].option
        for tempo in (30, 200)
    )
    assert slow is not None
    assert fast is not None
    assert fast.option.is_own or fast.option.has_other_own
    assert not slow.option.is_own
    assert not slow.option.has_other_own
    with notebook.database.reading() as session:
        assert session.query(Choice).count() == 1


def test_a_trill_is_a_pair_and_its_note_and_other_note_are_told(
    notebook: Notebook, soprano: int
) -> None:
    step = finger(notebook, soprano, SOME, bars="2").steps[0]
    assert step.partner is not None
    assert step.keys_text == f"{option_of(step).keys_text} ~ {step.partner.keys_text}"


def test_awkward_transitions_are_ranked_and_told_in_words(notebook: Notebook, soprano: int) -> None:
    line = "1: " + ", ".join(["G4~C5~Eb5 (1/16)"] * 3)
    passage = finger(notebook, soprano, line, tempo=140)
    costs = [each.cost for each in passage.awkward]
    assert costs
    assert costs == sorted(costs, reverse=True)
    told = [str(each.words) for each in passage.awkward]
    assert any("finger" in each for each in told)
    assert any("the register key changes within the slur" in each for each in told)
    easy = finger(notebook, soprano, "1: C5 (1/2), D5 (1/2)", tempo=60)
    assert easy.awkward == ()


def test_bars_are_read_by_their_printed_numbers(notebook: Notebook, soprano: int) -> None:
    with notebook.database.reading() as session:
        part = read(fetch(session, Instrument, soprano), "12: C5 | 13: D5 | 14: E5")
    assert [read_bars(part, each) for each in ("", "12", "13-14", "12 – 13")] == [
        (0, 2), (0, 0), (1, 2), (0, 1),
    ]  # fmt: skip
    for wrong in ("11", "14-12", "x"):
        with pytest.raises(FieldRefused):
            read_bars(part, wrong)


@pytest.mark.parametrize("tempo", [0.0, 9.0, 401.0, float("nan")])
def test_a_tempo_that_nobody_plays_is_refused(tempo: float) -> None:
    with pytest.raises(FieldRefused, match="10 to 400"):
        check_tempo(tempo)


def test_an_own_tempo_keeps_changes_in_proportion(notebook: Notebook, soprano: int) -> None:
    text = '1: C5 (1/4) "1/4=60", D5 (1/4) | 2: E5 (1/4) "1/4=120", F5 (1/4)'
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, soprano)
        part = read(instrument, text)
        plain = list_timed(part, instrument.transposition, Stretch(0, 1))
        slow = list_timed(part, instrument.transposition, Stretch(0, 1, 30.0))
    assert [each.length_s for each in plain] == [1.0, 1.0, 0.5, 0.5]
    assert [each.length_s for each in slow] == [2.0, 2.0, 1.0, 1.0]
    assert find_tempo(part, 1) == 120.0


def test_how_much_harder_is_told_in_words() -> None:
    told = [tell_harder(each) for each in (-1.0, 0.0, 0.5, 2.0, 9.0)]
    assert told == ["easier", "as easy", "a little harder", "harder", "much harder"]


def test_a_recorded_loop_takes_the_place_of_judgement_each_way(
    notebook: Notebook, soprano: int
) -> None:
    line = "1: E5~F5 (1/8), E5 (1/8)"
    before = finger(notebook, soprano, line, tempo=120)
    assert before.measured == ()
    record_loop(
        notebook, soprano, (("E5", before.steps[0].keys_text), ("F5", before.steps[1].keys_text))
    )
    after = finger(notebook, soprano, line, tempo=120)
    assert [each.keys_text for each in after.steps] == [each.keys_text for each in before.steps]
    times = {each.is_up: each.time_s for each in after.measured}
    assert times == {True: pytest.approx(0.02, abs=0.012), False: pytest.approx(0.06, abs=0.012)}
    assert after.steps[1].way_cost > before.steps[1].way_cost
    assert after.steps[1].way_cost > after.steps[0].way_cost


def test_a_slow_change_that_was_measured_is_gone_round_but_what_is_fixed_stays(
    notebook: Notebook, soprano: int
) -> None:
    line = "1: F5~F#5 (1/8), F5~F#5 (1/8)"
    before = finger(notebook, soprano, line, tempo=120)
    slow = before.steps[1]
    ends = (("F5", before.steps[0].keys_text), ("F#5", slow.keys_text))
    record_loop(notebook, soprano, ends, up_s=0.14, down_s=0.14)
    after = finger(notebook, soprano, line, tempo=120)
    assert after.steps[1].keys_text != slow.keys_text
    kept = log(notebook, soprano, "F#5", slow.keys_text)
    piece = add_typed_piece(notebook, soprano, text=line)
    fix(notebook, piece, kept, FixPlace(written("F#5")))
    fixed = finger(notebook, soprano, line, tempo=120, piece=piece)
    assert fixed.steps[1].keys_text == slow.keys_text
