"""A browser without a window: reads forms as HTML defines them, sends them back with right headers.

CSRF and Host checks stay on, so the token of a form must be fetched from its page, and the values
that a form sends are those that stand in it. A form that would lose something loses it here too.
Source: HTML Standard, "Constructing the entry list" (which controls are sent) and "4.10.7 The
select element" (the first option is chosen where none is marked); Fetch Metadata (headers).
Text is what a screen reader reads: of a note its words, not its sign.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser
from io import BytesIO

from flask import Flask
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

PORT = 8765
ORIGIN = f"http://127.0.0.1:{PORT}"
SAME_ORIGIN = {"Origin": ORIGIN, "Sec-Fetch-Site": "same-origin"}
VOID = frozenset({"br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"})

# What stands between the tags of these is text, so reading one changes how the parser goes on.
TEXT_ONLY = frozenset(
    {"iframe", "noembed", "noframes", "noscript", "plaintext", "script", "style", "textarea"}
    | {"title", "xmp"}
)

Attributes = dict[str, str]
_TAGS: dict[str, tuple[str, Attributes, bool]] = {}
"""Start tags by their words: the pages of all tests hold much the same ones."""


@dataclass
class Element:
    """One start tag with the text inside it."""

    tag: str
    attributes: Attributes
    text: str = ""


@dataclass
class PageForm:
    """A form: where it goes and what it would send now."""

    action: str
    method: str
    values: MultiDict[str, str] = field(default_factory=MultiDict)
    file_names: list[str] = field(default_factory=list)
    buttons: list[tuple[str, str, str]] = field(default_factory=list)


class Page(HTMLParser):
    """A page as it was answered, taken apart."""

    def __init__(self, response: TestResponse) -> None:
        super().__init__()
        self.response = response
        self.status = response.status_code
        self.html = response.get_data(as_text=True)
        self._elements: list[Element] = []
        self._masthead: list[Element] = []
        self._forms: list[PageForm] = []
        self._open: list[Element] = []
        self._open_masthead: Element | None = None
        self._select: tuple[str, list[tuple[str, bool]]] | None = None
        self._is_read = False

    @property
    def elements(self) -> list[Element]:
        """Every element but those of the head that is the same on every page."""
        self._read()
        return self._elements

    @property
    def masthead(self) -> list[Element]:
        """The elements of the head that is the same on every page."""
        self._read()
        return self._masthead

    @property
    def forms(self) -> list[PageForm]:
        """The forms, as they would be sent now."""
        self._read()
        return self._forms

    def _read(self) -> None:
        """Take the page apart at the first question."""
        if not self._is_read:
            self._is_read = True
            self.feed(self.html)
            self.close()

    @property
    def text(self) -> str:
        """All visible text, white space joined."""
        return " ".join(self._body_text().split())

    def _body_text(self) -> str:
        return "".join(each.text for each in self.elements if each.tag == "body")

    def find(self, tag: str, **attributes: str) -> list[Element]:
        """Return the elements with these attributes; `class_` asks for one class among others.

        The head that is the same on every page is left out: `find_in_masthead` looks there.
        """
        return _choose(self.elements, tag, attributes)

    def find_in_masthead(self, tag: str, **attributes: str) -> list[Element]:
        """Return the elements of the head of the page with these attributes."""
        return _choose(self.masthead, tag, attributes)

    def form(self, action_end: str = "", *, method: str = "post") -> PageForm:
        """Return the one form that goes to an address with this ending ("" for the page's own)."""
        found = [
            each
            for each in self.forms
            if each.method == method
            and (each.action.endswith(action_end) if action_end else not each.action)
        ]
        assert len(found) == 1, f"{len(found)} forms to …{action_end}: {self.forms}"
        return found[0]

    def parse_starttag(self, i: int) -> int:
        """Read a start tag; of one that stood on another page in the same words, recall it."""
        end = self.rawdata.find(">", i) + 1
        words = self.rawdata[i:end]
        if words not in _TAGS:
            reached = super().parse_starttag(i)
            tag, attributes = self._tag_read
            if reached == end and tag not in TEXT_ONLY:
                _TAGS[words] = (tag, attributes, words.endswith("/>"))
            return reached
        tag, attributes, is_closed = _TAGS[words]
        self._note(tag, attributes, is_closed=is_closed)
        return end

    def updatepos(self, i: int, j: int) -> int:
        """Count no lines: nobody asks where an element stands."""
        del i
        return j

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        """Note an element, and what it means for its form."""
        self._tag_read = (tag, {name: value or "" for name, value in attrs})
        self._note(*self._tag_read, is_closed=False)

    def handle_startendtag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        """Note an element that is closed at once, as in SVG."""
        self._tag_read = (tag, {name: value or "" for name, value in attrs})
        self._note(*self._tag_read, is_closed=True)

    def _note(self, tag: str, attributes: Attributes, *, is_closed: bool) -> None:
        element = Element(tag, attributes)
        (self._masthead if self._open_masthead else self._elements).append(element)
        if is_closed:
            return
        if tag not in VOID:
            self._open.append(element)
            if self._open_masthead is None and attributes.get("class") == "masthead":
                self._open_masthead = element
        if tag == "form":
            method = attributes.get("method", "get").lower()
            self._forms.append(PageForm(attributes.get("action", ""), method))
        elif self._forms:
            self._note_control(tag, attributes)

    def _note_control(self, tag: str, attributes: Attributes) -> None:
        form, name = self._forms[-1], attributes.get("name", "")
        if tag == "select":
            self._select = (name, [])
        elif tag == "option" and self._select is not None:
            self._select[1].append((attributes.get("value", ""), "selected" in attributes))
        elif tag == "button":
            form.buttons.append((name, attributes.get("value", ""), ""))
        elif tag == "input" and name:
            _note_input(form, name, attributes)

    def handle_endtag(self, tag: str) -> None:
        """Close an element; fields with inner text are complete now."""
        while self._open:
            element = self._open.pop()
            if element is self._open_masthead:
                self._open_masthead = None
            if self._open and not _is_a_note_as_sign(element, self._open[-1]):
                self._open[-1].text += element.text
            if element.tag == tag:
                break
        else:
            return
        if tag == "select" and self._select is not None:
            self._choose_option()
        elif tag == "textarea" and self._forms and element.attributes.get("name"):
            # A newline straight after the tag is dropped (HTML Standard, 13.1.2.5).
            self._forms[-1].values.add(element.attributes["name"], _unix(element.text))

    def _choose_option(self) -> None:
        assert self._select is not None
        name, options = self._select
        chosen = [value for value, is_chosen in options if is_chosen] or [
            value for value, _ in options[:1]
        ]
        if name and self._forms:
            self._forms[-1].values.setlist(name, chosen)
        self._select = None

    def handle_data(self, data: str) -> None:
        """Add text to the element it stands in."""
        if self._open:
            self._open[-1].text += data


def _note_input(form: PageForm, name: str, attributes: Attributes) -> None:
    kind = attributes.get("type", "text")
    if kind == "file":
        form.file_names.append(name)
    elif kind in ("checkbox", "radio"):
        if "checked" in attributes:
            form.values.add(name, attributes.get("value", "on"))
    elif kind not in ("submit", "button", "reset", "image"):
        form.values.add(name, attributes.get("value", ""))


def _unix(text: str) -> str:
    text = text.replace("\r\n", "\n")
    return text[1:] if text.startswith("\n") else text


def _choose(elements: Sequence[Element], tag: str, attributes: Mapping[str, str]) -> list[Element]:
    wanted = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
    return [each for each in elements if each.tag == tag and _matches(each, wanted)]


def _is_a_note_as_sign(element: Element, parent: Element) -> bool:
    is_hidden = element.attributes.get("aria-hidden") == "true"
    return is_hidden and parent.attributes.get("class") == "note-name"


def _matches(element: Element, wanted: Mapping[str, str]) -> bool:
    for name, value in wanted.items():
        found = element.attributes.get(name)
        if found is None or (value not in found.split() if name == "class" else value != found):
            return False
    return True


class Browser:
    """Opens pages and sends forms of one application."""

    def __init__(self, app: Flask, origin: str = ORIGIN) -> None:
        self.client = app.test_client()
        self.origin = origin

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> Page:
        """Open a page."""
        return Page(self.fetch(path, headers))

    def fetch(self, path: str, headers: Mapping[str, str] | None = None) -> TestResponse:
        """Fetch something that is no page."""
        return self.open(path, headers)

    def open(
        self, path: str, headers: Mapping[str, str] | None = None, *, method: str = "GET"
    ) -> TestResponse:
        """Ask for an address in any way, read the answer to its end and close it."""
        return self.client.open(
            path, method=method, base_url=self.origin, headers=dict(headers or {}), buffered=True
        )

    def send(
        self,
        page: Page,
        form: PageForm,
        *,
        fields: Mapping[str, str] | None = None,
        without: Sequence[str] = (),
        clip: tuple[bytes, str] | None = None,
        files: Mapping[str, Sequence[tuple[bytes, str]]] | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> TestResponse:
        """Send a form with some fields typed anew, and do not follow where it leads.

        `clip` goes into its first field of files, `files` into those that are named.
        """
        own = {**SAME_ORIGIN, "Origin": self.origin, "Referer": f"{self.origin}/"}
        values: MultiDict[str, object] = MultiDict(form.values)
        for name in without:
            values.poplist(name)
        for name, value in (fields or {}).items():
            values[name] = value
        if clip is not None:
            assert form.file_names, "this form takes no file"
            values[form.file_names[0]] = (BytesIO(clip[0]), clip[1])
        for name, chosen in (files or {}).items():
            assert name in form.file_names, f"this form takes no {name}"
            values.setlist(name, [(BytesIO(content), called) for content, called in chosen])
        return self.client.post(
            form.action or page.response.request.full_path.rstrip("?"),
            base_url=self.origin,
            data=values,
            content_type="multipart/form-data",
            buffered=True,
            headers=dict(own if headers is None else headers),
        )

    def submit(
        self,
        path: str,
        action_end: str = "",
        typed: Mapping[str, str] | None = None,
        *,
        clip: tuple[bytes, str] | None = None,
        files: Mapping[str, Sequence[tuple[bytes, str]]] | None = None,
        without: Sequence[str] = (),
        **fields: str,
    ) -> Page:
        """Open a page, send its form with what is typed in it, and go where that leads."""
        page = self.get(path)
        answer = self.send(
            page,
            page.form(action_end),
            fields={**(typed or {}), **fields},
            without=without,
            files=files,
            clip=clip,
        )
        return self.follow(answer)

    def follow(self, answer: TestResponse) -> Page:
        """Go where an answer leads."""
        if answer.status_code in (302, 303):
            return self.get(answer.headers["Location"])
        return Page(answer)
