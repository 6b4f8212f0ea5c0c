"""Every address that can be opened in a filled notebook, taken from the routes themselves."""

from collections.abc import Mapping
from itertools import product

from flask import Flask
from werkzeug.routing import Rule

from tests.webapp.logging_rows import Filled

# Every parameter of a route, with values that exist; a new parameter must be added here.
_QUERIES = {
    "search.show": ("", "?q=D5+-50", "?q=C%235&instrument=", "?q=nonsense", "?q=D", "?q=E7"),
    "layouts.add": ("", "?from=bass-low-c", "?from=nothing"),
    "layouts.chart": ("", "?paper=letter"),
    "fingerings.show": ("", "?mirrored=1&reduced=1", "?plain=1"),
    "drawings.svg": ("", "?mirrored=1&reduced=1", "?plain=1"),
    "comparing.show": (
        "",
        "?instrument=1",
        "?first=logged:1&second=logged:2",
        "?first=ordinary:E5:1",
        "?instrument=1&first=ordinary:E5:1&second=logged:1",
        "?instrument=1&first=nonsense",
    ),
    "typed_keys.read": ("", "?text=T+R+12-+%7C+1--", "?text=nonsense&base=logged:1"),
    "fingerings.log": ("", "?target=D5-50c&base=ordinary:C%235:1", "?base=ordinary:none"),
    "notes.find": ("?q=D5-50c", "?q=nonsense", ""),
    "finder.suggest": (
        "",
        "?q=D5-50c",
        "?q=nonsense",
        "?q=D5-50c&changes=9",
        "?q=D5-50c&before=C5&after=nonsense",
    ),
    "trills.show": ("", "?q=F5&to=F%235", "?q=F5&to=F5", "?q=nonsense&to=F5"),
    "colours.show": ("", "?q=C%235%2B25c", "?q=nonsense"),
    "repertory.show": ("", "?grid=48", "?grid=7"),
    "plan.show": ("", "?grid=24&low=C5&high=E5", "?grid=24&low=nonsense"),
    "range.show": ("", "?grid=48&within=8", "?grid=7", "?register=extension"),
    "range.table": ("", "?grid=12", "?within=x"),
    "recordings.show": ("", "?order=rising", "?order=nonsense&of=1"),
    "stand.show_target": ("", "?q=D5+-50", "?q=nonsense", "?q=C%235+%2B25"),
    "takes.show": ("", "?from=0.2&to=0.5&low=200&high=2000", "?from=x"),
    "take_plots.levels": ("", "?from=0.2&to=0.5"),
    "charts.show": ("", "?low=C5"),
    "charts.download": ("", "?low=nonsense", "?best=y&paper=letter"),
}


def openable_paths(app: Flask, rows: Filled) -> list[str]:
    """Return an address for every GET route, for every row it can show."""
    values: dict[str, tuple[int | str, ...]] = {
        "instrument_id": (rows.soprano, rows.bass, rows.binned_instrument),
        "fingering_id": (
            rows.base, rows.child, rows.grandchild, rows.half_hole, rows.silent, rows.on_bass,
            rows.binned_fingering,
        ),
        "practice_id": (rows.practice, 99),
        "sender_id": (rows.sender, 99),
        "received_id": (1, 99),
        "clip_id": (1, 99),
        "sha256": ("nothing",),
        "recording_id": (rows.recording, 99),
        "take_id": (rows.take, rows.noise_take, rows.binned_take),
        "layout_id": (rows.own_layout, "bass-low-c", "nothing"),
        "filename": ("css/notebook.css", "js/keys.js"),
        "name": ("regular.ttf",),
        "note": ("D5-50c", "nothing"),
        "piece_id": (1, 99),
        "file_id": (1,),
        "page": (0,),
        "run_id": (1, 99),
        "loop_id": (1, 99),
        "passage_id": (1, 99),
        "paper": ("a4", "letter"),
    }  # fmt: skip
    return [
        path + query
        for rule in app.url_map.iter_rules()
        if "GET" in (rule.methods or ())
        for path in _paths_of(app, rule, values)
        for query in _QUERIES.get(rule.endpoint, ("",))
    ]


def _paths_of(app: Flask, rule: Rule, values: Mapping[str, tuple[int | str, ...]]) -> list[str]:
    adapter = app.url_map.bind("")
    names = sorted(rule.arguments)
    return [
        adapter.build(rule.endpoint, dict(zip(names, each, strict=True)))
        for each in product(*(values[name] for name in names))
    ]
