"""Chances in a word or two, without the lip's help and with it; the grades are judgement."""

_GRADES = (
    (0.75, "very likely"),
    (0.5, "more likely than not"),
    (0.25, "less likely than not"),
    (0.1, "a long shot"),
    (0.0, "unlikely"),
)


def chance_in_ten(chance: float) -> str:
    """Say a chance from 0 to 1 as a count of ten.

    >>> chance_in_ten(0.93), chance_in_ten(0.02)
    ('9 in 10', 'under 1 in 10')
    """
    return f"{int(10 * chance + 0.5)} in 10" if chance >= 0.1 else "under 1 in 10"


def chances_in_ten(chance: float, lip_chance: float) -> str:
    """Say two chances from 0 to 1 as counts of ten: without the lip's help, and with it.

    >>> chances_in_ten(0.41, 0.72)
    '4 in 10, with the lip 7 in 10'
    """
    return f"{chance_in_ten(chance)}, with the lip {chance_in_ten(lip_chance)}"


def describe_chances(chance: float, lip_chance: float) -> str:
    """Say how likely something is without the lip's help, and with it.

    >>> describe_chances(0.2, 0.6), describe_chances(0.8, 0.9)
    ('a long shot, with the lip more likely than not', 'very likely, with the lip too')
    """
    without, lipped = describe_chance(chance), describe_chance(lip_chance)
    return f"{without}, with the lip {'too' if lipped == without else lipped}"


def describe_chance(chance: float) -> str:
    """Say how likely something of a chance from 0 to 1 is.

    >>> describe_chance(0.8), describe_chance(0.04)
    ('very likely', 'unlikely')
    """
    return next(words for least, words in _GRADES if chance >= least)
