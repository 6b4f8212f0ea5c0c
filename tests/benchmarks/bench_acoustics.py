"""How well the tube model does, as tables: run by hand, results go into RESULTS_FINDER.md.

    python -m tests.benchmarks.bench_acoustics

"In tune" means equal temperament, A4 = 440 Hz, 26 degrees C: common practice, from memory. Leave
one out: a note is taken away, the tube calibrated by all others, the note predicted. The
remembered places of the holes come from an earlier calibration that knew all notes, rounded to
5 mm, so this is a little kinder than a tube that nobody had calibrated; the second
leave-one-out column, with places known half as well, shows by how much.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np

from analysis.acoustics import (
    Linkage,
    Screening,
    TubeModel,
    decode_holes,
    find_air,
    find_resonances,
    list_geometries,
    predict,
)
from analysis.acoustics.calibration import (
    calibrate,
    calibrate_initial,
    cross_validate,
    list_initial_geometries,
)
from analysis.acoustics.calibration_notes import find_errors, find_rms, list_notes, split_altissimo
from analysis.acoustics.parameters import DEFAULT_SPREADS
from analysis.finder.tube import PREPARED_CHANGES
from analysis.keywork import UnreadableFingering, load_layout, parse_fingering

SEED = 20240601
WIDER = replace(DEFAULT_SPREADS, place_share=2 * DEFAULT_SPREADS.place_share)

# Common practice, from memory: base, changed fingering, about how many cents.
_C_SHARP = "T R 123 | 123 | left F#"
TRADE = (
    ("right cross key on F#5", "T R 123 | -2-", "T R 123 | -2- | right cross", "+50"),
    ("low E key on E5", "T R 123 | 12-", "T R 123 | 12- | right E", "-50"),
    ("left 1 shaded, low E on C#5", _C_SHARP, "T R (1)23 | 123 | left F#, right E", "+50"),
    ("left 1 off, low E on C#5", _C_SHARP, "T R -23 | 123 | left F#, right E", "above"),
    ("left 1 shaded on C#5", _C_SHARP, "T R (1)23 | 123 | left F#", "none known"),
    ("left 1 off on C#5", _C_SHARP, "T R -23 | 123 | left F#", "none known"),
)


def show_calibration(initial_id: str) -> None:
    made = calibrate_initial(initial_id)
    model = TubeModel(made.geometry, find_air())
    wider = calibrate(made.start, made.notes, spreads=WIDER)
    fitted = find_rms(made.notes, find_errors(model, made.notes))
    out, out_wider = cross_validate(made), cross_validate(wider)
    worst = {
        g: max(abs(e) for n, e in zip(made.notes, out, strict=True) if n.group == g) for g in fitted
    }
    left, left_wider = find_rms(made.notes, out), find_rms(made.notes, out_wider)
    print(f"\n| {initial_id}, rms in cents | calibrated | left out (worst) | places half as sure |")
    print("| --- | --- | --- | --- |")
    for group in fitted:
        print(
            f"| {group} | {fitted[group]:.1f} | {left[group]:.1f} ({worst[group]:.0f}) "
            f"| {left_wider[group]:.1f} |"
        )
    _, altissimo = split_altissimo(list_notes(load_layout(made.geometry.layout_id)))
    errors = find_errors(model, altissimo)
    words = [f"{n.written.canonical} {e:+.0f}" for n, e in zip(altissimo, errors, strict=True)]
    print(f"\naltissimo, never calibrated: {', '.join(words)}")


def show_trade() -> None:
    print(f"\n| shift in cents | {' | '.join(words for words, *_ in TRADE)} |")
    print("| --- " * (1 + len(TRADE)) + "|")
    print(f"| common practice | {' | '.join(expected for *_, expected in TRADE)} |")
    for geometry in list_geometries():
        layout = load_layout(geometry.layout_id)
        cells = []
        for _, base, changed, _ in TRADE:
            try:
                pair = [parse_fingering(text, layout) for text in (base, changed)]
            except UnreadableFingering:
                cells.append("-")
                continue
            low, high = (predict(fingering, geometry)[1].written_cents for fingering in pair)
            cells.append(f"{high - low:+.0f}")
        print(f"| {geometry.id} | {' | '.join(cells)} |")


def show_screening() -> None:
    print("\n| screening | hole states | s | MB | median, 99%, worst error in cents by resonance |")
    print("| --- | --- | --- | --- | --- |")
    rng = np.random.default_rng(SEED)
    for geometry in list_geometries():
        layout, model = load_layout(geometry.layout_id), TubeModel(geometry, find_air())
        linkage = Linkage(layout)
        around = [
            linkage.find_within(linkage.encode(note.fingering), PREPARED_CHANGES)
            for note in list_notes(layout)
        ]
        holes = np.unique(linkage.find_holes(np.concatenate(around)))
        began = time.process_time()
        made = Screening(model).find(holes)
        took = time.process_time() - began
        pick = rng.choice(len(holes), 1000, replace=False)
        exact = find_resonances(model, decode_holes(holes[pick], len(layout.holes)))
        errors = np.abs(exact - geometry.treble_transposition_cents - made.written_cents[pick])
        cells = [
            "/".join(f"{value:.3f}" for value in np.nanpercentile(column, [50, 99, 100]))
            for column in errors.T
        ]
        size = sum(column.nbytes for column in made) / 1e6
        print(f"| {geometry.id} | {len(holes)} | {took:.1f} | {size:.1f} | {', '.join(cells)} |")


def show_temperature() -> None:
    for geometry in list_geometries():
        layout = load_layout(geometry.layout_id)
        notes, _ = split_altissimo(list_notes(layout))
        warm, cool = (find_errors(TubeModel(geometry, find_air(t)), notes) for t in (28.0, 24.0))
        print(f"{geometry.id}: {np.mean(warm - cool) / 4:.2f} cents per degree C")


if __name__ == "__main__":
    show_trade()
    show_temperature()
    show_screening()
    for initial_id in list_initial_geometries():
        show_calibration(initial_id)
