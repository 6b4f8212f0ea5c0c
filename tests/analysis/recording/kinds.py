"""Made sounds of every kind that a take may hold, each drawn from a random generator.

Each is made of `sound_parts`. Nothing imitates one instrument or speaker: that
fluttering beats 18 to 30 times a second, that trills alternate 3 to 10 times, that partials of a
struck string are a little sharp and those of a struck plate lie anywhere, is from memory.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import soundfile
from scipy.signal import butter, sosfilt

from tests.analysis.recording.sound_parts import (
    Rng,
    Samples,
    Sound,
    draw_hz,
    draw_levels_db,
    fade,
    finish,
    finish_path,
    make_wander,
    sound_path,
)
from tests.analysis.recording.sounds import RATE
from tests.analysis.recording.tones import Tone, make_noise

LONE_SHARE = 0.9  # of the power, in one partial: it is heard as the pitch
PITCHED_HZ = 5000.0  # no pitch is heard above it: common knowledge of hearing, from memory


def held(rng: Rng) -> Sound:
    """A held note as players hold them, with vibrato for some."""
    f0_hz, seconds = draw_hz(rng), rng.uniform(0.6, 4.0)
    count = int(seconds * RATE)
    cents = make_wander(rng, count, rng.uniform(0.2, 2.0), 0.2, 3.0)
    cents += rng.uniform(-8, 8) * np.linspace(-1, 1, count)
    cents -= rng.uniform(0, 60) * np.exp(-np.arange(count) / RATE / 0.04)
    if rng.uniform() < 0.3:
        turns = 2 * np.pi * rng.uniform(4, 7) * np.arange(count) / RATE
        cents += rng.uniform(4, 35) * np.sin(turns)
    levels = draw_levels_db(rng, 30)
    loud = 1 + make_wander(rng, count, rng.uniform(0, 0.08), 0.3, 12.0)
    tone = sound_path(rng, f0_hz * 2 ** (cents / 1200), levels, fade(count) * loud)
    return Sound(finish(rng, tone), (f0_hz,))


def short(rng: Rng) -> Sound:
    """One short note, as in a fast passage."""
    f0_hz, seconds = draw_hz(rng, 140.0), rng.uniform(0.2, 0.3)
    count = int(seconds * RATE)
    cents = -rng.uniform(0, 30) * np.exp(-np.arange(count) / RATE / 0.02)
    envelope = fade(count, rise_s=rng.uniform(0.008, 0.02), fall_s=rng.uniform(0.01, 0.025))
    tone = sound_path(rng, f0_hz * 2 ** (cents / 1200), draw_levels_db(rng, 20), envelope)
    return Sound(finish(rng, tone, snr_db=rng.uniform(35, 60)), (f0_hz,))


def swell(rng: Rng) -> Sound:
    """A long, mostly low note that grows and fades by some 30 dB, its pitch going along."""
    f0_hz, seconds = draw_hz(rng, 55.0, 400.0), rng.uniform(2.0, 8.0)
    count = int(seconds * RATE)
    hump = np.sin(np.pi * np.arange(count) / count) ** rng.uniform(0.5, 2.0)
    envelope = 10 ** (rng.uniform(15, 30) * (hump - 1) / 20) * fade(count)
    cents = rng.uniform(-12, 12) * hump + make_wander(rng, count, 0.8, 0.2, 3.0)
    levels = draw_levels_db(rng, 30)[:, None] + np.outer(np.arange(30), 0.6 * (hump - 1))
    tone = sound_path(rng, f0_hz * 2 ** (cents / 1200), levels, envelope)
    return Sound(finish(rng, tone, snr_db=rng.uniform(25, 50)), (f0_hz,))


def strike(rng: Rng) -> Sound:
    """A struck string: partials a little sharp, each dying away at a pace of its own."""
    f0_hz, seconds = draw_hz(rng, 60.0, 1000.0), rng.uniform(1.5, 12.0)
    time_s = np.arange(int(seconds * RATE)) / RATE
    stiffness = 10 ** rng.uniform(-5, -3.6)
    half_s = rng.uniform(0.4, 2.5) * np.sqrt(220.0 / f0_hz)
    tone = np.zeros(len(time_s))
    for number, level in enumerate(draw_levels_db(rng, 24), start=1):
        freq_hz = number * f0_hz * np.sqrt(1 + stiffness * number**2)
        if freq_hz > 0.42 * RATE:
            break
        decay = 0.5 ** (time_s / (half_s * rng.uniform(0.6, 1.4) / number**0.4))
        wave = np.sin(2 * np.pi * freq_hz * time_s + rng.uniform(0, 6.28))
        tone += 10 ** (level / 20) * decay * wave
    tone *= fade(len(time_s), rise_s=0.004)
    return Sound(finish(rng, tone, snr_db=rng.uniform(20, 40)), (f0_hz,))


def high_passed(rng: Rng) -> Sound:
    """A low note through a microphone that hears nothing under 150 Hz."""
    f0_hz, count = draw_hz(rng, 58.0, 145.0), int(rng.uniform(0.8, 3.0) * RATE)
    cents = make_wander(rng, count, 1.0, 0.2, 3.0)
    levels = -rng.uniform(3, 8) * np.log2(np.arange(1, 41)) + rng.normal(0, 3.0, 40)
    levels -= np.where(np.arange(1, 41) % 2, 0.0, rng.uniform(0, 12))
    tone = sound_path(rng, f0_hz * 2 ** (cents / 1200), levels, fade(count))
    order = int(rng.choice([4, 8]))
    sections = butter(order, 150.0, "highpass", fs=RATE, output="sos")
    return Sound(finish(rng, sosfilt(sections, tone), snr_db=rng.uniform(35, 60)), (f0_hz,))


def through_codec(rng: Rng) -> Sound:
    """A held note that went through a lossy codec."""
    note = held(rng)
    kind = [("MP3", "MPEG_LAYER_III"), ("OGG", "VORBIS")][int(rng.integers(2))]
    return Sound(code(note.samples, *kind), note.f0s_hz)


def code(samples: Samples, container: str, codec: str) -> Samples:
    """Samples written in a lossy format and read again."""
    file = io.BytesIO()
    soundfile.write(file, samples, RATE, format=container, subtype=codec)
    file.seek(0)
    read, _ = soundfile.read(file)
    return np.asarray(read)


def flutter(rng: Rng) -> Sound:
    """Flutter-tonguing: the tone cut 18 to 30 times a second, unevenly, its pitch shaken a bit."""
    f0_hz, count = draw_hz(rng, 140.0, 1400.0), int(rng.uniform(0.7, 3.0) * RATE)
    rate_hz = rng.uniform(18.5, 29.5)
    turns = np.cumsum(rate_hz * (1 + make_wander(rng, count, 0.05, 0.5, 6.0))) / RATE
    wave = (0.5 + 0.5 * np.cos(2 * np.pi * turns)) ** rng.uniform(0.6, 2.0)
    depth = rng.uniform(0.55, 0.97) * (1 + make_wander(rng, count, 0.06, 2.0, 9.0))
    cut = np.clip(1 - depth * wave, 0.01, None)
    cents = rng.uniform(2, 14) * np.sin(2 * np.pi * (turns + rng.uniform()))
    cents += make_wander(rng, count, rng.uniform(1, 6), 1.0, 20.0)
    levels = draw_levels_db(rng, 24)[:, None] + np.outer(
        np.arange(24) * rng.uniform(0.0, 0.6), 10 * np.log10(cut)
    )
    tone = sound_path(rng, f0_hz * 2 ** (cents / 1200), levels, cut * fade(count))
    breath = make_noise(count, rng, is_pink=True) * wave * fade(count)
    tone += breath * np.sqrt(np.mean(tone**2)) * 10 ** (rng.uniform(-40, -18) / 20)
    return Sound(finish(rng, tone), (f0_hz,), rate_hz)


def _alternate(rng: Rng, interval_cents: float, rates_hz: tuple[float, float]) -> Sound:
    """Two notes by turns, unevenly, each with a colour of its own."""
    f0_hz, seconds = draw_hz(rng, 140.0, 1100.0), rng.uniform(1.0, 3.0)
    rate_hz, count = rng.uniform(*rates_hz), int(seconds * RATE)
    halves = 0.5 / rate_hz * (1 + rng.normal(0, 0.08, int(2 * seconds * rate_hz) + 20))
    halves[::2] *= 1 + rng.uniform(-0.2, 0.2)
    edges = np.cumsum(np.maximum(halves, 0.02))
    time_s = np.arange(count) / RATE
    upper = (np.searchsorted(edges, time_s) % 2).astype(float)
    size = int(rng.uniform(0.005, 0.014) * RATE)
    share = np.convolve(np.pad(upper, size, mode="edge"), np.ones(size) / size, "same")[size:-size]
    levels = [draw_levels_db(rng, 20)[:, None] for _ in range(2)]
    mixed = levels[0] * (1 - share) + levels[1] * share
    dips = 1 - rng.uniform(0, 0.5) * 4 * share * (1 - share)
    envelope = fade(count) * dips * 10 ** (rng.uniform(-4, 4) * share / 20)
    tone = sound_path(rng, f0_hz * 2 ** (share * interval_cents / 1200), mixed, envelope)
    return Sound(finish(rng, tone), (f0_hz, f0_hz * 2 ** (interval_cents / 1200)), rate_hz)


def trill(rng: Rng) -> Sound:
    """A trill: a quarter tone to a minor third, 3 to 10 times a second."""
    interval = float(rng.choice([70, 100, 150, 200, 250, 300])) + rng.normal(0, 8)
    return _alternate(rng, interval, (3.0, 10.0))


def tremolo(rng: Rng) -> Sound:
    """A tremolo: farther apart than a trill, up to an octave and a bit."""
    return _alternate(rng, float(rng.uniform(380, 1350)), (3.0, 9.0))


def glide(rng: Rng) -> Sound:
    """A glissando from note to note, or a bend down and back."""
    f0_hz, count = draw_hz(rng, 140.0, 1000.0), int(rng.uniform(0.8, 2.5) * RATE)
    share = np.arange(count) / count
    if rng.uniform() < 0.5:
        steep = np.clip((share - 0.5) * rng.uniform(1.0, 1.4) + 0.5, 0, 1)
        cents = rng.choice([-1, 1]) * rng.uniform(200, 1500) * (3 * steep**2 - 2 * steep**3)
    else:
        cents = -rng.uniform(150, 450) * np.sin(np.pi * share)
    envelope = fade(count) * (1 + make_wander(rng, count, 0.1, 0.5, 4.0))
    tone = sound_path(rng, f0_hz * 2 ** (cents / 1200), draw_levels_db(rng, 24), envelope)
    return Sound(finish(rng, tone))


def _sing_syllable(rng: Rng, voice_hz: float, *, is_hummed: bool) -> tuple[Samples, Samples]:
    """A syllable and its pitch in Hz, both of shape (n,)."""
    count = int(rng.uniform(0.18, 0.42) * RATE)
    share = np.arange(count) / count
    bend = rng.uniform(1.0, 5.0) * rng.choice([-1, 1]) * share
    bend += rng.uniform(-2.5, 2.5) * 4 * share * (1 - share)
    pitch_hz = voice_hz * 2 ** ((rng.uniform(-2, 2) + bend) / 12)
    number = np.arange(1, 34)[:, None]
    if is_hummed:
        levels = -rng.uniform(9, 14) * np.log2(number) + rng.normal(0, 2, (33, 1))
    else:
        low_hz = rng.uniform(300, 800) * 2 ** (rng.uniform(-0.6, 0.6) * share)
        high_hz = rng.uniform(900, 2200) * 2 ** (rng.uniform(-0.6, 0.6) * share)
        width_hz = rng.uniform(60, 130)
        peaks = [1 / (1 + ((number * pitch_hz - f) / width_hz) ** 2) for f in (low_hz, high_hz)]
        levels = 20 * np.log10(peaks[0] + 0.5 * peaks[1] + 1e-3)
    ends = fade(count, rise_s=0.03, fall_s=0.06)
    return sound_path(rng, pitch_hz, levels + 0 * share, ends), pitch_hz


def word(rng: Rng) -> Sound:
    """One spoken word, or a hum of one or two notes, alone in the clip."""
    voice_hz, is_hummed = draw_hz(rng, 85.0, 290.0), rng.uniform() < 0.4
    pieces: list[tuple[Samples, Samples | float]] = []
    for _ in range(int(rng.integers(1, 3))):
        if not is_hummed and rng.uniform() < 0.6:
            pieces.append((_hiss(rng), np.nan))
        pieces.append(_sing_syllable(rng, voice_hz, is_hummed=bool(is_hummed)))
        if rng.uniform() < 0.3:
            pieces.append((np.zeros(int(rng.uniform(0.03, 0.1) * RATE)), np.nan))
    if not is_hummed and rng.uniform() < 0.5:
        pieces.append((_hiss(rng), np.nan))
    loud = [piece / (np.sqrt(np.mean(piece**2)) + 1e-9) for piece, _ in pieces]
    hushed = [0.15 * p if len(p) < 0.13 * RATE else p for p in loud]
    paths = [np.broadcast_to(path_hz, piece.shape) for piece, path_hz in pieces]
    return finish_path(rng, np.concatenate(hushed), np.concatenate(paths))


def _hiss(rng: Rng) -> Samples:
    count = int(rng.uniform(0.04, 0.12) * RATE)
    return np.diff(make_noise(count + 1, rng)) * fade(count, rise_s=0.01, fall_s=0.01)


def one_after_other(rng: Rng) -> Sound:
    """Two notes one after the other, slurred or with a rest; the longer one leads by a quarter."""
    f0_hz = draw_hz(rng, 140.0, 1000.0)
    interval = rng.choice([-1, 1]) * rng.choice([50, 100, 200, 300, 500, 700, 1200, 1902])
    f0s_hz = (f0_hz, f0_hz * 2 ** (interval / 1200))
    seconds = [rng.uniform(0.9, 1.6), rng.uniform(0.45, 0.7)]
    if rng.uniform() < 0.5:
        seconds.reverse()
    rest_s = rng.choice([0.0, rng.uniform(0.04, 0.4)])
    pieces = []
    for hz, length_s in zip(f0s_hz, seconds, strict=True):
        count = int(length_s * RATE)
        path_hz = hz * 2 ** (make_wander(rng, count, 0.8, 0.2, 3.0) / 1200)
        note = sound_path(rng, path_hz, draw_levels_db(rng, 24), fade(count))
        level = 10 ** (rng.uniform(-6, 0) / 20)
        pieces += [note / np.sqrt(np.mean(note**2)) * level, np.zeros(int(rest_s * RATE))]
    longer = f0s_hz[int(np.argmax(seconds))]
    return Sound(finish(rng, np.concatenate(pieces[:-1])), (longer,))


def _mix(rng: Rng, f0s_hz: Sequence[float], levels_db: Sequence[float]) -> Samples:
    count = int(rng.uniform(1.0, 2.5) * RATE)
    total = np.zeros(count)
    for hz, level_db in zip(f0s_hz, levels_db, strict=True):
        path_hz = hz * 2 ** (make_wander(rng, count, 0.8, 0.2, 3.0) / 1200)
        note = sound_path(rng, path_hz, draw_levels_db(rng, 24), fade(count))
        total += note / np.sqrt(np.mean(note**2)) * 10 ** (level_db / 20)
    return total


def two_clarinets(rng: Rng) -> Sound:
    """Two players at once, a semitone or so apart."""
    f0_hz = draw_hz(rng, 180.0, 900.0)
    f0s_hz = (f0_hz, f0_hz * 2 ** (rng.uniform(80, 125) / 1200))
    return Sound(finish(rng, _mix(rng, f0s_hz, (0.0, rng.uniform(-10, 0)))), f0s_hz)


def faint_second(rng: Rng) -> Sound:
    """A note with another that is 20 to 27 dB softer, at some interval that is no simple one."""
    f0_hz = draw_hz(rng, 140.0, 900.0)
    other_hz = f0_hz * 2 ** (rng.uniform(130, 1800) / 1200)
    mixed = _mix(rng, (f0_hz, other_hz), (0.0, -rng.uniform(20, 27)))
    return Sound(finish(rng, mixed), (f0_hz,))


def multiphonic(rng: Rng) -> Sound:
    """Two notes of one breath with their combination tones."""
    f0_hz = draw_hz(rng, 150.0, 400.0)
    ratio = rng.choice([1.41, 1.73, 2.23, 2.33, 2.42, 2.58, 2.71]) * rng.uniform(0.99, 1.01)
    count = int(rng.uniform(1.0, 2.5) * RATE)
    still = np.ones(count)
    levels = (0.0, -rng.uniform(0, 10))
    total = np.zeros(count)
    for hz, level_db in zip((f0_hz, ratio * f0_hz), levels, strict=True):
        note = sound_path(rng, hz * still, draw_levels_db(rng, 8), fade(count))
        total += note / np.sqrt(np.mean(note**2)) * 10 ** (level_db / 20)
    for one in (-2, -1, 1, 2):
        for two in (-2, -1, 1, 2):
            level_db = levels[1] - 14 - 4 * (abs(one) + abs(two))
            hz = abs(one + two * ratio) * f0_hz
            total += sound_path(rng, hz * still, np.array([level_db]), fade(count))
    return Sound(finish(rng, total), (f0_hz, ratio * f0_hz))


def metal(rng: Rng) -> Sound:
    """A struck plate, bar or triangle: partials anywhere, dying away.

    It has a pitch for as long as one partial has nine tenths of the power of those under 5 kHz.
    """
    count = int(rng.uniform(1.0, 4.0) * RATE)
    time_s = np.arange(count) / RATE
    low_hz = draw_hz(rng, 90.0, 1800.0)
    freqs_hz = low_hz * np.sort(np.cumsum(rng.uniform(0.12, 0.9, 14)) + 0.5)
    tone, total = np.zeros(count), np.zeros(count)
    strongest, path_hz = np.zeros(count), np.zeros(count)
    for hz in freqs_hz[freqs_hz < 9000.0]:
        decay = 0.5 ** (time_s / rng.uniform(0.3, 2.5))
        level = 10 ** (rng.normal(0, 7) / 20)
        power = (level * decay) ** 2
        if hz < PITCHED_HZ:
            path_hz[power > strongest] = hz
            strongest = np.maximum(strongest, power)
            total += power
        tone += level * decay * np.sin(2 * np.pi * hz * time_s + rng.uniform(0, 6.28))
    path_hz[strongest < LONE_SHARE * total] = np.nan
    return finish_path(rng, tone * fade(count, rise_s=0.004), path_hz)


def noise(rng: Rng) -> Sound:
    """Breath, hiss or rumble without a tone."""
    count = int(rng.uniform(0.8, 3.0) * RATE)
    sound = make_noise(count, rng, is_pink=bool(rng.integers(2)))
    if rng.uniform() < 0.5:
        low_hz = draw_hz(rng, 150.0, 2000.0)
        edges = [low_hz, low_hz * rng.uniform(1.3, 4.0)]
        sound = sosfilt(butter(2, edges, "bandpass", fs=RATE, output="sos"), sound)
    swaying = 1 + make_wander(rng, count, rng.uniform(0, 0.3), 0.3, 6.0)
    return Sound(finish(rng, sound * swaying * fade(count), snr_db=40.0))


def played(rng: Rng) -> Sound:
    """A held note of `tones.Tone`, whose pitch is known by formula to a thousandth of a cent."""
    tone = Tone(
        draw_hz(rng, 58.0, 1900.0),
        float(rng.uniform(0.5, 3.0)),
        snr_db=float(rng.uniform(20, 60)),
        is_noise_pink=bool(rng.integers(2)),
        drift_cents=float(rng.uniform(-6, 6)),
        wander_cents=0.8,
        amplitude_jitter=0.015,
        scoop_cents=float(rng.uniform(0, 60)),
        seed=int(rng.integers(1 << 30)),
    )
    return Sound(replace(tone, sample_rate_hz=RATE).render(), (tone.f0_hz,))


KINDS: Mapping[str, Callable[[Rng], Sound]] = {
    "held": held,
    "played": played,
    "short": short,
    "swell": swell,
    "struck string": strike,
    "high-passed": high_passed,
    "through a codec": through_codec,
    "flutter-tongue": flutter,
    "trill": trill,
    "tremolo": tremolo,
    "bend or glissando": glide,
    "word": word,
    "one after the other": one_after_other,
    "two clarinets": two_clarinets,
    "faint second note": faint_second,
    "multiphonic": multiphonic,
    "struck metal": metal,
    "noise": noise,
}
