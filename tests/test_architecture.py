"""Dependencies point one way. Read from the import statements themselves, so a breach fails here.

cli, pages -> notebook -> analysis; inside the notebook the nouns form no circle; `analysis` knows
nothing of the web; `analysis.pitch` is the ground floor.
"""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SOURCES = sorted(
    path
    for package in ("analysis", "webapp", "migrations")
    for path in (ROOT / package).rglob("*.py")
)
TESTS = sorted(path for path in (ROOT / "tests").rglob("*.py") if "node_modules" not in path.parts)
FILE_LIMIT = 400
FUNCTION_LIMIT = 60


@cache
def module_name(path: Path) -> str:
    """The dotted name of a file."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@dataclass(frozen=True)
class SourceFile:
    """Facts of a file that the rules ask for."""

    imports: frozenset[str]
    """Every module and name that it imports, at any depth, as dotted names."""
    called: frozenset[str]
    """The names that it calls."""
    called_attributes: frozenset[str]
    """The last parts of the attributes that it calls."""
    function_lengths: tuple[tuple[str, int], ...]
    has_docstring: bool
    undocumented: tuple[str, ...]
    """Public functions and classes without a docstring, methods of public classes included."""


@cache
def read_source(path: Path) -> SourceFile:
    """Read a file, once for all rules."""
    tree = ast.parse(path.read_text("utf-8"))
    imports: set[str] = set()
    called: set[str] = set()
    called_attributes: set[str] = set()
    lengths = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Attribute):
                called_attributes.add(node.func.attr)
            elif isinstance(node.func, ast.Name):
                called.add(node.func.id)
        elif isinstance(node, ast.Import):
            imports |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide their direction"
            imports |= {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.FunctionDef) and node.end_lineno is not None:
            lengths.append((node.name, node.end_lineno - node.lineno + 1))
    return SourceFile(
        frozenset(imports),
        frozenset(called),
        frozenset(called_attributes),
        tuple(lengths),
        bool(ast.get_docstring(tree)),
        tuple(node.name for node in public_functions(tree) if not ast.get_docstring(node)),
    )


def public_functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    """Public functions and classes of a module, methods of public classes included."""
    bodies = [tree.body]
    while bodies:
        for node in bodies.pop():
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                yield node
                if isinstance(node, ast.ClassDef):
                    bodies.append(node.body)


def is_within(name: str, package: str) -> bool:
    """Whether a dotted name is a package or module or lies in it."""
    return f"{name}.".startswith(f"{package}.")


def within(package: str) -> list[Path]:
    """The files of a package or module."""
    return [path for path in SOURCES if is_within(module_name(path), package)]


def breaches(package: str, *forbidden: str, but: tuple[str, ...] = ()) -> list[str]:
    """Imports of a package that it must not have."""
    files = within(package)
    assert files, f"no files in {package}"
    return [
        f"{module_name(path)} imports {name}"
        for path in files
        for name in sorted(read_source(path).imports)
        if any(is_within(name, each) for each in forbidden)
        and not any(is_within(name, each) for each in but)
    ]


WEB = ("flask", "flask_wtf", "wtforms", "werkzeug", "jinja2", "markupsafe", "waitress", "click")
NOTEBOOK = "webapp.notebook"
STORE = f"{NOTEBOOK}.store"
PDF = f"{NOTEBOOK}.charts.pdf"
ERRORS = f"{STORE}.errors"
ROWS = ("sqlalchemy", "alembic", f"{STORE}.rows", f"{STORE}.db")
# what stands above the notebook: it uses the notebook, and never the other way
ABOVE = tuple(
    f"webapp.{name}"
    for name in ("app", "pages", "forms", "presenting", "guards", "sharing", "cli", "__main__")
)
# a package or module, what it must not import, and what of that it may
RULES: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("analysis", (*WEB, *ROWS, "webapp", "migrations", "tests"), ()),
    # no clock, environment or unseeded randomness in computation
    ("analysis", ("random", "secrets", "time", "datetime", "logging"), ("time.monotonic",)),
    ("analysis.pitch", ("analysis",), ("analysis.pitch", "analysis.errors")),
    ("analysis.keywork", ("analysis.recording", "analysis.finder"), ()),
    ("analysis.recording", ("analysis.keywork", "analysis.pitch", "analysis.finder"), ()),
    ("analysis.sandbox", ("analysis",), ("analysis.sandbox",)),
    ("analysis.decoder", ("analysis",), ("analysis.decoder", "analysis.sandbox")),
    ("analysis.notation", ("analysis",), ("analysis.notation", "analysis.sandbox")),
    ("analysis.engraving", ("analysis",), ("analysis.engraving", "analysis.sandbox")),
    ("analysis.paper", ("analysis",), ("analysis.paper", "analysis.sandbox", "analysis.errors")),
    ("analysis.score", ("analysis.recording", "analysis.keywork", "analysis.finder"), ()),
    ("analysis.acoustics", ("analysis.recording", "analysis.finder"), ()),
    ("analysis.finder", ("analysis.recording",), ()),
    ("analysis.day", ("analysis.recording", "analysis.keywork", "analysis.finder"), ()),
    ("webapp", ("tests",), ()),
    # a migration asks no rule that may change later
    ("migrations.versions", ("analysis", "webapp"), ()),
    ("webapp.drawing", (*WEB, *ROWS, "webapp"), ("webapp.drawing",)),
    (NOTEBOOK, (*WEB, *ABOVE), ()),
    (PDF, (*ROWS, "webapp"), (PDF, "webapp.drawing")),
    (f"{STORE}.clips", (*ROWS, "webapp", "analysis"), (ERRORS,)),
    (ERRORS, (*ROWS, "webapp", "analysis"), ()),
    (f"{STORE}.db", ("webapp", "analysis"), (f"{STORE}.postgresql", f"{STORE}.changes")),
    (f"{STORE}.postgresql", ("webapp", "analysis"), ("analysis.plain_text",)),
    (f"{STORE}.rows", ("webapp",), (f"{STORE}.rows", f"{STORE}.clock")),
    # pages and forms ask verbs; they see rows only as types
    ("webapp.pages", ("sqlalchemy", f"{STORE}.db", f"{STORE}.clips", f"{STORE}.migrating"), ()),
    ("webapp.forms", ("sqlalchemy", f"{STORE}.db", f"{STORE}.clips", f"{STORE}.migrating"), ()),
    ("webapp.cli", ROWS, ()),
    ("webapp.guards", (*ROWS, "webapp.pages", "webapp.forms", "analysis"), ()),
    ("webapp.sharing", (*WEB, *ROWS, "webapp", "analysis"), ("webapp.sharing", ERRORS)),
    ("webapp.presenting", ("sqlalchemy", f"{STORE}.db", "webapp.pages", "webapp.forms"), ()),
)


@pytest.mark.parametrize(("package", "forbidden", "but"), RULES, ids=[rule[0] for rule in RULES])
def test_dependencies_point_one_way(
    package: str, forbidden: tuple[str, ...], but: tuple[str, ...]
) -> None:
    assert breaches(package, *forbidden, but=but) == []


def test_a_breach_would_be_seen() -> None:
    assert breaches(NOTEBOOK, "sqlalchemy")
    assert breaches("webapp.pages", NOTEBOOK)


def test_nothing_lies_loose_in_the_shell() -> None:
    loose = {path.name for path in (ROOT / "webapp").glob("*.py")}
    assert loose == {"__init__.py", "__main__.py", "app.py"}


def imported_siblings(package: str) -> dict[str, set[str]]:
    """The direct children of a package, each with those of its siblings that it imports."""
    depth = package.count(".") + 1
    found: dict[str, set[str]] = {}
    for path in within(package):
        parts = module_name(path).split(".")
        if len(parts) > depth:
            below = [each for each in read_source(path).imports if is_within(each, package)]
            others = {each.split(".")[depth] for each in below} - {parts[depth]}
            found.setdefault(parts[depth], set()).update(others)
    return found


def find_circle(arrows: dict[str, set[str]]) -> list[str]:
    """What stands in a circle of arrows, or leads to nothing but one; empty where there is none."""
    left = {name: set(others) & set(arrows) for name, others in arrows.items()}
    while ends := [name for name, others in left.items() if not others & set(left)]:
        for name in ends:
            del left[name]
    return sorted(left)


PACKAGES = sorted(
    module_name(path)
    for path in SOURCES
    if path.name == "__init__.py" and path.parent.name not in ("migrations", "versions")
)


@pytest.mark.parametrize("package", PACKAGES)
def test_nothing_stands_in_a_circle(package: str) -> None:
    assert find_circle(imported_siblings(package)) == []


def test_a_circle_would_be_seen() -> None:
    assert find_circle({"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": set()}) == ["a", "b", "c"]


def test_views_take_rows_as_types_only() -> None:
    for path in within("webapp.pages"):
        rows = {
            name.rpartition(".")[2]
            for name in read_source(path).imports
            if "webapp.notebook.store.rows.core" in name
        }
        assert rows.isdisjoint(read_source(path).called), path


# Who may write or remove files, and what for.
WRITERS = {
    "webapp.notebook.store.clips": "the clips",
    "webapp.notebook.store.notebook": "the notebook's folder and the key of its cookies",
    "webapp.notebook.store.migrating": "the copy before a migration",
    "webapp.sharing.folder": "keys, certificates and the hash of the passphrase",
    "webapp.notebook.safekeeping.backup": "the archive of a backup",
    "webapp.notebook.exchange.exporting": "the archive of an export",
    "webapp.notebook.exchange.arriving": "the archive that waits for the player's word",
    "webapp.notebook.safekeeping.restoring": "what a backup is unpacked into",
    "webapp.notebook.safekeeping.keeping_aside": "the database that is kept aside",
    "webapp.notebook.safekeeping.leftovers": "what killed work left",
    "webapp.notebook.store.folder_lock": "the lock on the folder and who holds it",
    "webapp.cli.chart": "the PDF that was asked for",
    "webapp.cli.draw": "the picture that was asked for",
    "webapp.cli.handout": "the page that was asked for",
    "webapp.cli.piece_sheet": "the PDF that was asked for",
    "webapp.cli.split": "the takes that were asked for",
    "webapp.presenting.kept_templates": "compiled templates, where Python keeps its modules",
    "webapp.cli.shortcut": "a launcher in the place where the system keeps them",
    "webapp.cli.opening": "the folder of a throw-away demo",
}
WRITING_CALLS = {
    "write_bytes",
    "write_text",
    "unlink",
    "rename",
    "replace_file",
    "rmtree",
    "copy2",
    "mkdir",
    "mkdtemp",
    "rmdir",
}


def test_only_the_clip_store_touches_clips_and_few_others_any_file() -> None:
    writers = {
        module_name(path)
        for path in within("webapp")
        if WRITING_CALLS & (read_source(path).called | read_source(path).called_attributes)
        and not module_name(path).startswith(PDF)
    }
    assert writers <= set(WRITERS), writers - set(WRITERS)


def test_one_module_names_the_clock() -> None:
    # Verbs ask `now_utc`; times of files and cookies are the exceptions.
    allowed = {f"{STORE}.clock", "webapp.app", f"{STORE}.clips"}
    for path in within("webapp"):
        if module_name(path) in allowed:
            continue
        text = path.read_text("utf-8")
        assert not re.search(r"\b(datetime\.now|time\.time|date\.today|utcnow)\(", text), path


@pytest.mark.parametrize("package", ["analysis", "webapp"])
def test_everything_public_says_what_it_is(package: str) -> None:
    missing = [
        f"{module_name(path)}.{name}"
        for path in within(package)
        for name in read_source(path).undocumented
    ]
    assert missing == []


def test_every_module_says_what_it_is_for() -> None:
    missing = [
        str(path.relative_to(ROOT))
        for path in SOURCES
        if path.read_text("utf-8").strip() and not read_source(path).has_docstring
    ]
    assert missing == []


def test_no_file_grows_beyond_what_can_be_read_at_once() -> None:
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines()) for path in SOURCES
    }
    assert {name: lines for name, lines in lengths.items() if lines > FILE_LIMIT} == {}


def test_no_function_grows_beyond_one_screen() -> None:
    long = {
        f"{module_name(path)}.{name}": lines
        for path in SOURCES
        if "versions" not in path.parts
        for name, lines in read_source(path).function_lengths
    }
    assert {name: lines for name, lines in long.items() if lines > FUNCTION_LIMIT} == {}


def test_every_template_is_used() -> None:
    folder = ROOT / "webapp" / "templates"
    names = {str(path.relative_to(folder).as_posix()) for path in folder.rglob("*.html")}
    text = "".join(path.read_text("utf-8") for path in [*within("webapp"), *folder.rglob("*.html")])
    assert {name for name in names if f'"{name}"' not in text} == set()


def test_every_static_file_is_used() -> None:
    folder = ROOT / "webapp" / "static"
    names = {
        str(path.relative_to(folder).as_posix()) for path in folder.rglob("*") if path.is_file()
    }
    users = [*(ROOT / "webapp").rglob("*.html"), *folder.rglob("*.js"), *folder.rglob("*.css")]
    users.append(ROOT / "webapp" / "pages" / "web_app.py")  # the manifest and the worker
    text = "".join(path.read_text("utf-8") for path in users)
    assert {name for name in names if Path(name).name not in text} == set()


def test_every_package_of_the_code_has_its_tests() -> None:
    for package in ("analysis", "webapp"):
        for path in (ROOT / package).iterdir():
            if not (path / "__init__.py").is_file():
                continue
            tests = ROOT / "tests" / package / path.name
            named = ROOT / "tests" / package / f"test_{path.name}.py"
            assert any(tests.glob("test_*.py")) or named.is_file(), f"{package}.{path.name}"


def test_every_ignored_finding_gives_its_reason() -> None:
    for path in [*SOURCES, *TESTS]:
        if path == Path(__file__):
            continue
        for line in path.read_text("utf-8").splitlines():
            for mark in ("# noqa", "# type: ignore"):
                if mark in line:
                    reason = re.sub(r"^(: [\w, ]+|\[[\w, -]+\])", "", line.split(mark, 1)[1])
                    assert re.search(r"\w{2}", reason), f"{path}: {line.strip()}"
