"""Asks every page and every verb behind one the same questions about notes.

The answer of a page is a dictionary that holds only what it does say, so pages that say more are
asked more.
"""

import csv
import io
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import quote

import pytest
from sqlalchemy import select

from analysis.pitch import WrittenPitch
from analysis.score import ReadingSettings, parse_typed_part, to_transcript
from tests.webapp.browsing import Browser, Page
from tests.webapp.cli.running import run
from tests.webapp.logging_rows import ENGLISH, add_clarinet
from tests.webapp.notebook.targets.ranging import predict
from tests.webapp.playing import listed
from webapp.app import create_app
from webapp.notebook.charts import charts
from webapp.notebook.charts.charts import ChartChoice, make_chart
from webapp.notebook.charts.pdf import ChartSpec
from webapp.notebook.finder.plans import PlanOrder, open_plan
from webapp.notebook.finder.suggesting import WishList, find_suggestions
from webapp.notebook.finder.tries import open_try_list
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.pieces.todo import open_todo
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.practice_targets import TARGETS_AT_MOST, add_gaps
from webapp.notebook.practice.stand import open_target_stand
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import Choice, Role
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.overview import open_overview
from webapp.notebook.targets.range import StepState, open_range
from webapp.notebook.targets.search import SearchQuery, search_target
from webapp.notebook.targets.standing import SERVING, Standing

Said = dict[str, object]
"""What a page says of a note: `solved`, `best` (its number or None), `standing`, `open`."""


@dataclass
class World:
    """A notebook with a browser on it, the notes to ask for, and what charts were printed."""

    notebook: Notebook
    instrument: int
    notes: tuple[WrittenPitch, ...]
    client: Browser
    specs: list[ChartSpec] = field(default_factory=list)
    result_cache: ResultCache = field(default_factory=ResultCache)

    @property
    def rejected(self) -> frozenset[int]:
        """The fingerings that the player rejected for some note."""
        query = select(Choice.fingering_id).where(Choice.role == Role.REJECTED.value)
        with self.notebook.database.reading() as session:
            return frozenset(session.scalars(query))


Asker = Callable[[World], Mapping[WrittenPitch, Said]]


def say(answer: NoteAnswer) -> Said:
    """What an answer of the judge says."""
    best = answer.best
    return {
        "solved": answer.is_solved,
        "best": best.facts.fingering_id if best else None,
        "standing": best.standing if best else None,
    }


def ask_start(world: World) -> Mapping[WrittenPitch, Said]:
    """The verb of the start page."""
    (found,) = open_overview(world.notebook).instruments
    said: dict[WrittenPitch, Said] = {}
    for row in found.coverage:
        standings: Mapping[Standing | None, Sequence[WrittenPitch]] = {
            Standing.IN_TUNE: row.in_tune,
            Standing.NEAR: row.near,
            Standing.NOT_TRIED: row.not_tried,
            None: row.missing,
        }
        for standing, steps in standings.items():
            for step in steps:
                said[step] = {"standing": standing, "solved": step in row.solved}
    return {note: said[note] for note in world.notes}


def ask_start_page(world: World) -> Mapping[WrittenPitch, Said]:
    """The start page: a notehead for each quarter tone, inked all through where it is in tune."""
    page = world.client.get("/")
    (found,) = open_overview(world.notebook).instruments
    staves = re.findall(r'class="strip-staff".*?</svg>', page.html, re.DOTALL)
    said: dict[WrittenPitch, Said] = {}
    for row, staff in zip(found.coverage, staves, strict=True):
        inks = re.findall(r'<ellipse[^>]* fill="([^"]+)"', staff)
        for step, ink in zip(row.steps, inks, strict=True):
            said[step] = {"in tune": ink == "currentColor"}
    open_notes = [step.canonical for row in found.coverage for step in row.missing]
    assert page.form("/notes/practise").values.getlist("note") == open_notes[:5]
    return {note: said[note] for note in world.notes}


def ask_range(world: World) -> Mapping[WrittenPitch, Said]:
    """The verb of the range page."""
    query = SearchQuery(instrument_id=world.instrument)
    whole = open_range(world.notebook, world.instrument, query)
    steps = {step.written: step for step in whole.steps}
    return {
        note: {**say(steps[note].answer), "solved": steps[note].is_solved} for note in world.notes
    }


STANDINGS: dict[str, Standing | None] = {
    StepState.IN_TUNE.value: Standing.IN_TUNE,
    StepState.NEAR.value: Standing.NEAR,
    StepState.NOT_TRIED.value: Standing.NOT_TRIED,
}


def ask_range_page(world: World) -> Mapping[WrittenPitch, Said]:
    """The range page: the class of a row is its state."""
    page = world.client.get(f"/instruments/{world.instrument}/range")
    said: dict[WrittenPitch, Said] = {}
    for note in world.notes:
        (row,) = page.find("tr", id=f"step-{int(note.cents)}")
        state = row.attributes["class"].removeprefix("is-").replace("-", " ")
        said[note] = {"standing": STANDINGS.get(state)}
    return said


