"""The trade's table of ordinary fingerings, and where each layout departs from it.

All of it is common practice, written down from memory, not from a published chart; the German
system's lines are the least sure.
"""

from analysis.pitch import WrittenPitch

# Chalumeau and throat of every clarinet with this keywork, whatever its size.
CHALUMEAU: dict[str, tuple[str, ...]] = {
    "E3": ("T 123 | 123 | right E", "T 123 | 123 | left E"),
    "F3": ("T 123 | 123 | right F", "T 123 | 123 | left F"),
    "F#3": ("T 123 | 123 | left F#", "T 123 | 123 | right F#"),
    "G3": ("T 123 | 123",),
    "G#3": ("T 123 | 123 | G#/Eb",),
    "A3": ("T 123 | 12-",),
    "Bb3": ("T 123 | 1--",),
    "B3": ("T 123 | -2-", "T 123 | 1-- | right cross"),
    "C4": ("T 123 | ---",),
    "C#4": ("T 123 | --- | C#/G#",),
    "D4": ("T 12- | ---",),
    "Eb4": ("T 12- | --- | side 1", "T 12- | --- | left cross", "T 1-- | 1--"),
    "E4": ("T 1-- | ---",),
    "F4": ("T --- | ---",),
    "F#4": ("1-- | ---", "T --- | --- | side 1, side 2"),
    "G4": ("--- | ---",),
    "G#4": ("--- | --- | throat G#",),
    "A4": ("--- | --- | throat A",),
    "Bb4": ("R --- | --- | throat A", "--- | --- | throat A, side 3"),
}
# From D6 up with the E flat key, and then without it.
ALTISSIMO: dict[str, tuple[str, ...]] = {
    "C#6": ("T R -23 | 12-",),
    "D6": ("T R -23 | 1-- | G#/Eb", "T R -23 | 1--"),
    "Eb6": (
        "T R -23 | 1-- | right cross, G#/Eb",
        "T R -23 | -2- | G#/Eb",
        "T R -23 | 1-- | right cross",
        "T R -23 | -2-",
    ),
    "E6": ("T R -23 | --- | G#/Eb", "T R -23 | ---"),
    "F6": ("T R -23 | --- | C#/G#, G#/Eb", "T R -23 | --- | C#/G#"),
    "F#6": ("T R -2- | --- | G#/Eb", "T R -2- | ---", "T R 12- | --- | G#/Eb"),
    "G6": (
        "T R -2- | --- | side 1, G#/Eb",
        "T R -2- | --- | side 1",
        "T R 12- | 12- | G#/Eb",
        "T R 12- | 12-",
        "T R 1-3 | 12- | G#/Eb",
    ),
}
# The large clarinets have plates in place of rings; up to here their altissimo is ordinary.
_ORDINARY_ON_PLATES = ("C#6", "D6", "Eb6")
# What nobody calls ordinary, and how high it goes: never among the ordinary fingerings.
TO_TRY = {
    "soprano": ("G#6", "A6", "Bb6", "B6", "C7"),
    "plates": ("E6", "F6", "F#6", "G6"),
    "german": ("C#6", "D6", "Eb6", "E6", "F6", "F#6", "G6"),
}
TWO_REGISTER_KEYS = "bass-low-eb-two-register-keys"

