"""The range as its page shows it: the words and the picture of every step, and the summary.

Numbers and words say all of it; the pictures (`webapp.drawing.range`) repeat it for the eye.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from analysis.pitch import (
    AccidentalSign,
    Register,
    WrittenPitch,
    format_cents,
    format_pitch,
    nearest_accidental,
)
from webapp.drawing.figures import format_uncertainty
from webapp.drawing.range import LadderScale, Rung, draw_ladder_parts, draw_rung, draw_sign
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.targets.range import RangeStep, Standing, WholeRange
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
    Standing.PROVEN: Rung.PROVEN,
    Standing.PREDICTED: Rung.PREDICTED,
    Standing.LOGGED: Rung.LOGGED,
    Standing.ORDINARY: Rung.ORDINARY,
    Standing.OPEN: Rung.OPEN,
}


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step as a row: what it is called, where it stands, what is known of it."""

    written: WrittenPitch
    standing: Standing
    name: str
    name_in_words: str
    sign: Markup
    rung: Markup
    place_words: str
    answer: str
    facts: str

    @property
    def is_open(self) -> bool:
        """Whether nothing at all is known for it."""
        return self.standing is Standing.OPEN


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


def present_range(whole: WholeRange, writing: Writing) -> RangeView:
    """Make rows and words of a range, in the player's way of writing."""
    half = float(whole.division.step_cents / 2)
    scale = LadderScale(_REACH_OF_HALF_A_STEP * half, writing.tolerance_cents)
    signs = {step.written: _sign_of(step.written, writing) for step in whole.steps}
    sections = {
        register: Section(
            register,
            tuple(_row(step, scale, whole, writing, signs[step.written]) for step in steps),
            _count_words(steps),
        )
        for register, steps in whole.by_register()
    }
    columns = (
        tuple(sections[register] for register in column if register in sections)
        for column in COLUMNS
    )
    return RangeView(
        Markup(draw_ladder_parts(scale, signs.values())),
        scale,
        tuple(column for column in columns if column),
        summarise(whole),
        describe_counting(whole),
    )


def summarise(whole: WholeRange) -> str:
    """Say in one sentence how far the range has come."""
    near = whole.within_tolerance
    proven = whole.count(Standing.PROVEN)
    words = f"{proven} of {_counted(len(whole.steps), 'step')} proven"
    if proven:
        amount = "all" if near == proven else str(near) if near else "none"
        words += f", {amount} of them within {whole.tolerance_cents:g} cents"
    others = (
        (Standing.PREDICTED, "predicted only"),
        (Standing.LOGGED, "logged and not measured"),
        (Standing.ORDINARY, "ordinary and not logged"),
    )
    parts = [f"{whole.count(each)} {name}" for each, name in others if whole.count(each)]
    return "; ".join((words, ", ".join((*parts, f"{whole.count(Standing.OPEN)} open")))) + "."


def describe_counting(whole: WholeRange) -> str:
    """Say which fingerings count for a step, and how many lie outside."""
    reach = f"{whole.reach_cents:g} cents"
    words = f"A fingering counts for the step nearest to where it sounds, at most {reach} away."
    if whole.outside:
        lie = "sounds" if whole.outside == 1 else "sound"
        words += f" {_counted(whole.outside, 'fingering')} {lie} below or above this range."
    return words


def describe_answer(step: RangeStep) -> str:
    """Say in a few signs where a step stands: its number, or the word for having none."""
    if step.offset_cents is None or step.standing is Standing.LOGGED:
        return step.standing.value
    uncertainty = step.uncertainty_cents
    if step.standing is Standing.PREDICTED:
        return f"{format_cents(step.offset_cents, decimals=0)} ± {uncertainty or 0.0:.0f}"
    return f"{format_cents(step.offset_cents)} ± {format_uncertainty(uncertainty or 0.0)}"


def describe_facts(step: RangeStep) -> str:
    """Say what else is known of a step: how it resists, what else there is."""
    parts = []
    if step.standing in (Standing.PROVEN, Standing.LOGGED) and step.best and step.best.resistance:
        parts.append(RESISTANCE_WORDS[step.best.resistance])
    if step.others:
        is_predicted = step.standing is Standing.PREDICTED
        one, many = ("not measured",) * 2 if is_predicted else ("other", "others")
        parts.append(f"{step.others} {one if step.others == 1 else many}")
    if step.silent:
        parts.append("1 does not speak" if step.silent == 1 else f"{step.silent} do not speak")
    return ", ".join(parts)


def describe_place(step: RangeStep, whole: WholeRange) -> str:
    """Say what the picture of a step shows beside its number."""
    offset = step.offset_cents
    if step.standing is Standing.OPEN:
        return "a gap"
    if offset is None:
        return "nothing recorded"
    if step.standing is Standing.LOGGED:
        return "meant for this step" if not offset else f"meant {format_cents(offset)} cents aside"
    near = "within" if whole.is_within(step) else "outside"
    return f"{step.standing.value}, {near} the tolerance"


def _row(
    step: RangeStep, scale: LadderScale, whole: WholeRange, writing: Writing, sign: AccidentalSign
) -> StepRow:
    rung = _RUNGS[step.standing]
    if rung is Rung.OPEN and step.silent:
        rung = Rung.SILENT
    drawn = draw_rung(
        rung, scale, offset_cents=step.offset_cents, uncertainty_cents=step.uncertainty_cents
    )
    return StepRow(
        written=step.written,
        standing=step.standing,
        name=format_pitch(step.written, names=writing.names, style="short"),
        name_in_words=format_pitch(step.written.to_be_read(), names=writing.names, style="words"),
        sign=Markup(draw_sign(sign) if _is_exact(sign) else ""),
        rung=Markup(drawn),
        place_words=describe_place(step, whole),
        answer=describe_answer(step),
        facts=describe_facts(step),
    )


def _sign_of(written: WrittenPitch, writing: Writing) -> AccidentalSign:
    return nearest_accidental(written.alter_cents, writing.accidentals)


def _is_exact(sign: AccidentalSign) -> bool:
    """Whether a sign stands for the whole alteration; half of it would contradict the name."""
    return bool(sign.sign_cents) and not sign.residual_cents


def _count_words(steps: Iterable[RangeStep]) -> str:
    standings = [step.standing for step in steps]
    proven, gaps = standings.count(Standing.PROVEN), standings.count(Standing.OPEN)
    return f"{proven} of {len(standings)} proven, {gaps} open"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
