"""Awkward transitions of a passage, the worst first, and in words what makes them so."""

from collections.abc import Iterator, Sequence
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
    found: dict[tuple[str, str, str, str], AwkwardWay] = {}
    for way in _list_ways(steps, move):
        (one, first), (two, second) = way.first, way.second
        mark = one.canonical, first.keys_text, two.canonical, second.keys_text
        known = found.get(mark, way)
        worse = max(known, way, key=lambda each: each.cost)
        count = 1 if known is way else known.count + 1
        bars = tuple(dict.fromkeys((*known.bars, *way.bars)))
        found[mark] = replace(worse, bars=bars, count=count)
    ranked = sorted(found.values(), key=lambda each: (-each.cost, -each.count))
    return tuple(ranked[:AWKWARD_AT_MOST])


def _list_ways(steps: Sequence[FingeredStep], move: MoveCosts) -> Iterator[AwkwardWay]:
    for step in steps:
        if step.option and step.partner and step.timed.second:
            one, two = step.option.option, step.partner.option
            cost = move.cost(one, two) + move.cost(two, one)
            if cost >= AWKWARD_COST:
                yield _make(step, (step.timed.second, step.partner), cost, move, is_trill=True)
    for first, second in pairwise(steps):
        if first.option and second.option and first.way_cost >= AWKWARD_COST:
            is_slurred = second.timed.note.is_slurred
            beside = second.written, second.option
            yield _make(first, beside, first.way_cost, move, is_slurred=is_slurred)


def _make(
    step: FingeredStep,
    second: tuple[WrittenPitch, NoteOption],
    cost: float,
    move: MoveCosts,
    *,
    is_slurred: bool = True,
    is_trill: bool = False,
) -> AwkwardWay:
    assert step.option is not None, "an open note leads nowhere"
    words = _tell_way(step.option, second[1], move.table, is_slurred=is_slurred)
    return AwkwardWay(
        (step.written, step.option), second, cost, words, (step.bar_label,), 1, is_trill
    )


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
