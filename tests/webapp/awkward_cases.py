"""A notebook of awkward cases, each on a note of its own, with what is right for it.

The truth is the requirement of the judge: where it sounds decides; first the player's own, then in
tune, near, not tried; a note is solved where something is in tune, or the player's own is near;
what is rejected never solves it. Notes are quarter tones a semitone apart, so no case reaches into
another one. All of it is invented.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from analysis.pitch import WrittenPitch
from tests.webapp.logging_rows import SOPRANO, TakeMaker, log
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.choices import WordDraft, say_word, set_tolerance
from webapp.notebook.targets.standing import Standing

KEYS = "T R 123 | 12-"
HALF = "T R 1(2)3 | 12-"
LOWEST_NOTE_CENTS, STEP_CENTS = 5350, 100  # E3 +150 written
IN_TUNE, NEAR, NOT_TRIED = Standing.IN_TUNE, Standing.NEAR, Standing.NOT_TRIED


@dataclass(frozen=True)
class Entry:
    """A fingering: how far from the note it sounds (None: not tried), and was meant, in cents."""

    label: str
    offset_cents: float | None
    meant_cents: float = 0.0
    takes: int = 1
    keys: str = KEYS
    role: Role | None = None
    circumstance: Circumstance = Circumstance.ALWAYS
    facts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Case:
    """What is logged about a note, which of it is the first, how that stands, what is solved."""

    name: str
    entries: tuple[Entry, ...]
    best: str | None
    standing: Standing | None
    is_solved: bool
    tolerance_cents: float | None = None


def mine(label: str, offset_cents: float | None, **more: Any) -> Entry:
    """The player's own."""
    return Entry(label, offset_cents, role=Role.MINE, **more)


def stated(label: str, offset_cents: float | None, **facts: Any) -> Entry:
    """A fingering with facts that the player entered."""
    return Entry(label, offset_cents, facts=facts)


MUTE: dict[str, Any] = {"does_not_speak": True}
CASES = (
    Case("nothing", (), None, None, False),
    Case("one take against five",
         (Entry("one", 2.0), Entry("five", 8.0, takes=5)), "five", IN_TUNE, True),
    Case("20 cents sharp", (Entry("sharp", 20.0),), "sharp", NEAR, False),
    Case("20 cents flat", (Entry("flat", -20.0),), None, None, False),
    Case("half-hole beside a whole one",
         (Entry("half", 0.0, keys=HALF), Entry("whole", 9.0)), "whole", IN_TUNE, True),
    Case("half-hole in tune beside 24 cents off",
         (Entry("half", 0.0, keys=HALF), Entry("off", 24.0)), "half", IN_TUNE, True),
    Case("stuffy and nearer against free",
         (stated("stuffy", -2.0, resistance=5), stated("free", -4.0, resistance=1)),
         "free", IN_TUNE, True),
    Case("does not speak", (stated("mute", None, does_not_speak=True),), None, None, False),
    Case("does not speak though takes lie with it",
         (stated("mute", 0.0, does_not_speak=True), Entry("untried", None)),
         "untried", NOT_TRIED, False),
    Case("two that are equal", (Entry("older", 3.0), Entry("newer", 3.0)), "older", IN_TUNE, True),
    Case("rejected beside one that is not tried",
         (Entry("rejected", 0.0, role=Role.REJECTED), Entry("untried", None)),
         "untried", NOT_TRIED, False),
    Case("nothing but a rejected one",
         (Entry("rejected", 0.0, role=Role.REJECTED),), None, None, False),
    Case("a choice that is near while another is in tune",
         (mine("mine", 18.0), Entry("other", 0.0)), "mine", NEAR, True),
    Case("a choice that is near and alone", (mine("mine", 18.0),), "mine", NEAR, True),
    Case("a choice that sounds elsewhere",
         (mine("mine", 60.0), Entry("other", 12.0)), "other", NEAR, False),
    Case("a choice that does not speak",
         (mine("mine", None, facts=MUTE), Entry("other", 0.0)), "other", IN_TUNE, True),
    Case("a choice that is not tried while another is in tune",
         (mine("mine", None), Entry("other", 0.0)), "mine", NOT_TRIED, True),
    Case("a choice for soft notes alone",
         (mine("soft", 5.0, circumstance=Circumstance.SOFT, facts={"resistance": 5}),
          stated("free", 1.0, resistance=1)), "soft", IN_TUNE, True),
    Case("an alternate",
         (Entry("alternate", 0.0, role=Role.ALTERNATE, facts={"resistance": 4}),
          stated("free", 1.0, resistance=1)), "free", IN_TUNE, True),
    Case("an exposed note", (Entry("close", 8.0),), "close", NEAR, False, 5.0),
    Case("a fast note", (Entry("rough", -18.0),), "rough", IN_TUNE, True, 20.0),
    Case("wider than the lip reaches", (Entry("off", 27.0),), None, None, False, 26.0),
    Case("logged for another note",
         (Entry("stray", 2.0, meant_cents=100.0),), "stray", IN_TUNE, True),
    Case("what the stray was logged for", (), None, None, False),
)  # fmt: skip


def note_of_case(case: Case) -> WrittenPitch:
    """The note that a case is about."""
    return WrittenPitch.from_cents(LOWEST_NOTE_CENTS + STEP_CENTS * CASES.index(case))


def sounding_hz(written_cents: float, transposition_cents: float) -> float:
    """What written cents sound at A = 440 on an instrument that transposes by these cents."""
    return float(440 * 2 ** ((written_cents + transposition_cents - 6900) / 1200))


def log_case(
    notebook: Notebook,
    take_maker: TakeMaker,
    instrument: int,
    written: WrittenPitch,
    case: Case,
    *,
    layout_id: str = SOPRANO,
    transposition_cents: float = -200.0,
) -> dict[str, int]:
    """Put a case into a notebook; return the numbers of its fingerings by their labels.

    Without more it is meant for a B-flat soprano, which sounds a whole tone lower than written
    (common practice, from memory).
    """
    cents = float(written.cents)
    numbers = {}
    for each in case.entries:
        target = WrittenPitch.from_cents(written.cents + int(each.meant_cents)).canonical
        number = log(
            notebook, instrument, target, each.keys, layout_id=layout_id,
            notes=f"{case.name}: {each.label}", **each.facts,
        )  # fmt: skip
        numbers[each.label] = number
        for _ in range(each.takes if each.offset_cents is not None else 0):
            assert each.offset_cents is not None
            hz = sounding_hz(cents + each.offset_cents, transposition_cents)
            take_maker(notebook, number, hz)
        if each.role is not None:
            draft = WordDraft(each.role, written.canonical, each.circumstance)
            say_word(notebook, number, draft)
    if case.tolerance_cents is not None:
        set_tolerance(notebook, instrument, written.canonical, case.tolerance_cents)
    return numbers