def ask_range_table(world: World) -> Mapping[WrittenPitch, Said]:
    """The table of the range."""
    answer = world.client.fetch(f"/instruments/{world.instrument}/range.csv")
    rows = {row["note"]: row for row in csv.DictReader(io.StringIO(answer.get_data(as_text=True)))}
    said: dict[WrittenPitch, Said] = {}
    for note in world.notes:
        row = rows[note.canonical]
        standing = STANDINGS.get(row["standing"])
        said[note] = {
            "standing": standing,
            "solved": row["solved"] == "yes",
            "best": int(row["fingering"]) if standing else None,
        }
    return said


def ask_search(world: World) -> Mapping[WrittenPitch, Said]:
    """The verb of the search page; its first hit is the best, or there is none."""
    said: dict[WrittenPitch, Said] = {}
    for note in world.notes:
        query = SearchQuery(note.canonical, world.instrument)
        result = search_target(world.notebook, query, names=ENGLISH)
        assert result.answer is not None
        said[note] = say(result.answer)
        if result.answer.best is not None:
            assert result.hits[0].judged == result.answer.best
    return said


def ask_search_page(world: World) -> Mapping[WrittenPitch, Said]:
    """The search page: the first hit, where the page says why it is the first."""
    return {
        note: {"best": _first_link(page) if "First: " in page.text else None}
        for note, page in _pages(world, "/search?q={}&instrument={}")
    }


def _pages(world: World, address: str) -> Iterator[tuple[WrittenPitch, Page]]:
    for note in world.notes:
        yield note, world.client.get(address.format(quote(note.canonical), world.instrument))


def _first_link(page: Page) -> int | None:
    """The first fingering that a page leads to."""
    links = (each.attributes.get("href", "") for each in page.find("a"))
    found = (re.fullmatch(r"/fingerings/(\d+)", each) for each in links)
    return next((int(each.group(1)) for each in found if each), None)


def ask_entries(world: World) -> Mapping[WrittenPitch, Said]:
    """The verb of the page of a fingering: what there is for the note that it was logged for."""
    said: dict[WrittenPitch, Said] = {}
    for note, known in ask_search(world).items():
        number = known["best"]
        if isinstance(number, int):
            page = open_fingering(world.notebook, number)
            if page.fingering.written.cents == note.cents:
                said[note] = say(page.answer)
    return said


def ask_plan(world: World) -> Mapping[WrittenPitch, Said]:
    """The plan of the whole range."""
    page = open_plan(
        world.notebook, world.result_cache, world.instrument, PlanOrder(), names=ENGLISH
    )
    assert page.plan is not None
    solved = set(page.plan.solved)
    return {note: {"solved": note in solved} for note in world.notes}


def ask_chart(world: World) -> Mapping[WrittenPitch, Said]:
    """The chart of the best, and the whole one: there the best stands first under its note."""
    best, whole = (
        _print(world, ChartChoice(world.instrument, is_best_only=is_best_only))
        for is_best_only in (True, False)
    )
    said: dict[WrittenPitch, Said] = {}
    for note in world.notes:
        printed = best.get(note, [])
        assert len(printed) < 2
        said[note] = {"best": _number_of(world, printed[0]) if printed else None}
        if printed:
            assert whole[note][0] == printed[0]
    return said


def _print(world: World, choice: ChartChoice) -> dict[WrittenPitch, list[str]]:
    make_chart(world.notebook, choice, writing=Writing())
    found: dict[WrittenPitch, list[str]] = {}
    for entry in world.specs[-1].entries:
        found.setdefault(entry.written, []).append(entry.notes)
    return found


def _number_of(world: World, notes: str) -> int:
    """The number of the fingering whose notes these are, whatever the chart puts before them."""
    hits = search_target(
        world.notebook,
        SearchQuery(instrument_id=world.instrument, hits_on_a_page=1000),
        names=ENGLISH,
    ).hits
    (number,) = (hit.fingering.id for hit in hits if notes.endswith(hit.fingering.notes))
    return number


def ask_stand(world: World) -> Mapping[WrittenPitch, Said]:
    """The stand: what lies there first, if it serves."""
    said: dict[WrittenPitch, Said] = {}
    for note in world.notes:
        (item,) = open_target_stand(world.notebook, world.instrument, note.canonical).items
        first = item.candidates[0] if item.candidates else None
        serves = first and first.judged and first.judged.standing in SERVING
        number = first.fingering.id if serves and first and first.fingering else None
        said[note] = {"best": number}
    return said


