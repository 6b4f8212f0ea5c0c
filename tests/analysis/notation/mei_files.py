"""Small MEI files, written for the tests."""

from __future__ import annotations

B_FLAT = 'label="Clarinet in Bb" trans.semi="-2" trans.diat="-1"'


def measure(layer: str, beside: str = "", *, number: str = "1", attributes: str = "") -> str:
    """A measure with one layer on staff 1, and what stands beside it."""
    staff = f'<staff n="1"><layer n="1">{layer}</layer></staff>'
    return f'<measure n="{number}" {attributes}>{staff}{beside}</measure>'


def mei(*measures: str, staff: str = B_FLAT, definition: str = "", more: str = "") -> bytes:
    """A file of one staff; `more` are further staff definitions."""
    head = (
        "<meiHead><fileDesc><titleStmt><title>Moon study</title></titleStmt></fileDesc></meiHead>"
    )
    first = f'<staffDef n="1" lines="5" clef.shape="G" clef.line="2" {staff}/>'
    group = f"<staffGrp>{first}{more}</staffGrp>"
    return (
        '<?xml version="1.0" encoding="UTF-8"?><mei xmlns="http://www.music-encoding.org/ns/mei">'
        f"{head}<music><body><mdiv><score>"
        f'<scoreDef meter.count="4" meter.unit="4" {definition}>{group}</scoreDef>'
        f"<section>{''.join(measures)}</section></score></mdiv></body></music></mei>"
    ).encode()


def note(name: str, dur: str = "4", more: str = "", inner: str = "") -> str:
    """A note as 'd5'."""
    return f'<note pname="{name[0]}" oct="{name[1:]}" dur="{dur}" {more}>{inner}</note>'
