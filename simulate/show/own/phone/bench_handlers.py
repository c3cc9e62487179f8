"""What the bench page answers: a handler for each of its few addresses, behind one guard; nothing else is there."""

from __future__ import annotations

import json
import traceback
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from tornado.ioloop import IOLoop
from tornado.web import Application, HTTPError, RequestHandler

from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import entry_grid, place_of
from simulate.readings.entry.laying_out import FIELDS, UNITS_ALLOWED, laid_out
from simulate.readings.logbook.bench_sheet import (
    KIND,
    NOTE,
    Sheet,
    as_entry,
    begin_sheet,
    book_beside,
    check_typed,
    emptied,
    put_sheet_away,
    save_sheet,
    sheets,
    type_into,
)
from simulate.readings.logbook.draft import Draft, drafts
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.logbook import LogbookError
from simulate.readings.table.units import SMALL
from simulate.show.drawing import style
from simulate.show.own.phone.bench_words import shown, state, told
from simulate.show.own.phone.door import Door, Visitor
from simulate.show.own.workshop.report import parts_html
from simulate.show.own.workshop.report_content import finding_parts
from simulate.show.units.finding_words import KIND_WORDS
from simulate.show.units.switch import REMEMBERED, chosen_units

HERE = Path(__file__).resolve().parent
BODY_BYTES = 64_000
"""Of one request."""
COOKIE = "bench"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
"""The page runs its own script and nothing else, and asks nobody but this computer."""
_FIRST = {"mm": ("um", "mm"), "inch": ("thou", "in")}
_PRINTS = ("bars", "plates")
MOST_WAITING = 4
"""So many findings wait to be worked out at once."""
_SETS_BACK = 12
"""So many of the logbook's last sets are offered."""


@dataclass(kw_only=True)
class Bench:
    """What the handlers share.

    `folder`: where logbook and drafts lie. `host`: address and port as a page has to name them. `came`: told when a
    code was used. `waiting`: findings that are asked for and not yet worked out. `worker`: one at a time works findings
    out, while the page goes on taking figures.
    """

    folder: Path
    logbook: Path
    host: str
    door: Door
    came: Callable[[], None] = lambda: None
    waiting: int = 0
    worker: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(max_workers=1))

    def units(self) -> str:
        """Return the units that the switch of the lessons was left at."""
        return chosen_units(None, self.folder / REMEMBERED)

    def sheet(self, identity: str) -> Sheet:
        """Return an open sheet: it is looked for among those that are there, and never made a path of."""
        found = next((one for one in sheets(self.folder) if one.identity == identity), None)
        if found is None:
            raise HTTPError(404)
        return found

    def book(self) -> tuple[tuple[Entry, ...], str]:
        """Return the sets of the logbook, and why there are none where it cannot be read."""
        try:
            return book_beside(self.logbook), ""
        except LogbookError as refused:
            return (), str(refused)


@cache
def _rooms() -> Environment:
    return Environment(loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined)


