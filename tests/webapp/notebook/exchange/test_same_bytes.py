"""Property: whatever another notebook exports, brought in and exported again it is the same bytes.

The documents are made by chance within the schema; takes go along as bytes of a made-up recording.
"""

import hashlib
import io
import random
from datetime import datetime
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.finder import Strategy
from analysis.keywork import KeyStates, State, format_fingering, load_layout, write_layout
from analysis.plain_text import clean_text
from tests.steady_examples import any_text
from tests.thinning import examples
from tests.webapp.logging_rows import SOPRANO
from tests.webapp.notebook.exchange.sending import arrive, bring_in, send_on
from webapp.notebook.exchange.archive import write_archive
from webapp.notebook.exchange.comparing import preview_document
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.store.notebook import Notebook

LAYOUT = load_layout(SOPRANO)
TOML = write_layout(LAYOUT)
CHANCE = random.Random(7)
KEYS = [
    KeyStates(LAYOUT, tuple(CHANCE.choice(sorted(key.states)) for key in LAYOUT.keys))
    for _ in range(12)
]
TEXTS = any_text(max_size=30).map(clean_text)
MOMENTS = st.datetimes(datetime(1900, 1, 1), datetime(2100, 1, 1)).map(
    lambda each: f"{each.isoformat()}+00:00"
)
SAID = TEXTS.map(lambda text: f"x{text}")
CENTS = st.floats(-400, 400, allow_nan=False)
IDS = st.integers(0, 2**64 - 1).map(lambda number: f"{number:016x}")
WORD = {"written_cents": "7350", "role": "mine", "circumstance": "soft", "reason": "x"}
WRITTEN = st.sampled_from(["D5-50c", "Bb4", "F#5+25c", "E3", "C6-50/3c"])


def wav_of(number: int) -> bytes:
    """Bytes that begin as a recording does; nothing decodes what came from others."""
    return b"RIFF\x24\x00\x00\x00WAVEfmt " + number.to_bytes(8, "big")


@st.composite
def takes(draw: st.DrawFn) -> dict[str, Any]:
    sound = wav_of(draw(st.integers(0, 2**63)))
    sha256 = hashlib.sha256(sound).hexdigest()
    return {
        "sha256": sha256,
        "bytes": len(sound),
        "format": "wav",
        "file": draw(st.sampled_from([None, f"takes/{sha256}.wav"])),
        "recorded_at": draw(MOMENTS),
        "dynamic": draw(st.sampled_from([None, "pp", "f"])),
        "tuning_a_hz": draw(st.floats(390, 470)),
        "air_temperature_c": draw(st.none() | st.floats(-10, 45)),
        "verdict": "ok",
        "standing": "counts",
        "offset_cents": draw(st.none() | CENTS),
        "uncertainty_cents": draw(st.none() | st.floats(0, 50)),
        "_sound": sound,
    }


@st.composite
def fingerings(draw: st.DrawFn, uid: str) -> dict[str, Any]:
    keys = draw(st.sampled_from(KEYS))
    measured = {
        "offset_cents": draw(CENTS),
        "uncertainty_cents": draw(st.floats(0, 50)),
        "spread_cents": draw(st.none() | st.floats(0, 50)),
        "takes_counted": draw(st.integers(1, 9)),
    }
    return {
        "id": uid,
        "changed_at": draw(MOMENTS),
        "drawing": f"drawings/{uid}.svg",
        "note": {
            "written": draw(WRITTEN),
            "sign_cents": draw(st.sampled_from([None, "-50", "100"])),
            "in_words": draw(TEXTS),
            "sounding_cents": draw(st.floats(4000, 9000)),
        },
        "keys": format_fingering(keys),
        "keys_in_words": draw(TEXTS),
        "pressed": {
            key.id: state.value
            for key, state in zip(LAYOUT.keys, keys.states, strict=True)
            if state is not State.UP
        },
        "started_from": draw(st.sampled_from([None, {"keys": "T R 123 | 123", "written": "D5"}])),
        "how": draw(st.sampled_from([*(each.value for each in Strategy), "unheard-of"])),
        "how_in_words": draw(TEXTS),
        "figures": draw(st.sampled_from([None, measured])),
        "does_not_speak": draw(st.booleans()),
        "speaks_softly": draw(st.none() | st.booleans()),
        "resistance": draw(st.none() | st.integers(1, 5)),
        "resistance_notes": draw(TEXTS),
        "notes": draw(TEXTS),
        "tags": draw(st.lists(SAID, max_size=3)),
        "words": draw(st.lists(st.just(WORD), max_size=1)),
        "takes": draw(st.lists(takes(), max_size=3, unique_by=lambda take: take["sha256"])),
    }


@st.composite
def documents(draw: st.DrawFn) -> tuple[dict[str, Any], dict[str, bytes]]:
    uids = draw(st.lists(IDS, min_size=2, max_size=6, unique=True))
    owners, names = uids[:1], uids[1:]
    instruments: list[dict[str, Any]] = [
        {
            "id": owner,
            "changed_at": draw(MOMENTS),
            "name": draw(TEXTS),
            "kind": "b-flat-soprano",
            "kind_words": draw(TEXTS),
            "transposition_cents": -200,
            "tuning_a_hz": draw(st.floats(390, 470)),
            "mouthpiece": draw(TEXTS),
            "reed": draw(TEXTS),
            "barrel": draw(TEXTS),
            "keywork": {"id": LAYOUT.id, "version": 1, "name": LAYOUT.name, "toml": TOML},
            "fingerings": [draw(fingerings(uid)) for uid in names],
        }
        for owner in owners
    ]
    sounds = {
        take["file"]: take.pop("_sound")
        for one in instruments
        for each in one["fingerings"]
        for take in each["takes"]
    }
    notes = [{"written": "D5", "fingering": uid, "remark": draw(TEXTS)} for uid in (*names, None)]
    made = {
        "id": draw(IDS),
        "changed_at": draw(MOMENTS),
        "instrument": owners[0],
        "title": draw(SAID),
        "message": draw(TEXTS),
        "notes": notes,
    }
    document = {
        "format": "quartervent-exchange",
        "version": 1,
        "sender": {"id": f"{draw(st.integers(1, 2**128 - 1)):032x}", "name": draw(TEXTS)},
        "instruments": instruments,
        "lists": draw(st.sampled_from([[], [made]])),
    }
    return document, sounds


@settings(
    max_examples=examples(100, share=10),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(made=documents())
def test_export_import_export_gives_the_same_bytes_whatever_it_holds(
    notebook: Notebook, tmp_path: Path, made: tuple[dict[str, Any], dict[str, bytes]]
) -> None:
    document, sounds = made
    files = {}
    for name, sound in sounds.items():
        if name is not None:
            files[name] = tmp_path / name.removeprefix("takes/")
            files[name].write_bytes(sound)
    packed = io.BytesIO()
    write_archive(document, files, packed)
    sender_id, _ = bring_in(notebook, packed.getvalue(), tmp_path)
    assert send_on(notebook, sender_id) == packed.getvalue()
    again = arrive(packed.getvalue(), tmp_path).document
    assert preview_document(notebook, again).changes_nothing
    put_in_bin(notebook, "sender", sender_id)
    empty_bin(notebook)  # the next one may be of the same sender
    assert not notebook.clips.names()
