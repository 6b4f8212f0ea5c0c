"""Chromium's fake microphone: flags for one that plays a file, and for those that fail."""

from pathlib import Path

# The prompt is answered with yes; no sound card is looked for.
GRANTED = ("--use-fake-ui-for-media-stream", "--autoplay-policy=no-user-gesture-required")
REFUSED = ("--use-fake-device-for-media-stream", "--deny-permission-prompts")
MISSING = ("--use-fake-ui-for-media-stream",)


def playing(wav: Path) -> tuple[str, ...]:
    """Flags for a microphone that hears `wav` once, from the moment it is opened."""
    return (
        *GRANTED,
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={wav}%noloop",
    )
