"""The garbage collector walks rarely during a start only, and never through what it made."""

import gc
import subprocess
import sys
from socket import socket

from tests.webapp.cli.test_serve import serve_and_fail
from webapp.cli import walks
from webapp.cli.serve import HOST

OPEN_A_COMMAND = """
import gc
from webapp.cli import open_command
from webapp.cli.walks import AS_USUAL, RARELY

assert gc.get_threshold() == AS_USUAL != RARELY
seen = []
gc.callbacks.append(lambda phase, facts: seen.append(facts["generation"]))
open_command("instrument")
assert gc.get_threshold() == AS_USUAL
print(gc.get_freeze_count() > len(gc.get_objects()), seen.count(2))
"""


def test_no_command_is_walked_through_while_it_is_imported_nor_later() -> None:
    code = [sys.executable, "-c", OPEN_A_COMMAND]
    done = subprocess.run(code, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "0"]


def test_a_server_that_cannot_start_leaves_the_walks_as_they_were() -> None:
    before = gc.get_threshold()
    with socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        serve_and_fail("--demo", "--port", str(taken.getsockname()[1]))
    assert gc.get_threshold() == before == walks.AS_USUAL