# Where a layout's own table differs.
_CHALUMEAU_CHANGES: dict[str, dict[str, tuple[str, ...]]] = {
    "soprano-20-7": {
        "G#3": ("T 123 | 123 | G#/Eb", "T 123 | 123 | left G#/Eb"),
        "Eb4": ("T 12- | --- | side 1", "T 12- | --- | left cross", "T 1-3 | ---", "T 1-- | 1--"),
    },
    TWO_REGISTER_KEYS: {
        "Bb4": ("--- | --- | upper register, throat A", "--- | --- | throat A, side 3"),
    },
    "soprano-german": {
        "E3": ("T 123 | 123 | left E", "T 123 | 123 | left E, right F"),
        "F3": ("T 123 | 123 | right F",),
        "F#3": ("T 123 | 123 | left F#, right F",),
        "Bb3": ("T 123 | 1-3", "T 123 | 12- | right cross"),
        "B3": ("T 123 | 1--",),
        "Eb4": ("T 12- | --- | side Eb", "T 12- | --- | left cross", "T 1-3 | ---"),
        "F#4": ("1-- | ---",),
        "Bb4": ("R --- | --- | throat A", "--- | --- | throat A, trill 1"),
    },
}
# The clarinets with plates in place of rings: the lifted first finger uncovers a small hole only.
_VENTED_PLATES = frozenset({"alto-low-eb", "bass-low-c", "bass-low-eb", TWO_REGISTER_KEYS} | {
    "contra-low-c", "contra-low-eb",
})  # fmt: skip


def _low(*keys: str) -> tuple[str, ...]:
    return tuple(f"T 123 | 123 | {key}" for key in keys)


_LOW_E_FLAT_RIGHT = {"Eb3": _low("right low Eb")}
_LOW_E_FLAT_BOTH = {"Eb3": _low("right low Eb", "left low Eb")}
_THUMB_C = {"C3": _low("thumb low C"), "C#3": _low("thumb low C#")}
EXTENSIONS: dict[str, dict[str, tuple[str, ...]]] = {
    "soprano-17-6": {},
    "soprano-german": {},
    "soprano-20-7": _LOW_E_FLAT_RIGHT,
    "alto-low-eb": _LOW_E_FLAT_RIGHT,
    "contra-low-eb": _LOW_E_FLAT_RIGHT,
    "bass-low-eb": _LOW_E_FLAT_BOTH,
    TWO_REGISTER_KEYS: _LOW_E_FLAT_BOTH,
    "bass-low-c": {**_THUMB_C, "D3": _low("right low D", "left low D"), **_LOW_E_FLAT_BOTH},
    "contra-low-c": {**_THUMB_C, "D3": _low("right low D"), **_LOW_E_FLAT_RIGHT},
    "basset-clarinet-low-c": {
        **_THUMB_C,
        "D3": _low("thumb low D"),
        "Eb3": _low("right low Eb", "thumb low Eb"),
    },
    "basset-horn-low-c": {
        **_THUMB_C,
        "D3": _low("thumb low D", "left low D"),
        **_LOW_E_FLAT_RIGHT,
    },
}


def chalumeau_table(layout_id: str) -> dict[str, tuple[str, ...]]:
    return {**CHALUMEAU, **_CHALUMEAU_CHANGES.get(layout_id, {})}


def altissimo_table(layout_id: str) -> dict[str, tuple[str, ...]]:
    """What is ordinary above C6; on plates the first of each note, the first finger's vented."""
    if layout_id == "soprano-german":
        return {}
    if layout_id not in _VENTED_PLATES:
        return ALTISSIMO
    return {
        note: _with_upper_key(ALTISSIMO[note][0].replace("R -", "R [1]"), layout_id)
        for note in _ORDINARY_ON_PLATES
    }


def to_try_notes(layout_id: str) -> tuple[str, ...]:
    """Find which notes have fingerings to try on a layout."""
    if layout_id == "soprano-german":
        return TO_TRY["german"]
    return TO_TRY["plates" if layout_id in _VENTED_PLATES else "soprano"]


def add_register(text: str, note: str, layout_id: str) -> str:
    """Add the register key to a chalumeau fingering: of two keys the upper one from E5 up."""
    with_lower = text.replace("T ", "T R ", 1)
    is_upper = WrittenPitch.from_canonical(note) >= WrittenPitch.from_canonical("E5")
    return _with_upper_key(with_lower, layout_id)[0] if is_upper else with_lower


def _with_upper_key(text: str, layout_id: str) -> tuple[str, ...]:
    if layout_id != TWO_REGISTER_KEYS:
        return (text,)
    left, right, *extras = text.replace("T R", "T").split(" | ")
    return (" | ".join((left, right, ", ".join(("upper register", *extras)))),)
