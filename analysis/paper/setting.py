"""Typesetting above untrusted pages, in the child: originals below, marks above, as one PDF.

The typesetter takes each page of a PDF in as it is, vectors and text; a photo is written anew,
upright and bare. A file that only the renderer can read is written plainly first.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import typst

from analysis.paper import pdf_pages, photos


def set_pages(job: dict[str, Any]) -> bytes:
    """Set a template over files and return the PDF.

    `job` has `folder` with the `template` in it; `fonts`, a folder; `fed`, what the template is
    told; `files`, each `path`, `kind` and `name` under which the template takes it in; `moment`, in
    seconds since 1970, which stands in the PDF as its date.
    """
    folder = Path(job["folder"])
    for each in job["files"]:
        _bring(each, folder)
    try:
        return _set(job)
    except (typst.TypstError, RuntimeError):
        pdfs = [each for each in job["files"] if each["kind"] == "pdf"]
        if not pdfs:
            raise
        for each in pdfs:
            content = pdf_pages.write_plainly(Path(each["path"]))
            (folder / each["name"]).write_bytes(content)
        return _set(job)


def _bring(file: dict[str, str], folder: Path) -> None:
    path = Path(file["path"])
    content = path.read_bytes() if file["kind"] == "pdf" else photos.write_for_paper(path)[1]
    (folder / file["name"]).write_bytes(content)


def _set(job: dict[str, Any]) -> bytes:
    return typst.compile(
        str(Path(job["folder"], job["template"])),
        root=job["folder"],
        font_paths=typst.Fonts(
            include_system_fonts=True, include_embedded_fonts=False, font_paths=[job["fonts"]]
        ),
        ignore_system_fonts=False,
        format="pdf",
        sys_inputs={"chart": json.dumps(job["fed"], ensure_ascii=False)},
        pdf_standards="1.7",
        timestamp=job["moment"],
    )
