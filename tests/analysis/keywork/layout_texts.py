"""The text of shipped layout files, to be spoilt by tests."""

from importlib.resources import files


def shipped_text(layout_id: str) -> str:
    file = files("analysis.keywork").joinpath("layouts", f"{layout_id}.toml")
    return file.read_text(encoding="utf-8")
