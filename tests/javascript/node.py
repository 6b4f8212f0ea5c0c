"""One node process that calls functions of JavaScript modules for the tests.

A job is a line of JSON to the process, an answer is a line from it (`runner.js`). Samples cross as
text, since a list of numbers takes a hundred times as long; NaN and infinity come back as None.
"""

from __future__ import annotations

import base64
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.tools import report_missing

HERE = Path(__file__).resolve().parent
SERVED = HERE.parents[1] / "webapp" / "static" / "js"
JOBS = HERE / "jobs"
OLDEST_NODE = (20, 19)
# JSON, of the shape that the function which was called says.
Answer = Any
# The served files have no package.json, so node looks into each to see that it is a module.
QUIET = "--disable-warning=MODULE_TYPELESS_PACKAGE_JSON"


class JavaScriptError(Exception):
    """A function threw; the message is what it said, with its stack."""


def find_node() -> str:
    """Return the path of a node that is new enough, or skip (fail under CI) for want of one."""
    path = shutil.which("node")
    if path is None:
        report_missing("node is not installed; it comes with npm")
    said = subprocess.run([path, "--version"], capture_output=True, text=True, check=True).stdout
    version = tuple(int(part) for part in said.strip().removeprefix("v").split(".")[:2])
    if version < OLDEST_NODE:
        report_missing(f"node {'.'.join(map(str, OLDEST_NODE))} or newer; {said.strip()} is here")
    return path


class Node:
    """A running node; close it at the end."""

    def __init__(self, path: str) -> None:
        self._process = subprocess.Popen(
            [path, QUIET, str(HERE / "runner.js")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )

    def call(self, module: str, name: str, *arguments: object) -> Answer:
        """Call a function that a served module exports, and return what it returns."""
        return self._ask(SERVED / module, name, arguments)

    def job(self, module: str, name: str, *arguments: object) -> Answer:
        """Call a function of a module of the tests (`jobs/`), and return what it returns."""
        return self._ask(JOBS / module, name, arguments)

    def _ask(self, path: Path, name: str, arguments: tuple[object, ...]) -> Answer:
        assert self._process.stdin and self._process.stdout
        job = {"module": path.as_uri(), "name": name, "arguments": arguments}
        self._process.stdin.write(json.dumps(job, default=_pack) + "\n")
        self._process.stdin.flush()
        answer = json.loads(self._process.stdout.readline(), object_hook=_unpack)
        if "error" in answer:
            raise JavaScriptError(answer["error"])
        return answer["value"]

    def close(self) -> None:
        """Let the process end."""
        self._process.communicate()


def _pack(value: object) -> object:
    """Samples, of any shape and number type, as 32-bit floats in base64."""
    if not isinstance(value, np.ndarray):
        raise TypeError(f"{type(value).__name__} cannot be sent to node")
    return {"float32": base64.b64encode(value.astype("<f4").tobytes()).decode("ascii")}


def _unpack(value: dict[str, Any]) -> dict[str, Any] | NDArray[np.float32]:
    if value.keys() == {"float32"}:
        return np.frombuffer(base64.b64decode(value["float32"]), dtype="<f4")
    return value
