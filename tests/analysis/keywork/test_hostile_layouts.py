"""A layout file may come from anywhere: it is refused by name, in bounded time, or it is whole."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.keywork import Layout, LayoutError, read_layout
from tests.analysis.keywork.layout_texts import shipped_text
from tests.analysis.keywork.test_layout_reading import TOY
from tests.thinning import examples

LINES = tuple(shipped_text("bass-low-c").splitlines(keepends=True))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("x" * 200_001, "too many; 200000 are allowed"),
        ("a = " + "[" * 5000, "it is not TOML"),
        ("a = " + "9" * 5000, "it is not TOML"),
        ("\0", "it is not TOML"),
        (TOY.replace("x = 120", "x = nan", 1), "a number from"),
        (TOY.replace("x = 120", "x = inf", 1), "a number from"),
        (TOY.replace("x = 120", "x = 1e300", 1), "a number from"),
        (TOY.replace("x = 120", "x = 0x" + "f" * 5000, 1), "not a very long number"),
        (TOY.replace("version = 3", "version = 99999999"), "from 1 up to 10000"),
        (TOY.replace("version = 3", "version = true"), "a whole number"),
        (TOY.replace('name = "Toy"', f'name = "{"x" * 700}"'), "700 characters are too many"),
        (TOY.replace('name = "Toy"', 'name = "T\\u0007"'), "can't be printed"),
        (TOY.replace('name = "Toy"', 'name = "T\\u202e"'), "can't be printed"),
        (TOY.replace('id = "slide"', 'id = "../slide"'), "is no id"),
        (TOY.replace('id = "slide"', 'id = "Slide"'), "is no id"),
        (TOY.replace('id = "slide"', f'id = "{"s" * 61}"'), "is no id"),
        (TOY.replace("kinds = []", f"kinds = {['x'] * 500}"), "500 entries are too many"),
        (TOY.replace("kinds = []", 'kinds = ["oboe"]'), "'oboe' is no clarinet"),
        (TOY.replace("[0, 0, 240, 100]", "[0, 0, 500, 100]"), "240 wide"),
        (TOY.replace("[0, 0, 240, 100]", "[0, 0, 240, 0]"), "have a height"),
        (TOY.replace("[0, 0, 240, 100]", "[0, 0, 240, 80]"), "leaves the drawing"),
        (TOY.replace("hit = [0, 0, 50, 50]", "hit = [0, 0, 29, 50]"), "at least 30 wide"),
        (TOY.replace("radius = 12", "radius = 0", 1), "width and height"),
        (TOY.replace("corner = 4", "corner = -4", 1), "below 0"),
        (TOY.replace('label = "1"', 'label = "1"\nusual = false', 1), "add 'optional = true'"),
        (TOY.replace('label = "1"', 'label = "1"\noptional = true', 1), "can't be missing"),
        (
            TOY.replace(
                'label_note = "Bb"',
                f'label = "x"\nalso = {["left first", "left second", "left third"]}',
            ),
            "use up to 2",
        ),
        (TOY.replace('label_note = "Bb"', ""), "missing"),
        (TOY + '[instrument]\nwithout = ["a"]\nnames = {}', "can't be switched off"),
        (TOY + '[instrument]\nwithout = ["q"]\nnames = {}', "no key 'q'"),
        (TOY + "[instrument]\nwithout = []\nnames = { slide = 3 }", "a text was expected"),
    ],
    ids=range(31),
)
def test_what_is_wrong_is_said(text: str, problem: str) -> None:
    assert text != TOY

    with pytest.raises(LayoutError) as caught:
        read_layout(text)

    assert problem in str(caught.value)
    assert len(str(caught.value)) < 1000


def test_more_keys_than_any_clarinet_are_refused() -> None:
    key = TOY[TOY.index("[[keys]]") : TOY.index("[[keys]]", TOY.index("[[keys]]") + 1)]
    many = "".join(key.replace('id = "a"', f'id = "k{n}"') for n in range(101))

    with pytest.raises(LayoutError, match=r"field 'keys'.*use up to 100"):
        read_layout(TOY + many)


@given(st.data())
@settings(max_examples=examples(150))
def test_a_file_with_lines_lost_doubled_or_mixed_up_is_refused_or_whole(
    data: st.DataObject,
) -> None:
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(lines) - 1))
        other = data.draw(st.integers(0, len(lines) - 1))
        edit = data.draw(st.sampled_from(("lose", "double", "swap")))
        if edit == "lose":
            del lines[place]
        elif edit == "double":
            lines.insert(other, lines[place])
        else:
            lines[place], lines[other] = lines[other], lines[place]

    try:
        layout = read_layout("".join(lines))
    except LayoutError as error:
        assert error.line is None or 1 <= error.line <= len(lines)
    else:
        assert isinstance(layout, Layout)