class _Guarded(RequestHandler):
    """Looks at every request before anything of it is taken: whence, how often, who."""

    bench: Bench
    visitor: Visitor | None = None
    open_to_all = False

    def initialize(self, bench: Bench) -> None:
        """Hold what the handlers share."""
        self.bench = bench

    def set_default_headers(self) -> None:
        """Say in every answer what a browser may do with it."""
        self.clear_header("Server")
        for name, value in (
            ("Content-Security-Policy", POLICY),
            ("X-Content-Type-Options", "nosniff"),
            ("X-Frame-Options", "DENY"),
            ("Referrer-Policy", "same-origin"),
            ("Cross-Origin-Opener-Policy", "same-origin"),
            ("Cross-Origin-Resource-Policy", "same-origin"),
            ("Permissions-Policy", "camera=(), microphone=(), geolocation=()"),
            ("Cache-Control", "no-store"),
        ):
            self.set_header(name, value)

    def prepare(self) -> None:
        """Refuse what comes from elsewhere, too often, or from nobody known."""
        if not self.bench.door.lets(self.request.remote_ip or ""):
            raise HTTPError(429)
        if self.request.headers.get_list("Host") != [self.bench.host]:
            raise HTTPError(421)
        if self.request.method not in ("GET", "POST"):
            raise HTTPError(405)
        if self.request.method == "POST":
            self._from_own_page()
        self.visitor = self.bench.door.visitor(self.get_cookie(COOKIE) or "")
        if self.visitor is None and not self.open_to_all:
            raise HTTPError(403)

    def _from_own_page(self) -> None:
        """Let only a page of this server send anything: a browser names the page's origin, and no page can forge it."""
        if self.request.headers.get_list("Origin") != [f"http://{self.bench.host}"]:
            raise HTTPError(403)
        if self.request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
            raise HTTPError(403)
        kind = self.request.headers.get("Content-Type", "").partition(";")[0].strip().lower()
        if kind not in ("application/x-www-form-urlencoded", "application/json", ""):
            raise HTTPError(415)

    def page(self, template: str, **words: Any) -> None:
        """Answer with a page; every word in it is escaped."""
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(_rooms().get_template(template).render(**words))

    def said(self, name: str) -> str:
        """Return one field of a form, the last where it stands there twice; empty where it does not."""
        return self.get_body_argument(name, "", strip=False)

    def see(self, address: str) -> None:
        """Lead the page on, with the method by which pages are looked at."""
        self.redirect(address, status=303)

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        """Say in a page what went wrong; a fault of the course shows its lines in the terminal and never here."""
        error = kwargs["exc_info"][1] if "exc_info" in kwargs else None
        if status_code == 429:
            self.set_header("Retry-After", "2")
        if isinstance(error, Refusal):
            self.set_status(409)
            self._refuse(str(error))
            return
        heading, words = _ANSWERS.get(status_code, _ANSWERS[500 if status_code >= 500 else 404])
        self.page("word.html.j2", heading=heading, words=words, code="", back=self.visitor is not None)

    def _refuse(self, why: str) -> None:
        self.page("word.html.j2", heading="Not possible", words=why, code="", back=True)

    def log_exception(self, typ, value, tb) -> None:
        """Show a fault of the course in the terminal; what was refused is no fault."""
        if not isinstance(value, (HTTPError, Refusal)):
            traceback.print_exception(typ, value, tb)


_ANSWERS = {
    400: (
        "Not understood",
        "The computer could not read what was sent. Go back and try again; what you typed is still on this phone.",
    ),
    403: (
        "The page is closed",
        "It opens with the code on the screen of the computer, once for each phone. Press Enter there for "
        "a new one, and scan it.",
    ),
    404: ("Not here", "There is no such page, or the set was put away."),
    405: ("Not here", "This page takes readings and shows what they say, and nothing else."),
    413: ("Too long", "The page takes less than that at once. Go back and send a shorter text."),
    415: ("Not understood", "The page takes only what its own forms send. Open the set again on this page."),
    421: ("Another address", "The page answers only at the address on the computer's screen. Scan the code there."),
    429: ("Too many requests", "Wait a few seconds, then try again. What you typed is still there."),
    500: (
        "A fault of the course",
        "The mistake is ours, and its details are in the terminal of the computer. What was typed is kept.",
    ),
}


class _Nowhere(_Guarded):
    """Every other address."""

    open_to_all = True

    def prepare(self) -> None:
        """Say the same to whoever is not known, whether there is such a page or not."""
        super().prepare()
        raise HTTPError(404 if self.visitor else 403)


class _Fixed(_Guarded):
    """Style and scripts: three files of the course, by their names alone."""

    open_to_all = True

    def get(self, name: str) -> None:
        """Give one of them."""
        kind = "text/css" if name.endswith(".css") else "text/javascript"
        self.set_header("Content-Type", f"{kind}; charset=utf-8")
        self.finish(_fixed()[name])


@cache
def _fixed() -> dict[str, bytes]:
    paths = (HERE / "bench.css", HERE / "bench.js", HERE.parent / "entry" / "pointed.js")
    return {path.name: path.read_bytes() for path in paths}


class _Join(_Guarded):
    """The code that stands on the computer's screen, exchanged for a session once."""

    open_to_all = True

    def get(self, code: str) -> None:
        """Ask whether to begin: a phone that only looks ahead at an address does not use the code up."""
        if self.visitor is not None:
            self.see("/")
            return
        if not self.bench.door.fits(code):
            raise HTTPError(403)
        words = "This phone then shows your readings, and writes into your logbook where you press Save."
        self.page("word.html.j2", heading="At the bench", words=words, code=code, back=False)

    def post(self, code: str) -> None:
        """Let the phone in."""
        word = self.bench.door.enter(code)
        if word is None:
            raise HTTPError(403)
        self.set_cookie(COOKIE, word, path="/", httponly=True, samesite="Strict", max_age=24 * 3600)
        self.bench.came()
        self.see("/")


