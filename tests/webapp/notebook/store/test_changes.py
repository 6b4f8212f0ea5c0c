"""Values kept in memory follow every write, of this program and of others, on both engines.

After each write what a notebook says, with all that it keeps, is compared with what another program
reads that has just begun and keeps nothing.
"""

import random

import pytest
from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from analysis.pitch import SoundingPitch, Tuning
from tests.webapp.logging_rows import ENGLISH, TakeMaker, add_clarinet, clarinet, draft, log
from webapp.notebook.finder.finder_evidence import Evidence, collect_evidence
from webapp.notebook.fingerings.fingerings import change_fingering
from webapp.notebook.instruments.instruments import change_instrument
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin, restore
from webapp.notebook.store import changes
from webapp.notebook.store.changes import KeptValues, find_line, follow_fingerings
from webapp.notebook.store.claims import release_claim, take_claim
from webapp.notebook.store.db import Database
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, RowChange
from webapp.notebook.targets.answers import read_judge
from webapp.notebook.targets.facts import Look
from webapp.notebook.targets.range import StepState, open_range
from webapp.notebook.targets.search import SearchQuery
from webapp.notebook.targets.standing import Facts

KEYS = ("T R 123 | 12-", "T R 123 | 123", "T 123 | ---", "T 12- | -23")
NOTES = ("D5 -50", "E5", "C5 +25", "G4")
STEPS = 25


def facts_in(database: Database, instrument_id: int) -> tuple[Facts, ...]:
    """Facts of the fingerings of an instrument as a database gives them."""
    with database.reading() as session:
        instrument = session.get_one(Instrument, instrument_id)
        return read_judge(session, instrument, look=Look(is_brief=True)).facts


def is_as_read_anew(notebook: Notebook, instrument_id: int) -> bool:
    """Whether what is kept says the same as what another program reads."""
    databases = notebook.database, Database(notebook.database.engine)
    facts, facts_anew = (facts_in(each, instrument_id) for each in databases)
    evidence, evidence_anew = (evidence_in(each, instrument_id) for each in databases)
    return facts == facts_anew and evidence == evidence_anew


def evidence_in(database: Database, instrument_id: int) -> Evidence:
    """Evidence for the finder as a database gives it."""
    with database.reading() as session:
        return collect_evidence(session, session.get_one(Instrument, instrument_id))