def ask_stand_page(world: World) -> Mapping[WrittenPitch, Said]:
    """The page of the stand: where the first candidate's take goes, if it says why it is there."""
    said: dict[WrittenPitch, Said] = {}
    for note, page in _pages(world, "/instruments/{1}/stand?q={0}"):
        urls = [
            each.attributes["data-take-url"]
            for each in page.find("section")
            if each.attributes.get("data-take-url")
        ]
        if urls and "No fingering yet" not in page.text:
            known = re.fullmatch(r"/fingerings/(\d+)/takes\.json", urls[0])
            assert known is not None
            is_elsewhere = "Elsewhere" in page.text.partition("Its page")[0]
            said[note] = {"best": None if is_elsewhere else int(known.group(1))}
        else:
            said[note] = {"best": None}
    return said


def ask_suggestions(world: World) -> Mapping[WrittenPitch, Said]:
    """The verb of the suggestions: what is known already."""
    return {
        note: say(
            find_suggestions(
                world.notebook, world.result_cache, world.instrument, note.canonical, WishList(),
                names=ENGLISH,
            ).answer
        )
        for note in world.notes
    }  # fmt: skip


def ask_suggestion_page(world: World) -> Mapping[WrittenPitch, Said]:
    """The page of suggestions."""
    said: dict[WrittenPitch, Said] = {}
    for note, page in _pages(world, "/instruments/{1}/next?q={0}"):
        assert page.status == 200
        is_solved = "Solved already" in page.text
        is_known = is_solved or "Known so far" in page.text
        said[note] = {"solved": is_solved, "best": _first_link(page) if is_known else None}
    return said


def ask_command(world: World) -> Mapping[WrittenPitch, Said]:
    """The search command, as a script reads it."""
    said: dict[WrittenPitch, Said] = {}
    for note in world.notes:
        words = ("search", note.canonical, "--instrument", "B-flat", "--json")
        done = run(*words, folder=world.notebook.folder)
        assert done.exit_code == 0, done.output
        hits = [json.loads(line) for line in done.output.splitlines()]
        serving = [each["standing"] in SERVING for each in hits[:1]]
        first = hits[0] if serving == [True] and hits[0]["id"] not in world.rejected else None
        said[note] = {
            "best": first["id"] if first else None,
            "standing": Standing(first["standing"]) if first else None,
        }
    return said


def ask_todo(world: World) -> Mapping[WrittenPitch, Said]:
    """What is still to do for a part of all the notes."""
    text = ", ".join(note.canonical for note in world.notes)
    transcript = to_transcript(parse_typed_part(text))
    found = open_todo(world.notebook, world.instrument, transcript, ReadingSettings())
    said = {each.need.written: say(each.answer) for each in found.notes}
    remaining = {note.cents for note, each in said.items() if not each["solved"]}
    assert bool(found.open_bars) == bool(remaining)
    return {note: said[note] for note in world.notes}


def ask_gaps(world: World) -> Mapping[WrittenPitch, Said]:
    """What a practice list takes for gaps."""
    practice = start_practice(world.notebook, world.instrument, PracticeDraft())
    add_gaps(world.notebook, practice, PlanOrder(), count=TARGETS_AT_MOST, names=ENGLISH)
    gaps = {row.target_text for row in listed(world.notebook, practice)}
    return {note: {"solved": note.canonical not in gaps} for note in world.notes}


def ask_try_list(world: World) -> Mapping[WrittenPitch, Said]:
    """The try list, with a try for every note; asked last, since tries show on other pages."""
    for note in world.notes:
        predict(world.notebook, world.instrument, note.canonical, 0.0)
    answers = open_try_list(world.notebook, world.instrument).answers
    said = {note: say(answers[note.canonical]) for note in world.notes}
    page = world.client.get(f"/instruments/{world.instrument}/tries")
    solved = sum(bool(each["solved"]) for each in said.values())
    assert page.text.count("Solved already") == solved
    return said


ASKERS: dict[str, Asker] = {
    "start": ask_start,
    "start page": ask_start_page,
    "range": ask_range,
    "range page": ask_range_page,
    "range table": ask_range_table,
    "search": ask_search,
    "search page": ask_search_page,
    "entries": ask_entries,
    "plan": ask_plan,
    "chart": ask_chart,
    "stand": ask_stand,
    "stand page": ask_stand_page,
    "suggestions": ask_suggestions,
    "suggestion page": ask_suggestion_page,
    "command": ask_command,
    "todo": ask_todo,
    "gaps": ask_gaps,
    "try list": ask_try_list,
}


def ask_every_page(
    world: World, askers: Mapping[str, Asker] = ASKERS
) -> dict[str, Mapping[WrittenPitch, Said]]:
    """Ask all that says something of notes; what else there is goes into `ASKERS`."""
    return {name: ask(world) for name, ask in askers.items()}


def open_world(
    folder: Path, patch: pytest.MonkeyPatch, notes: tuple[WrittenPitch, ...], **instrument: str
) -> World:
    """A notebook with one instrument, all its pages at hand."""
    notebook = open_notebook(folder)
    number = add_clarinet(notebook, **instrument)
    world = World(notebook, number, notes, Browser(create_app(notebook)))

    def catch(spec: ChartSpec) -> bytes:
        world.specs.append(spec)
        return b"%PDF"

    patch.setattr(charts, "render", catch)
    return world
