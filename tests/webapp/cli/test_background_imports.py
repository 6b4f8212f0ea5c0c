"""Imports in the background: the packages that a first answer would have to wait for.

Seen in a process of its own, since this one has loaded everything.
"""

import subprocess
import sys

import pytest

LEARN = """
import sys
from analysis.finder import LoggedPitch, PlayerModel
from analysis.keywork import list_first_day, load_layout
from webapp.cli.background_imports import import_packages

layout = load_layout("soprano-17-6")
tube = PlayerModel.fit("b-flat-soprano", layout, [], is_screened=False).tube
logs = [LoggedPitch(one.fingering, one.written, 15.0, 2.0) for one in list_first_day(layout)]
import_packages({names})
before = set(sys.modules)
PlayerModel.fit_tube(tube, logs)
print(sum(name.startswith("scipy.") for name in set(sys.modules) - before))
"""


def count_loaded(names: str) -> int:
    """How many modules of scipy the first learning loads after a warm-up."""
    done = subprocess.run(
        [sys.executable, "-c", LEARN.format(names=names)],
        capture_output=True,
        text=True,
        check=True,
    )
    return int(done.stdout)


@pytest.mark.parametrize(
    ("names", "is_loading"),
    [("", False), pytest.param("()", True, marks=pytest.mark.long_run)],
    ids=["all is warm", "nothing is"],
)
def test_the_first_learning_loads_nothing_once_all_is_warm(names: str, is_loading: bool) -> None:
    assert (count_loaded(names) > 0) is is_loading