@pytest.fixture
def rows_read(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many rows were renewed, each time; -1 where all were read anew."""
    counts: list[int] = []
    read = changes._read_news

    def count(session: Session, since: changes.Line) -> changes._News | None:
        found = read(session, since)
        counts.append(-1 if found is None else len(found.written))
        return found

    monkeypatch.setattr(changes, "_read_news", count)
    return counts


class Player:
    """Writes into a notebook in every way there is, by chance."""

    def __init__(self, notebook: Notebook, instrument_id: int, take_maker: TakeMaker) -> None:
        self.notebook = notebook
        self.instrument_id = instrument_id
        self.take_maker = take_maker
        self.chance = random.Random(11)
        self.there: list[int] = []
        self.binned: list[int] = []

    def write(self) -> None:
        """Write something."""
        ways = [
            self.log,
            self.log,
            self.measure,
            self.measure,
            self.edit,
            self.bin,
            self.take_out,
            self.fail,
        ]
        ways += [self.move, self.empty, self.write_many]
        self.chance.choice(ways)()

    def log(self) -> None:
        note, keys = self.chance.choice(NOTES), self.chance.choice(KEYS)
        self.there.append(log(self.notebook, self.instrument_id, note, keys))

    def measure(self) -> None:
        if self.there:
            number = self.chance.choice(self.there)
            with self.notebook.database.reading() as session:
                cents = session.get_one(Fingering, number).target_cents
            sounding = SoundingPitch(cents + self.chance.uniform(-20.0, 20.0))
            self.take_maker(self.notebook, number, sounding.hz(Tuning(440.0)))

    def edit(self) -> None:
        if self.there:
            number = self.chance.choice(self.there)
            with self.notebook.database.reading() as session:
                version = session.get_one(Fingering, number).version
            wanted = draft(self.chance.choice(NOTES), resistance=self.chance.randrange(1, 6))
            change_fingering(self.notebook, number, wanted, seen_version=version, names=ENGLISH)

    def bin(self) -> None:
        if self.there:
            self.binned.append(self.there.pop(self.chance.randrange(len(self.there))))
            put_in_bin(self.notebook, "fingering", self.binned[-1])

    def take_out(self) -> None:
        if self.binned:
            self.there.append(self.binned.pop())
            restore(self.notebook, "fingering", self.there[-1])

    def empty(self) -> None:
        self.binned.clear()
        empty_bin(self.notebook)

    def move(self) -> None:
        """Transpose the instrument, which moves all of its fingerings."""
        with self.notebook.database.reading() as session:
            version = session.get_one(Instrument, self.instrument_id).version
        kind = self.chance.choice(["b-flat-soprano", "a-soprano"])
        wanted = clarinet(kind_id=kind)
        change_instrument(self.notebook, self.instrument_id, wanted, seen_version=version)

    def write_many(self) -> None:
        """Write past the object mapper, after a flush that has nothing to do."""
        with self.notebook.database.writing() as session:
            for row in session.scalars(select(Fingering).limit(1)):
                row.notes = str(row.notes)
            session.flush()
            softly = self.chance.choice([True, False, None])
            session.execute(update(Fingering).values(speaks_softly=softly))

    def fail(self) -> None:
        """Write and look, and then take all of it back."""
        with pytest.raises(RuntimeError), self.notebook.database.writing() as session:
            session.execute(update(Fingering).values(resistance=1))
            facts = read_judge(
                session,
                session.get_one(Instrument, self.instrument_id),
                look=Look(is_brief=True),
            ).facts
            assert all(each.resistance == 1 for each in facts)
            raise RuntimeError


def test_after_every_write_it_is_as_read_anew(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    player = Player(notebook, soprano, take_maker)
    counts = set()
    for _ in range(STEPS):
        player.write()
        assert is_as_read_anew(notebook, soprano)
        counts.add(len(evidence_in(notebook.database, soprano).logs))
    assert {0, 1, 2} <= counts


def test_what_another_program_writes_is_followed_row_by_row(
    notebook: Notebook, soprano: int, rows_read: list[int]
) -> None:
    other = Notebook(notebook.folder, Database(notebook.database.engine), notebook.clips)
    log(notebook, soprano, NOTES[0], KEYS[0])
    facts_in(notebook.database, soprano)
    number = log(other, soprano, NOTES[1], KEYS[1])
    assert facts_in(notebook.database, soprano)[-1].fingering_id == number
    put_in_bin(other, "fingering", number)
    assert len(facts_in(notebook.database, soprano)) == 1
    assert rows_read == [1, 1]


def test_the_page_of_a_range_shows_what_was_just_written(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    query = SearchQuery(instrument_id=soprano)
    before = open_range(notebook, soprano, query)
    number = log(notebook, soprano, "D5 -50", KEYS[0])
    tried = open_range(notebook, soprano, query)
    take_maker(notebook, number, 440 * 2 ** (252 / 1200))
    measured = open_range(notebook, soprano, query)
    counts = [
        [whole.count(state) for state in (StepState.NOT_TRIED, StepState.IN_TUNE)]
        for whole in (before, tried, measured)
    ]
    assert counts == [[0, 0], [1, 0], [0, 1]]


def test_a_filter_chooses_from_what_is_kept(notebook: Notebook, soprano: int) -> None:
    for resistance in (1, 3, 5, None):
        log(notebook, soprano, NOTES[0], KEYS[0], resistance=resistance)
    facts_in(notebook.database, soprano)
    query = SearchQuery(instrument_id=soprano, highest_resistance=3)
    for database in (notebook.database, Database(notebook.database.engine)):
        whole = open_range(Notebook(notebook.folder, database, notebook.clips), soprano, query)
        assert sum(step.answer.serving_count for step in whole.steps) == 2


def test_a_number_that_is_used_again_is_another_instrument(
    notebook: Notebook, soprano: int
) -> None:
    log(notebook, soprano, NOTES[0], KEYS[0])
    assert len(facts_in(notebook.database, soprano)) == 1
    put_in_bin(notebook, "instrument", soprano)
    empty_bin(notebook)
    again = add_clarinet(notebook)
    with notebook.database.writing() as session:
        session.execute(update(Instrument).where(Instrument.id == again).values(id=soprano))
    assert facts_in(notebook.database, soprano) == ()


def test_a_log_that_was_cut_has_all_read_anew(
    notebook: Notebook, soprano: int, rows_read: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(changes, "LINES_KEPT", 3)
    monkeypatch.setattr(changes, "_CUT_EVERY", 1)
    for _ in range(2):
        facts_in(notebook.database, soprano)
        for note in NOTES:
            log(notebook, soprano, note, KEYS[0])
        assert is_as_read_anew(notebook, soprano)
    with notebook.database.reading() as session:
        assert len(session.scalars(select(RowChange)).all()) == 3
    assert rows_read == [-1, 0, -1, -1]


def test_the_same_line_number_in_another_history_is_another_line(
    notebook: Notebook, soprano: int, rows_read: list[int]
) -> None:
    log(notebook, soprano, NOTES[0], KEYS[0])
    facts_in(notebook.database, soprano)
    # as after a backup was put back and went on by as many lines
    with notebook.database.writing() as session:
        session.execute(delete(Fingering))
        newest = session.scalars(select(RowChange.id).order_by(RowChange.id.desc()).limit(1)).one()
        session.execute(delete(RowChange).where(RowChange.id == newest))
        session.execute(update(RowChange).values(stamp="another"))
    assert facts_in(notebook.database, soprano) == ()
    assert rows_read == [-1]


def test_many_rows_in_one_flush_are_told_as_a_table(
    notebook: Notebook, soprano: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(changes, "_ROWS_NAMED", 2)
    for note in NOTES:
        log(notebook, soprano, note, KEYS[0])
    facts_in(notebook.database, soprano)
    with notebook.database.writing() as session:
        for row in session.scalars(select(Fingering)):
            row.resistance = 4
    assert {each.resistance for each in facts_in(notebook.database, soprano)} == {4}


def test_rows_put_in_at_once_are_seen(notebook: Notebook, soprano: int) -> None:
    number = log(notebook, soprano, NOTES[0], KEYS[0])
    facts_in(notebook.database, soprano)
    table = Fingering.__table__
    with notebook.database.writing() as session:
        row = dict(session.execute(select(table).where(table.c.id == number)).mappings().one())
        session.execute(insert(Fingering), [{**row, "id": number + 1}, {**row, "id": number + 2}])
    assert len(facts_in(notebook.database, soprano)) == 3


def test_what_was_not_used_for_longest_is_let_go() -> None:
    kept, line = KeptValues(), changes.Line(1, "first")
    for number in range(changes.VALUES_KEPT):
        kept.keep(number, line, number)
    assert kept.find(0) == (line, 0)
    kept.keep("one more", line, "value")
    assert kept.find(0) == (line, 0)
    assert kept.find(1) is None


def test_without_a_line_nothing_is_kept(notebook: Notebook, soprano: int) -> None:
    del soprano
    with notebook.database.writing() as session:
        session.execute(delete(RowChange))
    with notebook.database.reading() as session:
        assert find_line(session) is None
        made = [follow_fingerings(session, "any", object, lambda *_: object()) for _ in range(2)]
    assert made[0] is not made[1]


def test_looking_and_claiming_write_no_line(notebook: Notebook, soprano: int) -> None:
    with notebook.database.reading() as session:
        before = find_line(session)
    open_range(notebook, soprano, SearchQuery(instrument_id=soprano))
    take_claim(notebook, "invented job")
    release_claim(notebook, "invented job")
    with notebook.database.reading() as session:
        assert find_line(session) == before
