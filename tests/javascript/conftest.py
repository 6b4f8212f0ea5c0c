"""One node for all tests of modules that need no page."""

from collections.abc import Iterator

import pytest

from tests.javascript.node import Node, find_node


@pytest.fixture(scope="session")
def node() -> Iterator[Node]:
    """The node that calls functions of the modules."""
    started = Node(find_node())
    yield started
    started.close()