class _Sets(_Guarded):
    """What may be gone on with, and what may be begun."""

    def get(self) -> None:
        """Show the list."""
        book, trouble = self.bench.book()
        told_once, self.visitor.told = self.visitor.told, ""
        self.page(
            "sets.html.j2",
            told=told_once,
            open=[_listed(sheet, book) for sheet in sheets(self.bench.folder)],
            kinds=[(kind, KIND_WORDS[kind]) for kind in FIELDS],
            before=_before(book),
            typed=[one for draft in _lab_drafts(self.bench.folder) if (one := _of_draft(draft))],
            trouble=trouble,
        )


def _listed(sheet: Sheet, book: tuple[Entry, ...]) -> dict:
    now = shown(sheet)
    return {
        "identity": sheet.identity,
        "name": sheet.name,
        "kind": KIND_WORDS[sheet.grid().kind],
        "filled": now.filled,
        "of": now.of,
        "saved": _saved_words(sheet, book),
    }


def _saved_words(sheet: Sheet, book: tuple[Entry, ...]) -> str:
    number = next((k for k, entry in enumerate(book, 1) if entry.identity == sheet.own), 0)
    if not number or not sheet.saved:
        return ""
    same = book[number - 1].readings == sheet.readings()
    return f"saved as set {number}" if same else f"changed since it was saved as set {number}"


def _before(book: tuple[Entry, ...]) -> list[dict]:
    """The logbook's last sets that a grid shows, the newest first."""
    found = []
    for number, entry in reversed(list(enumerate(book, 1))):
        kind = _kind_of(entry.readings)
        if kind and not entry.struck and len(found) < _SETS_BACK:
            of = {"number": number, "name": entry.name, "taken": entry.taken}
            found.append({**of, "identity": entry.identity, "kind": KIND_WORDS[kind]})
    return found


def _kind_of(text: str) -> str:
    try:
        return entry_grid(text).kind
    except Refusal:
        return ""


def _lab_drafts(folder: Path) -> list[Draft]:
    """What was typed in the Lab and not saved."""
    own = f"my_draft_{KIND}"
    return [one for one in drafts("", folder) if not one.path.name.startswith(own) and one.fields.get("typed")]


def _of_draft(draft: Draft) -> dict | None:
    kind = _kind_of(draft.fields["typed"])
    if not kind:
        return None
    places = [place for row in entry_grid(draft.fields["typed"]).places for place in row if not place.closed]
    filled = sum(bool(place.typed) for place in places)
    of = {"identity": draft.path.name, "kind": KIND_WORDS[kind], "taken": draft.written}
    return {**of, "filled": filled, "of": len(places)}


class _New(_Guarded):
    """A new set, laid out by the fields of its kind."""

    def get(self) -> None:
        """Show the fields."""
        kind = self.get_query_argument("kind", "")
        if kind not in FIELDS:
            raise HTTPError(404)
        self._show(kind, {}, "")

    def post(self) -> None:
        """Lay it out, or say what cannot be taken and show again what was typed."""
        kind = self.said("kind")
        if kind not in FIELDS:
            raise HTTPError(404)
        long = "in" if self.bench.units() == "inch" else "mm"
        remarks = [f"{name}: {self.said(name)}" for name in ("division", "film") if self.said(name).strip()]
        if any("\n" in one or "\r" in one for one in remarks):
            raise HTTPError(400)
        fields = {field.name: self.said(field.name) for field in FIELDS[kind]}
        try:
            text = laid_out(kind, self.said("unit"), long, remarks, **fields)
            sheet = begin_sheet(self.bench.folder, text, self.said("name"))
        except Refusal as why:
            self.set_status(409)
            self._show(kind, {name: self.said(name) for name in self.request.body_arguments}, str(why))
            return
        self.see(f"/set/{sheet.identity}")

    def _show(self, kind: str, typed: dict[str, str], why: str) -> None:
        units = self.bench.units()
        words = {"long": "in" if units == "inch" else "mm", "small": style.small_unit(units)}
        allowed = UNITS_ALLOWED.get(kind, SMALL)
        usual = next((unit.name for unit in allowed if unit.name in _FIRST[units]), allowed[0].name)
        self.page(
            "layout.html.j2",
            kind=kind,
            words=KIND_WORDS[kind],
            why=why,
            fields=[
                (
                    one.name,
                    one.label.format(**words),
                    typed.get(one.name, one.inch if units == "inch" else one.mm),
                )
                for one in FIELDS[kind]
            ],
            units=[(unit.name, unit.said) for unit in allowed],
            unit=typed.get("unit", usual),
            prints=kind in _PRINTS,
            **{name: typed.get(name, "") for name in ("division", "film", "name")},
        )


