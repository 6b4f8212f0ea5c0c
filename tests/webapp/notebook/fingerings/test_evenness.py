"""Colour against the player's own ordinary notes nearby: which notes count, and what is said."""

from collections.abc import Mapping

import pytest

from analysis.pitch import SoundingPitch, Tuning
from analysis.recording import PooledColour, TakeWarning
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.fingerings.evenness import (
    ASPECTS,
    AspectComparison,
    TakeComparisons,
    compare_takes,
)
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook

TARGET, KEYS = "G5 -50", "T R 123 | -2- | right cross"
# The ordinary fingerings of the layout about it (soprano-17-6), clarion register.
NEARBY = {
    "E5": "T R 123 | 12-",
    "F5": "T R 123 | 1--",
    "F#5": "T R 123 | -2-",
    "G5": "T R 123 | ---",
    "A5": "T R 12- | ---",
}


@pytest.fixture(name="soprano")
def _soprano(notebook: Notebook) -> int:
    return add_clarinet(notebook)


class Player:
    """Logs fingerings with takes of a stated colour on one instrument."""

    def __init__(self, notebook: Notebook, instrument: int, take_maker: TakeMaker) -> None:
        self.notebook, self.instrument, self._make_take = notebook, instrument, take_maker

    def play(
        self, target: str, keys: str, *colours: Mapping[str, object], instrument: int | None = None
    ) -> int:
        """Log a fingering and attach one take in tune for each colour."""
        fingering = log(self.notebook, instrument or self.instrument, target, keys)
        target_cents = open_fingering(self.notebook, fingering).fingering.target_cents
        f0_hz = SoundingPitch(target_cents).hz(Tuning(440.0))
        for colour in colours:
            self._make_take(self.notebook, fingering, f0_hz, more=colour)
        return fingering

    def compare(self, fingering_id: int) -> TakeComparisons:
        page = open_fingering(self.notebook, fingering_id)
        with self.notebook.database.reading() as session:
            return compare_takes(session, page.fingering, page.takes)

    def brightness(self, fingering_id: int) -> AspectComparison:
        return self.compare(fingering_id).colour[0]


@pytest.fixture(name="player")
def _player(notebook: Notebook, soprano: int, take_maker: TakeMaker) -> Player:
    return Player(notebook, soprano, take_maker)


def bright(partials: float) -> dict[str, object]:
    return {"brightness_partials": partials}


def test_a_fingering_is_compared_with_the_median_of_the_notes_nearby(player: Player) -> None:
    for note, partials in zip(NEARBY, (2.0, 2.1, 2.2, 2.3, 4.0), strict=True):
        player.play(note, NEARBY[note], bright(partials))
    found = player.brightness(player.play(TARGET, KEYS, bright(3.0)))
    assert found.own == PooledColour(3.0, None, 1)
    assert found.nearby is not None
    assert (found.nearby.middle, found.nearby.count) == (2.2, 5)
    assert found.notes == (2.0, 2.1, 2.2, 2.3, 4.0)
    assert found.words == "brighter than your notes nearby by 0.8 partials (5 notes)"


def test_a_note_recorded_often_counts_once_by_its_newest_takes(player: Player) -> None:
    player.play("E5", NEARBY["E5"], *[bright(9.0)] * 6, *[bright(2.0)] * 5)
    player.play("F5", NEARBY["F5"], bright(2.4))
    player.play("F5", NEARBY["F5"], bright(2.6))  # logged twice, still one note
    found = player.brightness(player.play(TARGET, KEYS, bright(2.0)))
    assert found.notes == pytest.approx((2.0, 2.5))


def test_only_ordinary_notes_of_this_instrument_and_register_within_three_semitones_count(
    player: Player,
) -> None:
    elsewhere = add_clarinet(player.notebook, "Another one")
    player.play("F5", NEARBY["F5"], bright(9.0), instrument=elsewhere)
    player.play("F5", "T R 123 | 12- | right F", bright(9.0))  # no ordinary keys
    player.play("F#5", NEARBY["F5"], bright(9.0))  # ordinary keys of another note
    player.play("Eb5", "T R 123 | 123 | G#/Eb", bright(9.0))  # 350 cents below
    player.play("F#5", NEARBY["F#5"])  # not recorded
    player.play("G5", NEARBY["G5"], bright(9.0) | {"warnings": (TakeWarning.CLIPPED,)})
    put_in_bin(player.notebook, "fingering", player.play("A5", NEARBY["A5"], bright(9.0)))
    found = player.brightness(player.play(TARGET, KEYS, bright(2.0)))
    assert found.nearby is None and found.notes == ()
    player.play("E5", NEARBY["E5"], bright(2.0))  # 250 cents below
    assert player.brightness(player.play(TARGET, KEYS, bright(2.0))).notes == (2.0,)


def test_the_break_is_not_compared_across(player: Player) -> None:
    player.play("Bb4", "R --- | --- | throat A", bright(3.0))
    player.play("B4", "T R 123 | 123 | right E", bright(2.0))
    clarion = player.play("C5 -50", "T R 123 | 123 | right F, left E", bright(2.0))
    throat = player.play("Bb4 -50", "T R --- | --- | throat A", bright(2.0))
    assert player.brightness(clarion).notes == (2.0,)
    assert player.brightness(throat).notes == (3.0,)


