"""Entry point of the child process: notation that we wrote to pictures, a system each.

The job comes as one line of JSON on standard input: MEI text, width in tenths of a millimetre. The
answer, JSON on standard output, is the list of the systems as SVG. The engraver ends its whole
process on some input, so it never runs in ours; and it never sees a file that someone gave us.
"""

from __future__ import annotations

import json
import sys

from analysis.sandbox.limits import limit_resources

MAX_CPU_S = 20
MAX_MEMORY_BYTES = 1024 * 1024 * 1024
MAX_OUTPUT_BYTES = 64 * 1024 * 1024
UNITS_PER_MM = 100.0
HALF_SPACE = 8.0  # in tenths of a millimetre: a staff 6.4 mm high
_SEED = 1  # ids come out the same every time


def main(_: list[str]) -> None:
    """Wait for notation and engrave it; if the input ends without a line, none will come."""
    line = sys.stdin.buffer.readline()
    if not line.endswith(b"\n"):
        return
    text, width = json.loads(line)
    limit_resources(MAX_OUTPUT_BYTES, MAX_CPU_S, MAX_MEMORY_BYTES)
    answer = json.dumps(engrave_systems(text, width), separators=(",", ":"))
    sys.stdout.buffer.write(answer.encode("ascii"))
    sys.stdout.buffer.flush()


def engrave_systems(text: str, width: int) -> list[str]:
    """Engrave MEI text; one page for each system, so that the engraver breaks the lines."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(
        {
            "pageWidth": width,
            "pageHeight": 100,
            "adjustPageHeight": True,
            "breaks": "auto",
            "header": "none",
            "footer": "none",
            "pageMarginLeft": 0,
            "pageMarginRight": 0,
            "pageMarginTop": 10,
            "pageMarginBottom": 10,
            "unit": HALF_SPACE,
            "mnumInterval": 0,
            "minLastJustification": 0.9,
            "svgViewBox": True,
            "svgRemoveXlink": True,
            "xmlIdSeed": _SEED,
        }
    )
    if not toolkit.loadData(text):
        raise ValueError("The engraver does not read this notation.")
    return [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]