class _Follow(_Guarded):
    """A set of the logbook, read again or gone on with, or a draft of the Lab."""

    def post(self) -> None:
        """Begin its sheet, or open the one that goes on with it already."""
        folder, way = self.bench.folder, self.said("way")
        if way == "draft":
            asked = self.said("draft")
            draft = next((one for one in _lab_drafts(folder) if one.path.name == asked), None)
            if draft is None:
                raise HTTPError(404)
            sheet = begin_sheet(folder, draft.fields["typed"], draft.fields.get("work", ""))
        else:
            book, _ = self.bench.book()
            entry = next((one for one in book if one.identity == self.said("set")), None)
            if entry is None or way not in ("again", "on"):
                raise HTTPError(404)
            going = next((one for one in sheets(folder) if one.own == entry.identity), None)
            if way == "again":
                sheet = begin_sheet(folder, emptied(entry.readings), entry.name, after=entry.identity)
            else:
                sheet = going or begin_sheet(folder, entry.readings, entry.name, own=entry.identity)
        self.see(f"/set/{sheet.identity}")


class _Set(_Guarded):
    """The cells of one set."""

    def get(self, identity: str) -> None:
        """Show the grid with one cell to type into."""
        sheet = self.bench.sheet(identity)
        now = shown(sheet)
        order = now.order(now.across)
        if not order:
            raise HTTPError(404)
        way = self.get_query_argument("way", "across" if now.across else "down")
        every = {cell.at: cell for cell in now.cells() if not cell.closed}
        first = next((at for at in order if not every[at].words), order[0])
        cell = every.get(self.get_query_argument("at", first), every[first])
        self.page(
            "entry.html.j2",
            identity=sheet.identity,
            name=sheet.name,
            now=now,
            cell=cell,
            across=way == "across",
            wrong=[one for one in now.cells() if one.wrong and one.at != cell.at],
        )

    def post(self, identity: str) -> None:
        """Take one cell from a page that runs no script, and lead on to the next."""
        sheet = self.bench.sheet(identity)
        at, words, go = self.said("at"), self.said("figure"), self.said("go")
        if words != self.said("was") or go == "keep":
            type_into(sheet, self.visitor.hand, {at: (words, _whole(self.said("seen")))})
        across = self.said("way") == "across"
        order = shown(sheet).order(across)
        if go == "read":
            self.see(f"/set/{sheet.identity}/told")
            return
        here = order.index(at) if at in order else 0
        there = min(max(here + {"back": -1, "keep": 0}.get(go, 1), 0), len(order) - 1)
        self.see(f"/set/{sheet.identity}?at={order[there]}&way={'across' if across else 'down'}")


def _whole(words: Any) -> int:
    """Read a version as a page sends it back; 0 where it is none."""
    words = str(words)
    return int(words) if words.isascii() and words.isdigit() and len(words) < 20 else 0


class _State(_Guarded):
    """What the page follows while others type, and where it sends what is typed."""

    def get(self, identity: str) -> None:
        """Give every cell as it is now."""
        self._answer(state(self.bench.sheet(identity)))

    def _answer(self, told_now: dict) -> None:
        self.set_header("Content-Type", "application/json")
        self.finish(json.dumps(told_now))


class _Cells(_State):
    """Takes cells from the page's script."""

    def get(self, identity: str) -> None:
        """Nothing is to be had here."""
        raise HTTPError(405)

    def post(self, identity: str) -> None:
        """Write what was typed down, and give every cell as it is then; one that is refused keeps no other back."""
        sheet = self.bench.sheet(identity)
        cells, refused = _cells_sent(self.request.body), {}
        for at, (words, _) in cells.items():
            try:
                check_typed(sheet, at, words)
            except Refusal as why:
                refused[at] = str(why)
        if len(refused) < len(cells):
            type_into(sheet, self.visitor.hand, {at: one for at, one in cells.items() if at not in refused})
        if refused:
            self.set_status(409)
        more = {"why": " ".join(dict.fromkeys(refused.values())), "refused": refused} if refused else {}
        self._answer(state(self.bench.sheet(identity)) | more)

    def _refuse(self, why: str) -> None:
        self._answer({"why": why})


