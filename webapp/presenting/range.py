"""The range as its page shows it: the words and the picture of every step, and the summary.

Numbers and words say all of it; the pictures (`webapp.drawing.range`) repeat it for the eye.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from analysis.pitch import (
    Register,
    WrittenPitch,
    format_cents,
)
from webapp.drawing.figures import format_uncertainty
from webapp.drawing.range import LadderScale, Rung, draw_ladder_parts, draw_rung
from webapp.notebook.targets.range import OPEN_STATES, RangeStep, StepState, WholeRange
from webapp.presenting.words import RESISTANCE_WORDS

# A rung reaches a little further than half a step, so that no mark of a step is cut off.
_REACH_OF_HALF_A_STEP = 1.2
# Side by side on a wide page; about as many steps in each.
COLUMNS = (
    (Register.EXTENSION, Register.CHALUMEAU),
    (Register.THROAT, Register.CLARION),
    (Register.ALTISSIMO,),
)
_RUNGS = {
    StepState.IN_TUNE: Rung.IN_TUNE,
    StepState.NEAR: Rung.NEAR,
    StepState.PREDICTED: Rung.PREDICTED,
    StepState.NOT_TRIED: Rung.NOT_TRIED,
    StepState.ELSEWHERE: Rung.ELSEWHERE,
    StepState.ORDINARY: Rung.ORDINARY,
    StepState.OPEN: Rung.OPEN,
}


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step as a row: what it is called, where it stands, what is known of it."""

    written: WrittenPitch
    state: StepState
    rung: Markup
    place_words: str
    answer: str
    facts: str

    @property
    def is_open(self) -> bool:
        """Whether nothing at all is known for it."""
        return self.state in OPEN_STATES


@dataclass(frozen=True, slots=True)
class Section:
    """One register: its rows, and how far it has come in words."""

    register: Register
    rows: tuple[StepRow, ...]
    words: str


@dataclass(frozen=True, slots=True)
class RangeView:
    """Everything the page shows of a range."""

    parts: Markup
    scale: LadderScale
    columns: tuple[tuple[Section, ...], ...]
    summary: str
    counted: str

    @property
    def registers(self) -> tuple[Register, ...]:
        """The registers that have steps, low to high."""
        return tuple(section.register for column in self.columns for section in column)


def present_range(whole: WholeRange) -> RangeView:
    """Make rows and words of a range; the page writes the notes."""
    half = float(whole.division.step_cents / 2)
    scale = LadderScale(_REACH_OF_HALF_A_STEP * half, whole.tolerance_cents)
    sections = {
        register: Section(
            register,
            tuple(_row(step, scale) for step in steps),
            _count_words(steps),
        )
        for register, steps in whole.by_register()
    }
    columns = (
        tuple(sections[register] for register in column if register in sections)
        for column in COLUMNS
    )
    return RangeView(
        Markup(draw_ladder_parts(scale)),
        scale,
        tuple(column for column in columns if column),
        summarise(whole),
        describe_counting(whole),
    )


def summarise(whole: WholeRange) -> str:
    """Say in one sentence how far the range has come."""
    in_tune = whole.count(StepState.IN_TUNE)
    words = f"{in_tune} of {_counted(len(whole.steps), 'step')} in tune"
    near = whole.count(StepState.NEAR)
    if near:
        words += f", {near} near"
    if whole.solved_count != in_tune:
        words += f" ({whole.solved_count} solved, your choices counted)"
    others = (
        (StepState.PREDICTED, "predicted only"),
        (StepState.NOT_TRIED, "logged and not tried"),
        (StepState.ORDINARY, "ordinary and not logged"),
    )
    parts = [f"{whole.count(each)} {name}" for each, name in others if whole.count(each)]
    return "; ".join((words, ", ".join((*parts, f"{whole.count(*OPEN_STATES)} open")))) + "."


def describe_counting(whole: WholeRange) -> str:
    """Say which fingerings count for a step, and how many lie outside."""
    words = (
        "A fingering counts for a step where it is in tune, or near enough for the lip to close "
        f"the gap; what else sounds within {whole.width_cents:g} cents is shown at an open step."
    )
    if whole.outside:
        lie = "sounds" if whole.outside == 1 else "sound"
        words += f" {_counted(whole.outside, 'fingering')} {lie} below or above this range."
    return words


def describe_answer(step: RangeStep) -> str:
    """Say in a few signs where a step stands: its number, or the word for having none."""
    if step.offset_cents is None or step.state is StepState.NOT_TRIED:
        return step.state.value
    uncertainty = step.uncertainty_cents
    if step.state is StepState.PREDICTED:
        return f"{format_cents(step.offset_cents, decimals=0)} ± {uncertainty or 0.0:.0f}"
    return f"{format_cents(step.offset_cents)} ± {format_uncertainty(uncertainty or 0.0)}"


def describe_facts(step: RangeStep) -> str:
    """Say what else is known of a step: whose choice it is, how it resists, what else there is.

    What does not speak is told where nothing is in tune yet: there it need not be tried again.
    """
    parts = []
    shown = step.shown
    if step.state is StepState.ELSEWHERE:
        parts.append("open")
    elif shown is not None:
        if shown.is_choice:
            parts.append("your choice")
        if shown.facts.resistance:
            parts.append(RESISTANCE_WORDS[shown.facts.resistance])
    if step.others:
        is_predicted = step.state is StepState.PREDICTED
        one, many = ("not tried",) * 2 if is_predicted else ("other", "others")
        parts.append(f"{step.others} {one if step.others == 1 else many}")
    if step.silent and step.state is not StepState.IN_TUNE:
        parts.append("1 does not speak" if step.silent == 1 else f"{step.silent} do not speak")
    if step.rejected:
        parts.append(f"{step.rejected} rejected")
    return ", ".join(parts)


def describe_place(step: RangeStep) -> str:
    """Say what the picture of a step shows beside its number."""
    offset = step.offset_cents
    if step.state is StepState.OPEN:
        return "a gap"
    if offset is None:
        return "nothing recorded"
    if step.state is StepState.NOT_TRIED:
        return "meant for this step" if not offset else f"meant {format_cents(offset)} cents aside"
    if step.state is StepState.ELSEWHERE:
        return "a gap: what is logged sounds too far off"
    return step.state.value


def _row(step: RangeStep, scale: LadderScale) -> StepRow:
    rung = _RUNGS[step.state]
    if rung is Rung.OPEN and step.silent:
        rung = Rung.SILENT
    drawn = draw_rung(
        rung, scale, offset_cents=step.offset_cents, uncertainty_cents=step.uncertainty_cents
    )
    return StepRow(
        written=step.written,
        state=step.state,
        rung=Markup(drawn),
        place_words=describe_place(step),
        answer=describe_answer(step),
        facts=describe_facts(step),
    )


def _count_words(steps: Iterable[RangeStep]) -> str:
    every = list(steps)
    in_tune = sum(step.state is StepState.IN_TUNE for step in every)
    return f"{in_tune} of {len(every)} in tune, {sum(step.is_open for step in every)} open"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
