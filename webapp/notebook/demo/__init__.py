"""The demo notebook: an invented player with two invented clarinets, their fingerings and takes.

What is logged stands in `soprano.toml` and `bass.toml`; `story` reads it, `tone` makes the sound of
a take from numbers that are known, `playing` chooses those numbers; `entries` and `attaching` log
it all through the ordinary services, in the order of `filling`. So every measured number of the
demo can be checked against what was put in.
"""

from webapp.notebook.demo.filling import DemoFilling, fill_demo

__all__ = ["DemoFilling", "fill_demo"]
