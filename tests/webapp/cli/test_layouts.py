"""`quartervent layouts`."""

import json

from click.testing import CliRunner

from analysis.keywork import layout_ids, load_layout, ordinary_fingerings
from analysis.pitch import KINDS
from webapp.cli import main


def run(*arguments: str) -> str:
    result = CliRunner().invoke(main, ["layouts", *arguments])
    assert result.exit_code == 0
    return result.output


def test_every_layout_is_listed_with_its_facts() -> None:
    blocks = run().split("\n\n")
    assert len(blocks) == len(layout_ids())
    for block, layout in zip(blocks, map(load_layout, layout_ids()), strict=True):
        assert block.startswith(f"{layout.id}: {layout.name}\n")
        assert layout.provenance in block
        assert f"{len(ordinary_fingerings(layout))} fingerings" in block
        assert all(KINDS[each].name in block for each in layout.kinds)
        assert all(f"{key.name} ({key.token})" in block for key in layout.keys)


def test_the_lowest_note_of_the_bass_to_low_c_is_written_c3() -> None:
    # common practice, from memory: treble notation, a tenth below the soprano's low E
    (block,) = [each for each in run().split("\n\n") if each.startswith("bass-low-c:")]
    assert "lowest      C3, written" in block


def test_json_has_the_same_for_programs() -> None:
    found = {each["id"]: each for each in json.loads(run("--json"))}
    assert set(found) == set(layout_ids())
    for layout in map(load_layout, layout_ids()):
        row = found[layout.id]
        assert row["name"] == layout.name
        assert row["version"] == layout.version
        assert row["provenance"] == layout.provenance
        assert row["lowest_written"] == layout.lowest.canonical
        assert row["ordinary_fingerings"] == len(ordinary_fingerings(layout))
        assert [each["id"] for each in row["instruments"]] == list(layout.kinds)
        fitted = [each["name"] for each in row["keys"] if each["is_fitted"]]
        assert fitted == [key.name for key in layout.keys]
        assert all(each["typed"] and each["hand"] in ("left", "right") for each in row["keys"])
