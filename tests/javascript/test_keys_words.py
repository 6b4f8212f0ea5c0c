"""The script of the key entry says what the server says of the same fingering."""

from __future__ import annotations

import json
import random

import pytest

from analysis.keywork import (
    KeyStates,
    Layout,
    RightThumb,
    customise,
    find_changes,
    find_conflicts,
    format_fingering,
    layout_ids,
    load_layout,
    parse_fingering,
    shorten_changes,
)
from tests.javascript.node import Node
from webapp.drawing.fingering_entry import entry_view

BASE = "T R 123 | 123 | left F#"


CARRIED = customise(load_layout("bass-low-c"), right_thumb=RightThumb.CARRIES)


@pytest.mark.parametrize("layout", [*map(load_layout, layout_ids()), CARRIED], ids=repr)
def test_the_script_says_what_python_says(node: Node, layout: Layout) -> None:
    base = parse_fingering(BASE, layout)
    chance = random.Random(20)
    fingerings = [
        KeyStates.of(
            layout,
            {
                key.id: chance.choice(key.states)
                for key in chance.sample(layout.keys, chance.randint(0, 12))
            },
        )
        for _ in range(150)
    ]

    layout_facts = json.loads(entry_view(layout, base, base).layout_json)
    states = [[str(state) for state in fingering.states] for fingering in fingerings]
    said = node.job("small-modules.js", "describeFingerings", layout_facts, states)

    assert said == [
        [
            format_fingering(fingering),
            shorten_changes(find_changes(base, fingering)),
            [conflict.reason for conflict in find_conflicts(fingering)],
        ]
        for fingering in fingerings
    ]
