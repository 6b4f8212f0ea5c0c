"""The notebook as a web app that can be installed: manifest, service worker, offline page.

Sources: Web Application Manifest (W3C); Service Workers (W3C). The worker stands at the root, since
it may only answer for addresses below its own.
"""

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from flask import Response, current_app, render_template, url_for

from webapp.pages.assets import SIGNS
from webapp.presenting.words import PAPER_COLOURS

NAME = "Quartervent"
PATIENCE_MS = 8_000
"""How long a page may take before its copy is shown instead."""
WORKER_FILE = "js/service-worker.js"
ICONS = (
    ("icons/icon-192.png", "192x192", "any"),
    ("icons/icon-512.png", "512x512", "any"),
    ("icons/maskable-512.png", "512x512", "maskable"),
)
_USED_FACES = ("regular.ttf", "bold.ttf", SIGNS)


@dataclass(frozen=True, slots=True)
class StaticFiles:
    """The files of the app, with a mark that changes when one of them does."""

    names: tuple[str, ...]
    version: str


@cache
def read_static_files(folder: Path) -> StaticFiles:
    """Read every file of the app once."""
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))
    digest = hashlib.sha256()
    for name in names:
        digest.update(f"{name}\0".encode())
        digest.update(hashlib.sha256((folder / name).read_bytes()).digest())
    return StaticFiles(tuple(names), digest.hexdigest()[:12])


def manifest() -> Response:
    """Hand out what a browser asks before it installs the notebook as an app."""
    icons = [
        {
            "src": url_for("static", filename=name),
            "sizes": sizes,
            "type": "image/png",
            "purpose": of,
        }
        for name, sizes, of in ICONS
    ]
    described = {
        "id": "/",
        "name": NAME,
        "short_name": NAME,
        "description": "A fingering notebook for clarinettists, with recorded evidence",
        "lang": "en",
        "start_url": url_for("start.show"),
        "scope": "/",
        "display": "standalone",
        "theme_color": PAPER_COLOURS["light"],
        "background_color": PAPER_COLOURS["light"],
        "icons": icons,
    }
    return Response(json.dumps(described), mimetype="application/manifest+json")


def worker() -> Response:
    """Hand out the service worker, with the files that this version of the app consists of."""
    folder = Path(current_app.static_folder or "")
    files = read_static_files(folder)
    wanted = [url_for("static", filename=name) for name in files.names if name != WORKER_FILE]
    wanted += [url_for("assets.font", name=name) for name in _USED_FACES]
    settings = {"version": files.version, "files": wanted, "patienceMs": PATIENCE_MS}
    text = f"const SETTINGS = {json.dumps(settings)};\n" + (folder / WORKER_FILE).read_text("utf-8")
    return Response(text, mimetype="text/javascript")


def offline() -> str:
    """Show what the worker shows where it has no copy: the same for every notebook."""
    return render_template("offline.html", is_demo=False, is_outside=False)
