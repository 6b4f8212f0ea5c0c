"""Fingerings that are the same to the air, and evidence that is shared.

Truth: the two F sharp keys of the little fingers close the same pad (common practice, from
memory); two equal takes pool to their common value (the median of equal values is that value).
"""

import pytest
from hypothesis import HealthCheck, given, settings

from analysis.keywork import KeyStates, State, find_conflicts, hole_signature
from tests.analysis.keywork.strategies import any_fingering
from tests.thinning import examples
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, draft, log
from webapp.notebook.fingerings.fingerings import (
    FingeringDraft,
    FingeringPage,
    change_fingering,
    log_fingering,
    open_fingering,
)
from webapp.notebook.fingerings.sameness import share_evidence
from webapp.notebook.instruments.instrument_keys import change_keys
from webapp.notebook.safekeeping.bin import put_in_bin, restore
from webapp.notebook.store.errors import Refused
from webapp.notebook.store.notebook import Notebook

LEFT, RIGHT = "T R 123 | 123 | left F#", "T R 123 | 123 | right F#"
# C#5 +25 on a B-flat soprano sounds 225 cents above A4 = 440 Hz (closed formula).
TARGET_HZ = 440 * 2 ** (225 / 1200)


def at(offset_cents: float) -> float:
    return TARGET_HZ * 2 ** (offset_cents / 1200)


@pytest.fixture
def pair(notebook: Notebook) -> tuple[int, int]:
    instrument = add_clarinet(notebook)
    return (
        log(notebook, instrument, "C#5 +25", LEFT),
        log(notebook, instrument, "C#5 +25", RIGHT),
    )


def page(notebook: Notebook, fingering_id: int) -> FingeringPage:
    return open_fingering(notebook, fingering_id)


def test_duplicate_keys_are_recognised(notebook: Notebook, pair: tuple[int, int]) -> None:
    assert [each.id for each in page(notebook, pair[0]).same] == [pair[1]]
    assert [each.id for each in page(notebook, pair[1]).same] == [pair[0]]


def test_other_holes_instruments_and_the_bin_are_not_the_same(
    notebook: Notebook, pair: tuple[int, int]
) -> None:
    other = add_clarinet(notebook, "Other")
    log(notebook, other, "C#5 +25", LEFT)
    log(notebook, page(notebook, pair[0]).fingering.instrument_id, "C#5 +25", "T R 123 | 123")
    put_in_bin(notebook, "fingering", pair[1])
    assert page(notebook, pair[0]).same == ()


def test_evidence_is_shared_on_wish_and_kept_apart_again(
    notebook: Notebook, pair: tuple[int, int], take_maker: TakeMaker
) -> None:
    take_maker(notebook, pair[0], at(12))
    assert not page(notebook, pair[1]).fingering.is_measured, "nobody wished for it yet"
    share_evidence(notebook, pair[1], is_shared=True)
    for fingering_id, others in zip(pair, (0, 1), strict=True):
        shown = page(notebook, fingering_id)
        assert shown.fingering.take_count == 1
        assert shown.fingering.offset_cents == pytest.approx(12, abs=1e-6)
        assert shown.shared_take_count == others
    share_evidence(notebook, pair[0], is_shared=False)
    assert [page(notebook, each).fingering.take_count for each in pair] == [1, 0]


def test_a_later_take_of_one_counts_for_both_until_it_is_binned(
    notebook: Notebook, pair: tuple[int, int], take_maker: TakeMaker
) -> None:
    share_evidence(notebook, pair[0], is_shared=True)
    take = take_maker(notebook, pair[0], at(8))
    take_maker(notebook, pair[1], at(8))
    assert [page(notebook, each).fingering.take_count for each in pair] == [2, 2]
    put_in_bin(notebook, "take", take)
    assert [page(notebook, each).fingering.take_count for each in pair] == [1, 1]
    restore(notebook, "take", take)
    assert [page(notebook, each).fingering.take_count for each in pair] == [2, 2]


def test_a_binned_fingering_takes_its_evidence_with_it(
    notebook: Notebook, pair: tuple[int, int], take_maker: TakeMaker
) -> None:
    share_evidence(notebook, pair[0], is_shared=True)
    take_maker(notebook, pair[0], at(8))
    put_in_bin(notebook, "fingering", pair[0])
    assert not page(notebook, pair[1]).fingering.is_measured
    restore(notebook, "fingering", pair[0])
    assert page(notebook, pair[1]).fingering.is_measured


@pytest.mark.parametrize("changes", [{"keys": "T R 123 | 123"}, {"target": "D5 -50"}])
def test_what_is_no_longer_the_same_no_longer_shares(
    notebook: Notebook,
    pair: tuple[int, int],
    take_maker: TakeMaker,
    changes: dict[str, str],
) -> None:
    share_evidence(notebook, pair[0], is_shared=True)
    take_maker(notebook, pair[0], at(8))
    wanted = draft(**{"target": "C#5 +25", "keys": LEFT, **changes})
    change_fingering(notebook, pair[0], wanted, seen_version=1, names=ENGLISH)
    assert page(notebook, pair[0]).fingering.take_count == 1
    assert not page(notebook, pair[1]).fingering.is_measured


def test_another_target_is_the_same_but_shares_nothing(
    notebook: Notebook, pair: tuple[int, int]
) -> None:
    instrument = page(notebook, pair[0]).fingering.instrument_id
    lone = log(notebook, instrument, "D5 -50", RIGHT)
    assert len(page(notebook, lone).same) == 2
    with pytest.raises(Refused, match="no evidence to share"):
        share_evidence(notebook, lone, is_shared=True)


def _lift_until_playable(fingering: KeyStates) -> KeyStates:
    while conflicts := find_conflicts(fingering):
        fingering = fingering.replaced(conflicts[0].keys[-1].id, State.UP)
    return fingering


@settings(
    deadline=None,
    derandomize=True,
    max_examples=examples(60, share=5),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(any_fingering.map(_lift_until_playable))
def test_key_states_come_back_from_the_database_as_they_were(
    notebook: Notebook, keys: KeyStates
) -> None:
    layout = keys.layout
    instrument = add_clarinet(notebook, kind_id=layout.kinds[0], layout_id=layout.id)
    change_keys(notebook, instrument, without=layout.without, names={}, seen_version=1)
    wanted = FingeringDraft(keys=keys, target="A4 +50", strategy=draft().strategy)
    kept = page(notebook, log_fingering(notebook, instrument, wanted, names=ENGLISH)).fingering
    assert kept.key_states() == keys
    assert kept.hole_signature == hole_signature(keys)
