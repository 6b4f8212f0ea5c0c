"""Garbage collector: walks rarely while a program starts, since all that is imported stays.

By default young objects are walked through each time 700 more have been made, and all of them each
time they have grown by a quarter, which a start does several times over. What it made is left out
of all later walks. Source: Python manual, "gc", `set_threshold` and `freeze`.
"""

import gc

AS_USUAL = gc.get_threshold()
RARELY = (50_000, *AS_USUAL[1:])


def walk_rarely() -> None:
    """Let more objects be made before they are walked through: a start makes some 150,000."""
    gc.set_threshold(*RARELY)


def walk_as_usual() -> None:
    """Walk as often as before."""
    gc.set_threshold(*AS_USUAL)


def keep_for_good() -> None:
    """Leave all objects that there are out of later walks, which come as often as before."""
    gc.freeze()
    walk_as_usual()
