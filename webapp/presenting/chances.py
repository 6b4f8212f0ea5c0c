"""A chance in a word or two, beside its figure; the grades are judgement."""

_GRADES = (
    (0.75, "very likely"),
    (0.5, "more likely than not"),
    (0.25, "worth a try"),
    (0.1, "a long shot"),
    (0.0, "unlikely"),
)


def chance_in_ten(chance: float) -> str:
    """Say a chance from 0 to 1 as a count of ten.

    >>> chance_in_ten(0.93), chance_in_ten(0.02)
    ('9 in 10', 'under 1 in 10')
    """
    return f"{int(10 * chance + 0.5)} in 10" if chance >= 0.1 else "under 1 in 10"


def describe_chance(chance: float) -> str:
    """Say how likely something of a chance from 0 to 1 is.

    >>> describe_chance(0.8), describe_chance(0.04)
    ('very likely', 'unlikely')
    """
    return next(words for least, words in _GRADES if chance >= least)
