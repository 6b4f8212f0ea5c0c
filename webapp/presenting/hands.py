"""Ease of a fingering in a line for the pages.

The figure and its terms are `analysis.keywork.assess_ease`; the grades here only give it a word.
"""

from dataclasses import dataclass

from analysis.keywork import AWKWARD_FIGURE, KeyStates, assess_ease, describe_motion, find_conflicts

# Grades from the figure down; judgement, as the figure itself.
_GRADES = ((0.8, "easy"), (AWKWARD_FIGURE, "takes some care"), (0.0, "awkward"))


@dataclass(frozen=True, slots=True)
class HandWords:
    """How it lies: the grade, what makes it so, and whether to warn."""

    grade: str
    terms: str
    is_awkward: bool


def describe_ease(fingering: KeyStates) -> HandWords:
    """Say how a fingering lies in the hands; awkward ones are flagged, never refused."""
    ease = assess_ease(fingering)
    if ease.figure == 0:
        return HandWords(_explain_impossible(fingering), "", is_awkward=True)
    grade = next(words for least, words in _GRADES if ease.figure >= least)
    terms = ease.words if ease.figure < 1 else ""  # the grade says all where nothing is awkward
    return HandWords(grade, terms, is_awkward=ease.figure < AWKWARD_FIGURE)


def _explain_impossible(fingering: KeyStates) -> str:
    thumbs = [one.thumb for one in find_conflicts(fingering) if one.thumb is not None]
    return f"your right thumb {thumbs[0].reason}" if thumbs else "two hands can’t hold it"


def describe_way(first: KeyStates, second: KeyStates) -> str:
    """Say what the hands do from one fingering to another, and how much effort that is."""
    motion = describe_motion(first, second)
    if not motion.cost:
        return motion.words
    return f"{motion.words} (effort {motion.cost:g}; one plain finger is 1)"