def test_an_ordinary_note_is_compared_with_the_others_and_not_with_itself(player: Player) -> None:
    player.play("E5", NEARBY["E5"], bright(2.0))
    assert player.brightness(player.play("F5", NEARBY["F5"], bright(5.0))).notes == (2.0,)


def test_bass_clef_parts_are_compared_by_what_is_fingered(
    notebook: Notebook, take_maker: TakeMaker
) -> None:
    # The layout speaks treble notation; a bass-clef part is written an octave lower (common
    # practice, from memory), so that the layout's F#4 stands as F#3 in the part.
    kind = {"kind_id": "b-flat-bass-bass-clef", "layout_id": "bass-low-eb"}
    bass = add_clarinet(notebook, "Bass", **kind)
    note = log(notebook, bass, "F#3", "1-- | ---", layout_id="bass-low-eb")
    wanted = log(notebook, bass, "F3 +50", "12- | ---", layout_id="bass-low-eb")
    # F#3 in the part sounds a whole tone lower, 164.8 Hz; F3 and a quarter tone 160.1 Hz.
    for fingering, f0_hz in ((note, 164.8), (wanted, 160.1)):
        take_maker(notebook, fingering, f0_hz, more=bright(3.0))
    compared = Player(notebook, bass, take_maker).compare(wanted)
    assert compared.colour[0].notes == (3.0,)


def test_each_aspect_that_was_measured_is_compared(player: Player) -> None:
    usual = {
        "brightness_partials": 2.0,
        "odd_even_db": 12.0,
        "breath_noise_db": -45.0,
        "time_to_speak_s": 0.05,
    }
    for note in ("E5", "F5", "G5"):
        player.play(note, NEARBY[note], usual)
    other = {
        "brightness_partials": 1.2,
        "odd_even_db": 6.0,
        "breath_noise_db": -36.0,
        "time_to_speak_s": 0.09,
    }
    compared = player.compare(player.play(TARGET, KEYS, other))
    assert compared.has_notes_nearby
    assert [each.words for each in compared.colour] == [
        "duller than your notes nearby by 0.8 partials (3 notes)",
        "fuller than your notes nearby by 6 dB (3 notes)",
        "breathier than your notes nearby by 9 dB (3 notes)",
        "slower than your notes nearby by 0.04 s (3 notes)",
    ]
    assert compared.colour[2].aspect.write(-45.0) == "−45 dB"


def test_what_an_older_measurement_did_not_tell_is_left_out_or_said(player: Player) -> None:
    player.play("E5", NEARBY["E5"], bright(2.0))
    fingering = player.play(TARGET, KEYS, bright(2.0) | {"odd_even_db": 9.0})
    brightness, balance = player.compare(fingering).colour
    assert brightness.words == "as bright as your note nearby (1 note)"
    assert balance.nearby is None
    assert balance.words == "no ordinary note nearby tells it yet"


def test_without_notes_nearby_its_own_colour_still_stands(player: Player) -> None:
    compared = player.compare(player.play(TARGET, KEYS, bright(2.0)))
    assert not compared.has_notes_nearby
    assert compared.colour[0].own.middle == 2.0


def test_a_fingering_that_is_not_measured_has_no_colour(
    notebook: Notebook, player: Player, take_maker: TakeMaker
) -> None:
    player.play("E5", NEARBY["E5"], bright(2.0))
    fingering = player.play(TARGET, KEYS)
    take_maker(notebook, fingering, None)
    assert player.compare(fingering).colour == ()


def compared_brightness(own: float, middle: float, spread: float | None) -> AspectComparison:
    return AspectComparison(
        ASPECTS[0], PooledColour(own, None, 1), PooledColour(middle, spread, 4), ()
    )


@pytest.mark.parametrize(
    ("own", "spread", "is_alike"),
    [
        (2.29, 0.3, True),
        (2.31, 0.3, False),
        (1.69, 0.3, False),
        (2.09, 0.0, True),
        (2.11, 0.0, False),
        (2.09, None, True),
    ],
)
def test_a_difference_within_the_scatter_of_the_notes_nearby_is_none(
    own: float, spread: float | None, is_alike: bool
) -> None:
    found = compared_brightness(own, 2.0, spread)
    assert found.is_alike is is_alike
    assert found.words.startswith("as bright as") is is_alike


def test_comparing_takes_as_many_queries_for_many_notes(player: Player) -> None:
    player.play("E5", NEARBY["E5"], bright(2.0))
    fingering = player.play(TARGET, KEYS, bright(2.0))
    page = open_fingering(player.notebook, fingering)
    with counted_queries(player.notebook) as few, player.notebook.database.reading() as session:
        compare_takes(session, page.fingering, page.takes)
    for note, keys in NEARBY.items():
        player.play(note, keys, bright(2.0), bright(2.1))
    with counted_queries(player.notebook) as many, player.notebook.database.reading() as session:
        compare_takes(session, page.fingering, page.takes)
    assert len(many) == len(few) <= 6
