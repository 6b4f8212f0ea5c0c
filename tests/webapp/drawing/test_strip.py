"""The strip of a register: a notehead a step, filled by how it stands, higher for higher notes."""

import xml.etree.ElementTree as ET

from webapp.drawing.strip import Notehead, draw_notehead, draw_strip


def test_each_step_has_its_notehead_in_its_place() -> None:
    heads = [(-3, Notehead.OPEN), (4, Notehead.OFF), (10, Notehead.IN_TUNE)]
    root = ET.fromstring(draw_strip(heads))
    groups = [each for each in root.iter("g") if each.get("transform")]
    assert [each.get("class") for each in groups] == [None, "measured", "measured"]
    fills = [each.get("fill") for group in groups for each in group.iter("ellipse")]
    assert fills == ["#ffffff", "#ffffff", "currentColor"]
    assert [each.find("path") is not None for each in groups] == [False, True, False]
    places = [each.get("transform", "").partition(")")[0].split("(")[1].split() for each in groups]
    xs, ys = zip(*[(float(x), float(y)) for x, y in places], strict=True)
    assert list(xs) == sorted(xs)
    assert list(ys) == sorted(ys, reverse=True)
    # five lines of the staff and the barline; one ledger line below, one above
    assert len(list(root.iter("line"))) == 6 + 1 + 1


def test_every_standing_has_a_notehead_for_the_legend() -> None:
    assert len({draw_notehead(each) for each in Notehead}) == len(Notehead)
