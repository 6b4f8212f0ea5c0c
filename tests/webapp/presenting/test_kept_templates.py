"""Compiled templates are kept for the next start, and never outlive what they were made of."""

import sys
from pathlib import Path

import pytest
from jinja2 import Environment, FileSystemLoader
from jinja2.bccache import Bucket

from webapp.presenting import kept_templates
from webapp.presenting.kept_templates import KeptTemplates


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with one template, and leave to keep what is compiled."""
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys, "pycache_prefix", None)
    (tmp_path / "page.html").write_text("Hello {{ name }}", "utf-8")
    return tmp_path


class Watched(KeptTemplates):
    """Says whether a template was compiled, since only then it is to be kept."""

    has_compiled = False

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Note it, and keep it as ever."""
        self.has_compiled = True
        super().dump_bytecode(bucket)


def render(folder: Path) -> tuple[str, bool]:
    """Render the template in an environment of its own; say whether it was compiled for it."""
    kept = Watched(folder)
    environment = Environment(loader=FileSystemLoader(folder), bytecode_cache=kept)
    return environment.get_template("page.html").render(name="reed"), kept.has_compiled


def test_what_was_compiled_is_read_by_the_next(folder: Path) -> None:
    assert render(folder) == ("Hello reed", True)
    assert render(folder) == ("Hello reed", False)


def test_another_text_is_compiled_anew(folder: Path) -> None:
    render(folder)
    (folder / "page.html").write_text("Good day {{ name }}", "utf-8")
    assert render(folder) == ("Good day reed", True)
    assert render(folder) == ("Good day reed", False)
    assert len(list((folder / "__pycache__").iterdir())) == 1, "the earlier one is gone"


def test_a_change_of_the_filters_compiles_all_anew(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    render(folder)
    monkeypatch.setattr(kept_templates, "_describe_files", lambda: iter(["changed"]))
    assert render(folder) == ("Hello reed", True)
    assert len(list((folder / "__pycache__").iterdir())) == 1


def test_where_python_keeps_nothing_no_template_is_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert [render(folder)[1] for _ in range(2)] == [True, True]
    assert [each.name for each in folder.iterdir()] == ["page.html"]
