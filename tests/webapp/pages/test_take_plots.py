"""Plots of a take as files."""

import csv
import io
import math
import struct
import xml.etree.ElementTree as ET

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled, attach
from tests.webapp.tones import tone_wav
from webapp.app import create_app
from webapp.notebook.store.notebook import Notebook

FILES = ("levels.png", "trace.svg", "trace.csv", "spectrum.svg", "spectrum.csv")


def table(client: Browser, path: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(client.fetch(path).get_data(as_text=True))))


def test_the_levels_are_a_picture_of_the_part_that_is_asked_for(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/takes/{filled[1].take}/levels.png"
    whole = filled_client.fetch(path)
    assert (whole.status_code, whole.mimetype) == (200, "image/png")
    # PNG specification: width and height stand at byte 16, big-endian
    assert struct.unpack(">II", whole.data[16:24]) == (600, 240)
    part = filled_client.fetch(f"{path}?from=0.2&to=0.4&low=200&high=900")
    assert part.data != whole.data


@pytest.mark.parametrize(
    "query", ["from=x", "from=0.5&to=0.2", "from=nan", "low=900&high=900", "from=99", "to=-1"]
)
def test_a_part_that_is_not_there_is_refused_on_page_and_picture(
    filled: tuple[Notebook, Filled], filled_client: Browser, query: str
) -> None:
    take = filled[1].take
    assert filled_client.fetch(f"/takes/{take}/levels.png?{query}").status_code == 422
    assert filled_client.get(f"/takes/{take}?{query}").status == 422


def test_the_page_zooms_by_plain_links(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/takes/{filled[1].take}")
    (dots,) = page.find("image")
    assert dots.attributes["href"].startswith(f"/takes/{filled[1].take}/levels.png?")
    (closer,) = [each for each in page.find("a") if each.text == "Closer in time"]
    nearer = filled_client.get(closer.attributes["href"])
    assert nearer.status == 200
    assert nearer.find("image")[0].attributes["href"] != dots.attributes["href"]
    (whole,) = [each for each in nearer.find("a") if each.text == "The whole take"]
    assert (
        filled_client.get(whole.attributes["href"]).find("image")[0].attributes["href"]
        == dots.attributes["href"]
    )


def test_the_plots_say_where_time_lies_on_them(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    page = filled_client.get(f"/takes/{filled[1].take}")
    plots = [each for each in page.find("svg") if "data-time" in each.attributes]
    assert len(plots) == 2
    for plot in plots:
        from_s, to_s, left, right = map(float, plot.attributes["data-time"].split())
        assert 0 <= from_s < to_s <= 0.9
        assert 0 < left < right < 360


def test_the_trace_is_saved_as_the_drawing_and_as_its_numbers(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/takes/{filled[1].take}"
    drawn = filled_client.fetch(f"{path}/trace.svg")
    assert drawn.mimetype == "image/svg+xml"
    assert "attachment" in drawn.headers["Content-Disposition"]
    root = ET.fromstring(drawn.data)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.find("{http://www.w3.org/2000/svg}desc") is not None

    rows = table(filled_client, f"{path}/trace.csv")
    steady = [each for each in rows if each["steady"] == "yes"]
    assert len(steady) > 10
    target_hz = 440 * 2 ** (225 / 1200)  # C#5 +25 on a B-flat soprano, closed formula
    for row in steady:
        cents = 1200 * math.log2(float(row["f0_hz"]) / target_hz)
        assert float(row["offset_cents"]) == pytest.approx(cents, abs=0.001)
        assert cents == pytest.approx(10, abs=1)
        assert row["target"] == "C#5+25c"


def test_the_spectrum_is_saved_as_the_drawing_and_as_its_numbers(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/takes/{filled[1].take}"
    assert ET.fromstring(filled_client.fetch(f"{path}/spectrum.svg").data).get("class") == (
        "spectrum"
    )
    rows = table(filled_client, f"{path}/spectrum.csv")
    partials = [each for each in rows if each["what"] == "partial"]
    first_hz = float(partials[0]["freq_hz"])
    for row in partials:
        assert float(row["freq_hz"]) / first_hz == pytest.approx(int(row["partial"]), rel=0.01)
    assert any(each["what"] == "curve" for each in rows)


@pytest.mark.parametrize("name", ["=HYPERLINK(1)", "+1", "-1", "@x"])
def test_a_name_that_looks_like_a_formula_stays_text(
    filled: tuple[Notebook, Filled], name: str
) -> None:
    notebook, rows = filled
    take = attach(notebook, rows.half_hole, tone_wav(830.0), original_name=name)
    client = Browser(create_app(notebook))
    for kind in ("trace", "spectrum"):
        cells = {row["recording"] for row in table(client, f"/takes/{take}/{kind}.csv")}
        assert cells == {f"'{name}"}


def test_a_take_without_a_pitch_has_levels_but_nothing_to_save(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    path = f"/takes/{filled[1].noise_take}"
    statuses = {name: filled_client.fetch(f"{path}/{name}").status_code for name in FILES}
    assert statuses == {
        "levels.png": 200,
        "trace.svg": 404,
        "trace.csv": 404,
        "spectrum.svg": 404,
        "spectrum.csv": 404,
    }


def test_a_missing_clip_is_410_for_the_picture_alone(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    for clip in notebook.clips.folder.glob("*.wav"):
        clip.unlink()
    assert filled_client.fetch(f"/takes/{rows.take}/levels.png").status_code == 410
    assert filled_client.fetch(f"/takes/{rows.take}/trace.csv").status_code == 200


@pytest.mark.parametrize("name", FILES)
def test_not_there_is_404_and_the_wrong_method_405(client: Browser, name: str) -> None:
    assert client.fetch(f"/takes/9/{name}").status_code == 404
    assert client.open(f"/takes/9/{name}", SAME_ORIGIN, method="POST").status_code == 405
