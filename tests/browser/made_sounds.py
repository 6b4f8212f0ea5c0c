"""Sounds made in the page itself, from seeds and formulas, and cut by the page's own cutter."""

from typing import Any

from playwright.sync_api import Page

# Parts come one after the other: a tone {hz, db, s} with {attackS, releaseS, echoS: time to fall by
# 60 dB, dips: [[from, to], ...], gain: what is above full scale is cut}, or {s} of nothing. Noise
# at `noiseDb` lies under everything. A part {noise, db, s} is noise: white, or brown (6 dB less per
# octave above 30 Hz). dB are of the mean square, 0 at a full square wave.
CUT = """async ({ parts, noiseDb, rate, seed, options, chunk, arm, lose, disarmAt, off }) => {
    const { NoteCutter } = await import("/static/js/sound/cutting.js");
    const { ToneDetector } = await import("/static/js/sound/tone-detector.js");
    const detector = new ToneDetector(rate);
    let state = seed;
    const chance = () => { // a linear congruential generator (Numerical Recipes' constants)
        state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
        return state / 2 ** 32;
    };
    const amplitude = (db) => 10 ** (db / 20);
    const frames = (seconds) => Math.round(seconds * rate);
    const length = parts.reduce((sum, part) => sum + frames(part.s), 0);
    const samples = new Float32Array(length);
    const marks = [];
    let place = 0;
    for (const part of parts) {
        const count = frames(part.s);
        if (part.noise) {
            const follow = part.noise === "brown" ? 2 * Math.PI * 30 / rate : 1;
            // of a one-pole low-pass of white noise: variance follow / (2 - follow)
            const gain = amplitude(part.db) * Math.sqrt(3 * (2 - follow) / follow);
            let value = 0;
            for (let t = 0; t < count; t += 1) {
                value += follow * (2 * chance() - 1 - value);
                const { hz, toneDb, fromS } = part;
                const isPlayed = hz && t >= frames(fromS) && t < frames(fromS + 1);
                const wave = Math.SQRT2 * Math.sin(2 * Math.PI * hz * t / rate);
                samples[place + t] += gain * value + (isPlayed ? amplitude(toneDb) * wave : 0);
            }
        } else if (part.db !== undefined) {
            marks.push([place, place + count]);
            const tail = part.echoS ? frames(part.echoS) : 0;
            // partials 1, 3, 5 as of a tube closed at one end; mean square 1 in all
            const weights = [[1, 0.9], [3, 0.38], [5, 0.2]];
            const whole = Math.hypot(...weights.map(([, weight]) => weight)) / Math.SQRT2;
            for (let t = 0; t < count + tail && place + t < length; t += 1) {
                let gain = amplitude(part.db) / whole;
                if (part.attackS) gain *= Math.min(1, t / frames(part.attackS));
                const left = Math.max(0, count - t);
                if (part.releaseS) gain *= Math.min(1, left / frames(part.releaseS));
                if (t >= count) gain *= 10 ** (-3 * (t - count) / tail);
                for (const [from, to] of part.dips ?? []) {
                    if (t >= frames(from) && t < frames(to)) gain = 0;
                }
                let value = 0;
                for (const [number, weight] of weights) {
                    value += weight * Math.sin(2 * Math.PI * number * part.hz * t / rate);
                }
                samples[place + t] += gain * value;
            }
        }
        place += count;
    }
    const noise = amplitude(noiseDb) * Math.sqrt(3); // even noise of mean square 1
    for (let t = 0; t < length; t += 1) {
        const value = samples[t] + (noise > 1e-8 ? noise * (2 * chance() - 1) : 0);
        samples[t] = t < frames(off) ? 0 : Math.max(-1, Math.min(1, value));
    }
    const found = { notes: [], begun: [], dropped: 0, noises: [], levels: [], marks };
    let heard = 0;
    const cutter = new NoteCutter(rate, {
        onBegin: (frame) => found.begun.push([frame, heard]),
        containsTone: (stretch) => detector.containsTone(stretch),
        onNoise: () => found.noises.push(heard),
        onDrop: () => { found.dropped += 1; },
        onLevel: (level) => found.levels.push(level),
        onEnd: ({ samples: cut, ...note }) => {
            const source = samples.subarray(note.firstFrame, note.lastFrame + 1);
            found.notes.push({
                ...note,
                heard,
                isExact: cut.length === source.length && cut.every((one, at) => one === source[at]),
                length: cut.length,
            });
        },
    }, options);
    const isNow = (s, from) => s > 0 && from >= frames(s) && from < frames(s) + chunk;
    if (arm === 0) cutter.arm();
    for (let from = 0; from < length; from += chunk) {
        if (isNow(arm, from)) cutter.arm();
        if (isNow(disarmAt, from)) cutter.disarm();
        if (lose && from >= frames(lose[0]) && from < frames(lose[1])) continue;
        heard = Math.min(length, from + chunk);
        cutter.push(samples.slice(from, heard), from);
    }
    return found;
}"""


def tone(db: float, s: float, hz: float = 233.0, **shape: object) -> dict[str, object]:
    """A held tone; how it begins and ends may be said."""
    return {"hz": hz, "db": db, "s": s, "attackS": 0.01, "releaseS": 0.01, **shape}


def noise(db: float, s: float, colour: str = "white", **played: float) -> dict[str, object]:
    """Steady noise; a second of a sine may be played in it: `hz`, `toneDb`, `fromS`."""
    return {"noise": colour, "db": db, "s": s, **played}


def rest(s: float) -> dict[str, object]:
    """Nobody plays."""
    return {"s": s}


def cut(
    page: Page,
    parts: list[dict[str, object]],
    *,
    noise_db: float = -70.0,
    rate: int = 48_000,
    chunk: int = 512,
    arm_s: float = 0.0,
    seed: int = 1,
    lose: tuple[float, float] | None = None,
    disarm_s: float = 0.0,
    off_s: float = 0.0,
    **options: float,
) -> dict[str, Any]:
    """Let the page's cutter hear some parts, one after the other; say what it found."""
    found: dict[str, Any] = page.evaluate(
        CUT,
        {
            "parts": parts,
            "noiseDb": noise_db,
            "rate": rate,
            "seed": seed,
            "options": options,
            "chunk": chunk,
            "arm": arm_s,
            "lose": lose,
            "disarmAt": disarm_s,
            "off": off_s,
        },
    )
    return found