def _cells_sent(body: bytes) -> dict[str, tuple[str, int]]:
    """Take cells out of what a page sent; anything else is none."""
    try:
        sent = json.loads(body)["cells"]
        pairs = [(at, words, seen) for at, (words, seen) in sent.items() if isinstance(sent[at], list)]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise HTTPError(400) from None
    if not pairs or len(pairs) < len(sent) or not all(isinstance(words, str) for _, words, _ in pairs):
        raise HTTPError(400)
    return {at: (words, _whole(seen)) for at, words, seen in pairs}


class _Told(_Guarded):
    """What the readings of a set say."""

    async def get(self, identity: str) -> None:
        """Work them out, while the page goes on taking figures."""
        sheet, units = self.bench.sheet(identity), self.bench.units()
        book, trouble = self.bench.book()
        if self.bench.waiting >= MOST_WAITING:
            raise HTTPError(429)
        self.bench.waiting += 1
        try:
            found, parts = await IOLoop.current().run_in_executor(self.bench.worker, _worked_out, sheet, book, units)
        finally:
            self.bench.waiting -= 1
        now = shown(sheet)
        done, self.visitor.told = self.visitor.told, ""
        otherwise = sheet.otherwise()
        self.page(
            "told.html.j2",
            identity=sheet.identity,
            name=sheet.name,
            version=now.version,
            filled=now.filled,
            of=now.of,
            told=found,
            parts=parts,
            done=done,
            note=as_entry(sheet, book).note,
            note_also=otherwise.get(NOTE, ()),
            also=sum(place_of(at) is not None for at in otherwise),
            saved=trouble or _saved_words(sheet, book),
        )


def _worked_out(sheet: Sheet, book: tuple[Entry, ...], units: str):
    """What the readings say, and all of it as parts of a page."""
    found = told(sheet, book, units)
    parts = finding_parts(found.found, units, picture=False) if found.found else ()
    return found, Markup(parts_html(parts, 3)) if parts else ""  # noqa: S704 - escaped where it was made


class _Save(_Guarded):
    """Saves a set into the logbook."""

    def post(self, identity: str) -> None:
        """Save it, and show again what it says."""
        sheet = self.bench.sheet(identity)
        note = self.said("note").replace("\r\n", "\n")
        if note != self.said("was").replace("\r\n", "\n"):
            type_into(sheet, self.visitor.hand, {NOTE: (note, _whole(self.said("seen")))})
            sheet = self.bench.sheet(identity)
        number = save_sheet(sheet, self.bench.logbook)
        self.visitor.told = f"Saved in {self.bench.logbook.name} as set {number}."
        self.see(f"/set/{sheet.identity}/told")


class _Away(_Guarded):
    """Puts a set away."""

    def post(self, identity: str) -> None:
        """Keep its drafts under other names, and show the list."""
        sheet = self.bench.sheet(identity)
        put_sheet_away(sheet)
        self.visitor.told = f"{sheet.name} is put away; its drafts are kept on the computer."
        self.see("/")


def application(bench: Bench) -> Application:
    """Give the few addresses that there are."""
    name = r"/set/([0-9a-f]{32})"
    shared = {"bench": bench}
    return Application(
        [
            (r"/", _Sets, shared),
            (r"/(bench\.css|bench\.js|pointed\.js)", _Fixed, shared),
            (r"/join/([a-z0-9]{1,64})", _Join, shared),
            (r"/new", _New, shared),
            (r"/follow", _Follow, shared),
            (name, _Set, shared),
            (name + "/state", _State, shared),
            (name + "/cells", _Cells, shared),
            (name + "/told", _Told, shared),
            (name + "/save", _Save, shared),
            (name + "/away", _Away, shared),
        ],
        default_handler_class=_Nowhere,
        default_handler_args=shared,
        log_function=lambda handler: None,
        serve_traceback=False,
        compress_response=False,
    )
