"""Sounds made from seeds and formulas, and cut by the page's cutter (`jobs/made-sounds.js`)."""

from typing import Any

from tests.javascript.node import Node


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
    node: Node,
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
    end_after_s: float | None = None,
    **options: float,
) -> dict[str, Any]:
    """Let the cutter hear some parts, one after the other; say what it found."""
    found: dict[str, Any] = node.job(
        "made-sounds.js",
        "cut",
        {
            "parts": parts,
            "noiseDb": noise_db,
            "rate": rate,
            "seed": seed,
            "options": options,
            "chunk": chunk,
            "arm": arm_s,
            "endAfter": end_after_s,
            "lose": lose,
            "disarmAt": disarm_s,
            "off": off_s,
        },
    )
    return found
