"""Facts of many fingerings of one instrument as columns, so that they can be judged all at once."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import isnan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from webapp.notebook.targets.standing import Facts

MEASURES = (
    "target_cents",
    "sounding_cents",
    "uncertainty_cents",
    "take_count",
    "failed_take_count",
    "spread_cents",
    "resistance",
    "ease",
    "has_half_hole",
    "does_not_speak",
    "speaks_softly",
)
"""The columns with a number, under their names in `Facts`."""
_TEXTS = ("keys_text", "target_text")
_PLACE = {name: place for place, name in enumerate(MEASURES)}


@dataclass(frozen=True, slots=True)
class FactColumns:
    """Columns of facts; a row is a fingering.

    Attributes:
        instrument_id: of all of them.
        numbers: of the fingerings, shape (n,).
        measures: shape (len(MEASURES), n); NaN is not known, 0 and 1 are no and yes.
        texts: keys and target of each; empty where they were not read.
    """

    instrument_id: int
    numbers: NDArray[np.int64]
    measures: NDArray[np.float64]
    texts: Sequence[tuple[str, str]] = field(default=(), repr=False)

    @classmethod
    def of_rows(cls, instrument_id: int, rows: Sequence[Sequence[Any]]) -> "FactColumns":
        """Make columns of rows: number, `MEASURES`, and, where they were read, keys and target."""
        end = 1 + len(MEASURES)
        numbers = np.array([row[0] for row in rows], dtype=np.int64)
        measures = np.array([row[1:end] for row in rows], dtype=np.float64)
        has_texts = bool(rows) and len(rows[0]) > end
        texts = [(row[end], row[end + 1]) for row in rows] if has_texts else ()
        return cls(instrument_id, numbers, measures.reshape(len(rows), len(MEASURES)).T, texts)

    @classmethod
    def join(cls, instrument_id: int, blocks: Sequence["FactColumns"]) -> "FactColumns":
        """Put blocks of one instrument together."""
        if not blocks:
            return cls.of_rows(instrument_id, ())
        return cls(
            instrument_id,
            np.concatenate([each.numbers for each in blocks]),
            np.concatenate([each.measures for each in blocks], axis=1),
            [text for each in blocks for text in each.texts],
        )

    @classmethod
    def of_facts(cls, every: Iterable[Facts]) -> "FactColumns":
        """Make columns of facts; their instrument is taken from the first."""
        found = list(every)
        names = ("fingering_id", *MEASURES, *_TEXTS)
        rows = [[getattr(each, name) for name in names] for each in found]
        return cls.of_rows(found[0].instrument_id if found else 0, rows)

    def __len__(self) -> int:
        """How many fingerings there are."""
        return len(self.numbers)

    def column(self, name: str) -> NDArray[np.float64]:
        """Return one of `MEASURES`, shape (n,)."""
        found: NDArray[np.float64] = self.measures[_PLACE[name]]
        return found

    @property
    def does_not_speak(self) -> NDArray[np.bool_]:
        """Which do not speak, shape (n,)."""
        return self.column("does_not_speak") > 0

    @property
    def is_measured(self) -> NDArray[np.bool_]:
        """Behind which stands a usable take, shape (n,)."""
        return self.column("take_count") > 0

    def offsets_from(self, cents: float) -> NDArray[np.float64]:
        """Return how far each is measured to sound from a height, in cents; NaN for unmeasured."""
        offsets: NDArray[np.float64] = np.where(
            self.is_measured, self.column("sounding_cents") - cents, np.nan
        )
        return offsets

    def take(self, places: NDArray[np.intp]) -> "FactColumns":
        """Return the rows at some places, in that order."""
        texts = [self.texts[place] for place in places] if self.texts else ()
        return FactColumns(
            self.instrument_id, self.numbers[places], self.measures[:, places], texts
        )

    def facts(self, place: int) -> Facts:
        """Return the facts of one fingering."""
        target, sounding, *known = self.measures[:, place].tolist()
        uncertainty, takes, failed, spread, resistance, ease, half, silent, softly = (
            None if isnan(value) else value for value in known
        )
        keys_text, target_text = self.texts[place] if self.texts else ("", "")
        return Facts(
            fingering_id=int(self.numbers[place]),
            instrument_id=self.instrument_id,
            keys_text=keys_text,
            target_text=target_text,
            target_cents=target,
            sounding_cents=sounding,
            uncertainty_cents=uncertainty,
            take_count=int(takes or 0),
            failed_take_count=int(failed or 0),
            spread_cents=spread,
            resistance=None if resistance is None else int(resistance),
            ease=ease,
            has_half_hole=bool(half),
            does_not_speak=bool(silent),
            speaks_softly=None if softly is None else bool(softly),
        )
