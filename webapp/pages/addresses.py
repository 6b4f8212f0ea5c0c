"""Addresses of the application, each with the view that answers it.

A view is named here, and imported with its first request (`presenting.late`): the server answers
before all pages are loaded. The name of an address, for `url_for`, is that of its module in `pages`
and that of its view, as in `start.show`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

Views = Mapping[str, Mapping[str, str]]


@dataclass(frozen=True, slots=True)
class Address:
    """An address below the server's root, in Flask's notation, and what answers it."""

    rule: str
    methods: tuple[str, ...]
    module: str
    view: str

    @property
    def endpoint(self) -> str:
        """The name of the address, for `url_for`."""
        return f"{self.module}.{self.view}"


def list_addresses(views: Views) -> Iterator[Address]:
    """List the addresses of a table of views."""
    for module, each in views.items():
        for view, asked in each.items():
            methods, _, below_root = asked.partition(" /")
            yield Address(f"/{below_root}", tuple(methods.split()), module, view)


VIEWS: Views = {
    "start": {
        "show": "GET /",
        "help_page": "GET /help",
        "about": "GET /about",
    },
    "instruments": {
        "add": "GET POST /instruments/new",
        "show": "GET /instruments/<int:instrument_id>",
        "edit": "GET POST /instruments/<int:instrument_id>/edit",
    },
    "instrument_keys": {
        "change": "GET POST /instruments/<int:instrument_id>/keys/change",
    },
    "layouts": {
        "index": "GET /layouts/",
        "show": "GET /layouts/<layout_id>",
        "chart": "GET /layouts/<layout_id>/chart.pdf",
        "export": "GET /layouts/<layout_id>/layout.toml",
        "add": "GET POST /layouts/new",
        "edit": "GET /layouts/<layout_id>/edit",
        "change": "POST /layouts/<layout_id>/edit",
        "remove": "POST /layouts/<layout_id>/remove",
        "restore": "POST /layouts/<layout_id>/restore",
    },
    "fingerings": {
        "log": "GET POST /instruments/<int:instrument_id>/fingerings/new",
        "show": "GET /fingerings/<int:fingering_id>",
        "edit": "GET POST /fingerings/<int:fingering_id>/edit",
    },
    "typed_keys": {
        "read": "GET /instruments/<int:instrument_id>/keys",
    },
    "drawings": {
        "svg": "GET /fingerings/<int:fingering_id>/drawing.svg",
        "png": "GET /fingerings/<int:fingering_id>/drawing.png",
        "pdf": "GET /fingerings/<int:fingering_id>/drawing.pdf",
    },
    "sameness": {
        "share": "POST /fingerings/<int:fingering_id>/evidence/share",
        "keep_apart": "POST /fingerings/<int:fingering_id>/evidence/apart",
    },
    "comparing": {
        "show": "GET /compare",
    },
    "takes": {
        "attach": "POST /fingerings/<int:fingering_id>/takes",
        "show": "GET /takes/<int:take_id>",
        "clip": "GET /takes/<int:take_id>/clip",
    },
    "take_uploads": {
        "token": "GET /token.json",
        "take": "POST /fingerings/<int:fingering_id>/takes.json",
        "take_of_try": "POST /tries/<int:suggestion_id>/takes.json",
        "unsorted_take": "POST /instruments/<int:instrument_id>/takes.json",
        "take_of_suggestion": "POST /instruments/<int:instrument_id>/suggested-takes.json",
        "tuning_note": "POST /practice/<int:practice_id>/tuning-note.json",
    },
    "take_plots": {
        "levels": "GET /takes/<int:take_id>/levels.png",
        "trace_svg": "GET /takes/<int:take_id>/trace.svg",
        "trace_csv": "GET /takes/<int:take_id>/trace.csv",
        "spectrum_svg": "GET /takes/<int:take_id>/spectrum.svg",
        "spectrum_csv": "GET /takes/<int:take_id>/spectrum.csv",
    },
    "sorting": {
        "count": "POST /takes/<int:take_id>/count",
        "count_here": "POST /takes/<int:take_id>/count-here",
        "move": "POST /takes/<int:take_id>/move-entry",
        "own_entry": "POST /takes/<int:take_id>/own-entry",
        "give": "POST /takes/<int:take_id>/give",
        "undo": "POST /takes/undo-sorting",
        "unsorted": "GET /instruments/<int:instrument_id>/unsorted",
    },
    "practice": {
        "show_all": "GET POST /instruments/<int:instrument_id>/practice",
        "show": "GET /practice/<int:practice_id>",
        "end": "POST /practice/<int:practice_id>/end",
        "choose_take": "POST /practice/<int:practice_id>/tuning-take",
        "attach_note": "POST /practice/<int:practice_id>/tuning-note",
        "leave_out": "POST /practice/<int:practice_id>/tuning-notes/<int:note_id>/leave-out",
        "clip": "GET /practice/<int:practice_id>/tuning-note/clip",
    },
    "practice_list": {
        "change": "POST /practice/<int:practice_id>/facts",
        "add_by_hand": "POST /practice/<int:practice_id>/targets/typed",
        "add_from_gaps": "POST /practice/<int:practice_id>/targets/gaps",
        "add_from_tries": "POST /practice/<int:practice_id>/targets/tries",
        "add_from_unmeasured": "POST /practice/<int:practice_id>/targets/unproven",
        "practise_tries": "POST /instruments/<int:instrument_id>/tries/practise",
        "practise_notes": "POST /instruments/<int:instrument_id>/notes/practise",
        "move": "POST /targets/<int:target_id>/move",
        "remove": "POST /targets/<int:target_id>/remove",
        "settle": "POST /targets/<int:target_id>/state",
        "settle_for_script": "POST /targets/<int:target_id>/state.json",
    },
    "stand": {
        "show": "GET /practice/<int:practice_id>/stand",
        "show_fingering": "GET /fingerings/<int:fingering_id>/stand",
        "show_target": "GET /instruments/<int:instrument_id>/stand",
        "show_first_day": "GET /instruments/<int:instrument_id>/stand/first-day",
        "suggestions": "GET /instruments/<int:instrument_id>/stand/suggestions",
    },
    "recordings": {
        "show_all": "GET POST /instruments/<int:instrument_id>/recordings",
        "show": "GET /recordings/<int:recording_id>",
        "progress": "GET /recordings/<int:recording_id>/progress",
        "clip": "GET /recordings/<int:recording_id>/clip",
        "assign": "POST /recordings/<int:recording_id>/notes",
        "again": "POST /recordings/<int:recording_id>/again",
    },
    "search": {
        "show": "GET /search",
    },
    "notes": {
        "find": "GET /instruments/<int:instrument_id>/notes",
        "show": "GET /instruments/<int:instrument_id>/notes/<path:note>",
        "to_try": "GET /instruments/<int:instrument_id>/notes/<path:note>/to-try",
    },
    "choices": {
        "say": "POST /fingerings/<int:fingering_id>/word",
        "tolerate": "POST /instruments/<int:instrument_id>/tolerance",
    },
    "pieces": {
        "index": "GET /pieces/",
        "add": "GET POST /pieces/new",
        "show": "GET /pieces/<int:piece_id>",
        "table": "GET /pieces/<int:piece_id>/still-to-do.csv",
        "changes": "GET /pieces/<int:piece_id>/changes",
        "change": "GET POST /pieces/<int:piece_id>/change",
        "bring_again": "POST /pieces/<int:piece_id>/import",
        "take_instrument": "POST /pieces/<int:piece_id>/instruments/<int:instrument_id>",
        "practise": "POST /pieces/<int:piece_id>/practise/<int:instrument_id>",
    },
    "piece_questions": {
        "show": "GET /pieces/<int:piece_id>/questions/",
        "answer": "POST /pieces/<int:piece_id>/questions/<topic>",
        "again": "POST /pieces/<int:piece_id>/questions/<topic>/again",
        "change_tempo": "POST /pieces/<int:piece_id>/questions/tempo/set",
    },
    "piece_notes": {
        "show": "GET /pieces/<int:piece_id>/on/<int:instrument_id>/notes/<path:note>",
        "settle_note": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/settle",
        "open_note_again": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/open-again",
        "fix_note": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/notes/<path:note>/fix",
        "let_go": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/fixed/<int:fixed_id>/let-go",
        "enter": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/composers",
        "say_speaks": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/"
        "composers/<int:composers_id>/speaks",
        "remove": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/"
        "composers/<int:composers_id>/remove",
    },
    "piece_passages": {
        "index": "GET /pieces/<int:piece_id>/on/<int:instrument_id>/passages/",
        "choose": "POST /pieces/<int:piece_id>/on/<int:instrument_id>/passages/",
        "show": "GET /pieces/<int:piece_id>/passages/<int:passage_id>",
        "fix": "POST /pieces/<int:piece_id>/passages/<int:passage_id>/fix",
        "let_go": "POST /pieces/<int:piece_id>/passages/<int:passage_id>/let-go/<int:fixed_id>",
        "seen": "POST /pieces/<int:piece_id>/passages/<int:passage_id>/seen",
        "remove": "POST /pieces/<int:piece_id>/passages/<int:passage_id>/remove",
    },
    "piece_sheets": {
        "show": "GET /pieces/<int:piece_id>/sheets/",
        "make": "POST /pieces/<int:piece_id>/sheets/sheet.pdf",
        "forget": "POST /pieces/<int:piece_id>/sheets/<int:sheet_id>/forget",
    },
    "own_pages": {
        "show": "GET /pieces/<int:piece_id>/pages/",
        "picture": "GET /pieces/<int:piece_id>/pages/files/<int:file_id>/<int:page>",
        "add": "POST /pieces/<int:piece_id>/pages/add",
        "remove_pages": "POST /pieces/<int:piece_id>/pages/files/<int:file_id>/remove",
        "mark": "POST /pieces/<int:piece_id>/pages/marks",
        "change": "POST /pieces/<int:piece_id>/pages/marks/<int:mark_id>/change",
        "move": "POST /pieces/<int:piece_id>/pages/marks/<int:mark_id>/place.json",
        "remove": "POST /pieces/<int:piece_id>/pages/marks/<int:mark_id>/remove",
        "see": "POST /pieces/<int:piece_id>/pages/seen",
        "export": "GET /pieces/<int:piece_id>/pages/my-pages.pdf",
    },
    "run_throughs": {
        "show_all": "GET POST /pieces/<int:piece_id>/run-throughs/on/<int:instrument_id>",
        "show": "GET /pieces/<int:piece_id>/run-throughs/<int:run_id>",
        "clip": "GET /pieces/<int:piece_id>/run-throughs/<int:run_id>/clip",
        "practise": "POST /pieces/<int:piece_id>/run-throughs/<int:run_id>/practise",
        "remove": "POST /pieces/<int:piece_id>/run-throughs/<int:run_id>/remove",
    },
    "concert": {
        "show": "GET /pieces/<int:piece_id>/concert/",
        "export": "GET /pieces/<int:piece_id>/concert/concert.pdf",
    },
    "letters": {
        "show": "GET POST /pieces/<int:piece_id>/letter/<int:instrument_id>/",
        "again": "POST /pieces/<int:piece_id>/letter/<int:instrument_id>/again",
        "as_pdf": "GET /pieces/<int:piece_id>/letter/<int:instrument_id>/"
        "letter-<any(a4, letter):paper>.pdf",
        "as_text": "GET /pieces/<int:piece_id>/letter/<int:instrument_id>/letter.txt",
    },
    "finder": {
        "suggest": "GET /instruments/<int:instrument_id>/next",
    },
    "loops": {
        "show_all": "GET /instruments/<int:instrument_id>/loops",
        "keep": "POST /instruments/<int:instrument_id>/loops.json",
        "practise": "POST /instruments/<int:instrument_id>/loops/practise",
        "clip": "GET /loops/<int:loop_id>/clip",
    },
    "trills": {
        "show": "GET /instruments/<int:instrument_id>/trill",
    },
    "colours": {
        "show": "GET /instruments/<int:instrument_id>/colours",
    },
    "tries": {
        "show": "GET /instruments/<int:instrument_id>/tries",
        "decide": "POST /instruments/<int:instrument_id>/tries",
        "begin": "POST /tries/<int:suggestion_id>/try",
        "keep": "POST /tries/<int:suggestion_id>/keep",
        "wait": "POST /tries/<int:suggestion_id>/wait",
        "dismiss": "POST /tries/<int:suggestion_id>/dismiss",
    },
    "trust": {
        "show": "GET /instruments/<int:instrument_id>/predictions",
    },
    "calibration": {
        "show": "GET /instruments/<int:instrument_id>/first-day",
    },
    "key_effects": {
        "show": "GET /instruments/<int:instrument_id>/key-effects",
    },
    "plan": {
        "show": "GET /instruments/<int:instrument_id>/plan",
    },
    "range": {
        "show": "GET /instruments/<int:instrument_id>/range",
        "table": "GET /instruments/<int:instrument_id>/range.csv",
    },
    "charts": {
        "choose_instrument": "GET /charts",
        "show": "GET /instruments/<int:instrument_id>/chart",
        "download": "GET /instruments/<int:instrument_id>/chart.pdf",
        "give_up": "POST /instruments/<int:instrument_id>/chart/give-up",
    },
    "repertory": {
        "show": "GET /instruments/<int:instrument_id>/for-composers",
        "download": "GET /instruments/<int:instrument_id>/for-composers/for-composers.pdf",
        "table": "GET /instruments/<int:instrument_id>/for-composers/for-composers.csv",
    },
    "hand_on": {
        "show": "GET /instruments/<int:instrument_id>/hand-on",
        "download": "POST /instruments/<int:instrument_id>/hand-on",
        "page": "POST /instruments/<int:instrument_id>/hand-on/page",
    },
    "received": {
        "show_all": "GET /received",
        "arrive": "POST /received",
        "show_arrived": "GET /received/arriving/<sha256>",
        "keep": "POST /received/arriving/<sha256>/keep",
        "drop": "POST /received/arriving/<sha256>/throw-away",
        "show": "GET /received/<int:sender_id>",
        "table": "GET /received/<int:sender_id>/table.csv",
        "chart": "GET /received/<int:sender_id>/chart.pdf",
        "pass_along": "POST /received/<int:sender_id>/archive",
        "show_fingering": "GET /received/fingerings/<int:received_id>",
        "try_it": "POST /received/fingerings/<int:received_id>/try",
        "clip": "GET /received/recordings/<int:clip_id>",
        "accept": "POST /received/<int:sender_id>/lists/<int:list_id>/accept",
    },
    "bin": {
        "show": "GET /bin/",
        "put": "POST /bin/<kind>/<int:row_id>",
        "put_back": "POST /bin/<kind>/<int:row_id>/restore",
        "put_for_script": "POST /bin/<kind>/<int:row_id>.json",
        "put_back_for_script": "POST /bin/<kind>/<int:row_id>/restore.json",
        "empty": "POST /bin/empty",
    },
    "backup": {
        "download": "POST /backup",
        "fetch": "POST /backup/file",
        "progress": "GET /backup/progress",
        "give_up": "POST /backup/give-up",
    },
    "preferences": {
        "show": "GET POST /preferences",
    },
    "sharing": {
        "show": "GET /sharing",
        "authority": "GET /sharing/authority.crt",
        "sign_out_one": "POST /sharing/devices/<device>/forget",
        "sign_out_all": "POST /sharing/sign-everyone-out",
    },
    "web_app": {
        "manifest": "GET /app.webmanifest",
        "worker": "GET /service-worker.js",
        "offline": "GET /offline",
    },
    "assets": {
        "font": "GET /fonts/<name>",
    },
}
"""By module and name of the view: the methods, and the address."""

SHARED_VIEWS: Views = {
    "sign_in": {
        "enter": "GET POST /sign-in",
        "leave": "POST /sign-out",
    },
}
"""What only the application for other devices has."""

ASKED_BY_SCRIPTS = frozenset({"typed_keys.read", "recordings.progress"})
"""Whose refusals are JSON, though the address does not end in .json."""
