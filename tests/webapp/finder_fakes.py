"""A finder whose answers are stated by the tests: what the pages do with them is what is tested."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import pytest

import analysis.finder
from analysis.finder import (
    ErrorReduction,
    FinderUnavailable,
    KeyEffect,
    LoggedPitch,
    Plan,
    PlannedTry,
    Prediction,
    RankedFingering,
    Start,
    Strategy,
    Suggestions,
    Wishes,
)
from analysis.keywork import (
    KeyStates,
    Layout,
    describe_changes,
    find_changes,
    load_layout,
    parse_fingering,
)
from analysis.pitch import Register, Sentence, WrittenPitch
from tests.webapp.logging_rows import SOPRANO

LAYOUT = load_layout(SOPRANO)
E5 = "T R 123 | 12-"  # common practice, from memory
RAISED_E5 = "T R 123 | 12- | right F#"
OTHER = "T R 123 | 1-- | right F#"


@dataclass(frozen=True)
class FakeModel:
    """Knows how many logs it was given and predicts the same for everything."""

    log_count: int
    offset_cents: float = -7.0
    sigma_cents: float = 12.0
    tube: str = "a tube, says the fake"

    @property
    def gain(self) -> ErrorReduction:
        """Say something that a test can find again."""
        return ErrorReduction(self.log_count, 12.0, 5.0, "From 12 to 5 cents, says the fake.")

    def predict(self, fingering: KeyStates, written: WrittenPitch) -> Prediction:
        """Predict the same for everything."""
        del fingering, written
        return Prediction(self.offset_cents, self.sigma_cents, 0.9)


@dataclass
class FakeFinder:
    """Stands in the place of the finder, and notes what it was asked."""

    fits: list[tuple[LoggedPitch, ...]] = field(default_factory=list)
    asked: list[Wishes] = field(default_factory=list)
    starts: Sequence[Start] = ()
    is_within_reach: bool = True
    is_unavailable: bool = False
    effects: tuple[KeyEffect, ...] = ()

    def fit(
        self, kind_id: str, layout: Layout, logs: Sequence[LoggedPitch], **_: object
    ) -> FakeModel:
        """Note what a model is made from."""
        del kind_id, layout
        if self.is_unavailable:
            raise FinderUnavailable("Nothing is known of this tube, says the fake.")
        self.fits.append(tuple(logs))
        return FakeModel(len(logs))

    def prepare(self, tube: object, starts: Sequence[Start] = ()) -> None:
        """Need no preparation."""
        del tube, starts

    def suggest(
        self,
        target: WrittenPitch,
        *,
        model: FakeModel,
        starts: Sequence[Start],
        wishes: Wishes,
        count: int = 5,
        find_motion: object = None,
    ) -> Suggestions:
        """Suggest what was not dismissed of two fingerings."""
        del target, model, count, find_motion
        self.asked.append(wishes)
        self.starts = starts
        keys = [each for each in (RAISED_E5, OTHER) if each not in wishes.dismissed]
        items = tuple(self.suggestion(each, rank=rank) for rank, each in enumerate(keys, start=1))
        return Suggestions(items, Sentence(f"{len(items)} worth trying, says the fake."))

    def suggestion(self, keys: str, *, rank: int = 1) -> RankedFingering:
        """Describe one suggestion, raised from E5."""
        base = Start(WrittenPitch.from_canonical("E5"), parse_fingering(E5, LAYOUT), "ordinary")
        fingering = parse_fingering(keys, LAYOUT)
        changes = find_changes(base.fingering, fingering)
        return RankedFingering(
            rank=rank,
            fingering=fingering,
            base=base,
            strategy=Strategy.RAISED,
            changes=changes,
            changes_words=describe_changes(changes),
            offset_cents=-7.0,
            sigma_cents=12.0,
            chance=0.42,
            ease=0.9,
            has_half_hole=False,
            reason=Sentence("It comes first, says the fake."),
            is_within_reach=self.is_within_reach,
        )

    def key_effects(
        self, logs: Sequence[LoggedPitch], layout: Layout, *, kind_id: str, progress: object = None
    ) -> tuple[KeyEffect, ...]:
        """Return the effects that the test states."""
        del logs, layout, kind_id, progress
        return self.effects

    def plan_range(
        self, targets: Sequence[WrittenPitch], *, solved: Sequence[WrittenPitch], **_: object
    ) -> Plan:
        """Call the first unsolved target predicted and the rest open."""
        gaps = [target for target in targets if target not in solved]
        tries = tuple(PlannedTry(gap, self.suggestion(RAISED_E5)) for gap in gaps[:1])
        return Plan(tuple(solved), tuple(gaps[:1]), tuple(gaps[1:]), tries, 0.42)


def cross_effect() -> KeyEffect:
    """State one effect of the right cross key."""
    return KeyEffect(LAYOUT.key("right-cross"), Register.CLARION, 38.0, 55.0, 6)


def put_in_place(monkeypatch: pytest.MonkeyPatch) -> FakeFinder:
    """Put the fake in the finder's place."""
    fake = FakeFinder()
    model: Any = type("FakePlayerModel", (), {"fit": staticmethod(fake.fit)})
    monkeypatch.setattr(analysis.finder, "PlayerModel", model)
    for name in ("prepare", "suggest", "key_effects", "plan_range"):
        monkeypatch.setattr(analysis.finder, name, getattr(fake, name))
    return fake
