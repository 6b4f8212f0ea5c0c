"""Imports in the background: the packages that a first answer would have to wait for.

Seen in a process of its own, since this one has loaded everything.
"""

import subprocess
import sys

import pytest

LEARN = """
import sys
from tests.analysis.finder.players import log_first_day, make_player
from analysis.finder import PlayerModel
from webapp.cli.background_imports import import_packages

player = make_player("C", 11)
logs = log_first_day(player)
import_packages({names})
before = set(sys.modules)
PlayerModel.fit_tube(player.tube, logs)
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


@pytest.mark.parametrize(("names", "is_loading"), [("", False), ("()", True)])
def test_the_first_learning_loads_nothing_once_all_is_warm(names: str, is_loading: bool) -> None:
    assert (count_loaded(names) > 0) is is_loading
