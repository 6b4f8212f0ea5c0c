"""The spectrum numbers its partials and names the strongest in words."""

import xml.etree.ElementTree as ET
from itertools import pairwise

from analysis.recording import Partial, Spectrum
from webapp.drawing.spectrum import describe_spectrum, draw_spectrum

SVG = "{http://www.w3.org/2000/svg}"


def tone(f0_hz: float, levels_db: list[float]) -> Spectrum:
    partials = tuple(
        Partial(number, number * f0_hz, level) for number, level in enumerate(levels_db, start=1)
    )
    freq_hz = tuple(20.0 * index for index in range(400))
    return Spectrum(freq_hz, (-70.0,) * 400, partials)


def marks(svg: str) -> tuple[list[float], list[str]]:
    """The places of the dots from left to right, and the numbers that are printed."""
    group = ET.fromstring(svg).find(f"{SVG}g[@class='accent']")
    assert group is not None
    dots = sorted(float(dot.get("cx", "")) for dot in group.iter(f"{SVG}circle"))
    return dots, [text.text or "" for text in group.iter(f"{SVG}text")]


def test_the_words_name_the_strongest_partials_first() -> None:
    # A clarinet's low notes have weak even partials: common practice of acoustics, from memory.
    spectrum = tone(147, [0, -31.6, -6.2, -28, -9, -25, -12])

    assert describe_spectrum(spectrum, f0_hz=147) == (
        "Strongest partials of the tone at 147.0 Hz, strongest first: 1 (0 dB), 3 (−6 dB), "
        "5 (−9 dB), 7 (−12 dB), 6 (−25 dB). 7 partials are marked."
    )


def test_partials_of_a_harmonic_tone_stand_at_even_distances() -> None:
    dots, _ = marks(draw_spectrum(tone(500, [0, -20, -10, -25, -15]), f0_hz=500))
    steps = [later - earlier for earlier, later in pairwise(dots)]

    assert len(dots) == 5
    assert max(steps) - min(steps) < 0.02


def test_where_numbers_would_run_together_the_stronger_partial_keeps_its_number() -> None:
    levels = [0.0 if number % 2 else -30.0 for number in range(1, 31)]
    dots, numbers = marks(draw_spectrum(tone(147, levels), f0_hz=147))

    assert len(dots) == 30
    assert {"1", "3", "5", "7"} <= set(numbers)
    assert "2" not in numbers


def test_a_take_without_a_spectrum_says_so() -> None:
    svg = draw_spectrum(Spectrum((), (), ()), f0_hz=440)

    assert "No partials were found in this take." in svg
    assert "no spectrum" in svg
