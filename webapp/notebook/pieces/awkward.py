"""Awkward transitions of a passage, the worst first, and in words what makes them so."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from analysis.keywork import KeyStates, describe_motion
from analysis.pitch import PitchOutOfRange, Sentence, WrittenPitch
from analysis.planning import MotionTable
from analysis.planning.passage_costs import find_register_change
from webapp.notebook.pieces.moving import MoveCosts
from webapp.notebook.pieces.passage_options import NoteOption
from webapp.notebook.pieces.passage_steps import AwkwardWay, FingeredStep

AWKWARD_COST = 4.0
AWKWARD_AT_MOST = 6
_QUARTER_TONE_CENTS = 50


def find_awkward(steps: Sequence[FingeredStep], move: MoveCosts) -> tuple[AwkwardWay, ...]:
    """Return the awkward transitions, the worst first; the same one of several places once."""
    ways = _put_together(each for each in _list_ways(steps, move) if each.cost >= AWKWARD_COST)
    return ways[:AWKWARD_AT_MOST]


def find_measured(steps: Sequence[FingeredStep], move: MoveCosts) -> tuple[AwkwardWay, ...]:
    """Return the transitions that a recorded loop decides about, awkward or not, worst first."""
    return _put_together(each for each in _list_ways(steps, move) if each.time_s is not None)


def _put_together(ways: Iterable[AwkwardWay]) -> tuple[AwkwardWay, ...]:
    found: dict[tuple[str, str, str, str], AwkwardWay] = {}
    for way in ways:
        known = found.get(way.mark, way)
        worse = max(known, way, key=lambda each: each.cost)
        count = 1 if known is way else known.count + 1
        bars = tuple(dict.fromkeys((*known.bars, *way.bars)))
        found[way.mark] = replace(worse, bars=bars, count=count)
    ranked = sorted(found.values(), key=lambda each: (-each.cost, -each.count))
    return tuple(ranked)


def _list_ways(steps: Sequence[FingeredStep], move: MoveCosts) -> Iterator[AwkwardWay]:
    """List what is awkward or measured; of the rest no words are made."""
    for step in steps:
        if step.option and step.partner and step.timed.second:
            one, two = step.option.option, step.partner.option
            cost = move.cost(one, two) + move.cost(two, one)
            time_s = _add(move.find_time_s(one, two), move.find_time_s(two, one))
            if cost >= AWKWARD_COST or time_s is not None:
                way = _make(step, (step.timed.second, step.partner), cost, move, is_slurred=True)
                yield replace(way, is_trill=True, time_s=time_s)
    for first, second in pairwise(steps):
        if not first.option or not second.option:
            continue
        time_s = move.find_time_s(first.option.option, second.option.option)
        if first.way_cost >= AWKWARD_COST or time_s is not None:
            is_slurred = second.timed.note.is_slurred
            beside = second.written, second.option
            way = _make(first, beside, first.way_cost, move, is_slurred=is_slurred)
            yield replace(way, time_s=time_s)


def _add(there: float | None, back: float | None) -> float | None:
    return None if there is None or back is None else there + back


def _make(
    step: FingeredStep,
    second: tuple[WrittenPitch, NoteOption],
    cost: float,
    move: MoveCosts,
    *,
    is_slurred: bool,
) -> AwkwardWay:
    assert step.option is not None, "an open note leads nowhere"
    words = _tell_way(step.option, second[1], move.table, is_slurred=is_slurred)
    return AwkwardWay((step.written, step.option), second, cost, words, (step.bar_label,), 1)


def _tell_way(
    first: NoteOption, second: NoteOption, table: MotionTable, *, is_slurred: bool
) -> Sentence:
    """Say what makes a transition awkward: the hands, the register key, what sounds in between."""
    one, two = first.option, second.option
    sentence = Sentence(tell_hands(one.fingering, two.fingering))
    if is_slurred and find_register_change(one.fingering, two.fingering):
        sentence = Sentence(sentence, "; the register key changes within the slur")
    blip_cents = table.find(one.played, two.played).blip_cents
    if blip_cents is not None:
        steps = Fraction(round(blip_cents / _QUARTER_TONE_CENTS) * _QUARTER_TONE_CENTS)
        try:
            heard = WrittenPitch.from_cents(steps)
        except PitchOutOfRange:
            return sentence
        sentence = Sentence(sentence, "; unless all move together ", heard, " is heard in between")
    return sentence


def tell_hands(first: KeyStates, second: KeyStates) -> str:
    """Say what the hands do from one fingering to another."""
    words = describe_motion(first, second).words
    return words[:1].upper() + words[1:]
