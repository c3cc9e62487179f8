"""Whoever tries to get past the door of the bench page finds it shut: no code, old codes, paths, large bodies, other
sites, scripts in names and notes."""

import asyncio
import http.client
import json
import re
import socket
import threading
import time
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

import pytest
from tornado.netutil import bind_sockets

from simulate.core.refusal import Refusal
from simulate.readings.entry.laying_out import laid_out
from simulate.readings.logbook.bench_sheet import begin_sheet, sheets
from simulate.readings.logbook.draft import write_draft
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.logbook import open_logbook, save_logbook
from simulate.show.own.phone.bench_handlers import BODY_BYTES, COOKIE, MOST_WAITING, POLICY, Bench
from simulate.show.own.phone.bench_page import local_address, own_address, serve, server_of, show_code
from simulate.show.own.phone.door import (
    ALL_BURST,
    BURST,
    CODE_S,
    MOST_PHONES,
    PER_S,
    SESSION_S,
    WRONG_CODES,
    Door,
)

EMPTY = laid_out("bars", "um", bodies="A, B, C", stations="0 to 100 every 50", pairs="")
SCRIPT = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{1234*5678}}"


class Served:
    """A bench page on a port of its own, asked by a client that sends whatever a test wants."""

    def __init__(self, folder: Path, door: Door) -> None:
        self.folder, self.door, self.host, self.cookie = folder, door, "", ""
        self._ready, self._over = threading.Event(), None
        self._thread = threading.Thread(target=lambda: asyncio.run(self._serve()), daemon=True)
        self._thread.start()
        assert self._ready.wait(20)

    async def _serve(self) -> None:
        self._loop, self._over = asyncio.get_running_loop(), asyncio.Event()
        doors = bind_sockets(0, "127.0.0.1")
        self.host = f"127.0.0.1:{doors[0].getsockname()[1]}"
        bench = self.bench = Bench(
            folder=self.folder, logbook=self.folder / "my_logbook.json", host=self.host, door=self.door
        )
        server = server_of(bench)
        server.add_sockets(doors)
        self._ready.set()
        await self._over.wait()
        server.stop()

    def close(self) -> None:
        self._loop.call_soon_threadsafe(self._over.set)
        self._thread.join(10)

    def ask(self, method, path, body=None, cookie=None, **headers):
        """Ask once; a header that is None is left out. Returns status, headers and text."""
        own = {"Host": self.host, "Cookie": f"{COOKIE}={self.cookie if cookie is None else cookie}"}
        if method != "GET":
            own |= {"Origin": f"http://{self.host}", "Content-Type": "application/x-www-form-urlencoded"}
        own |= {name.replace("_", "-"): value for name, value in headers.items()}
        link = http.client.HTTPConnection(self.host, timeout=30)
        try:
            link.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in own.items():
                if value is not None:
                    link.putheader(name, value)
            data = urlencode(body).encode() if isinstance(body, dict) else body
            if data is not None and "Content-Length" not in own:
                link.putheader("Content-Length", str(len(data)))
            link.endheaders(data)
            answer = link.getresponse()
            return answer.status, answer.headers, answer.read().decode("utf-8", "replace")
        finally:
            link.close()

    def come_in(self) -> str:
        code = self.door.new_code()
        status, headers, _ = self.ask("POST", f"/join/{code}", {}, cookie="")
        assert status == 303 and headers["Location"] == "/"
        self.cookie = re.match(rf"{COOKIE}=([^;]+)", headers["Set-Cookie"])[1]
        return headers["Set-Cookie"]

    def cells(self, sheet, cells):
        return self.ask("POST", f"/set/{sheet}/cells", json.dumps({"cells": cells}).encode(),
                        Content_Type="application/json")  # fmt: skip


@pytest.fixture
def page(tmp_path):
    served = Served(tmp_path, Door())
    yield served
    served.close()


@pytest.fixture
def inside(page):
    page.come_in()
    return page


class Tags(HTMLParser):
    """Every tag and attribute of a page, and where its scripts come from."""

    def __init__(self):
        super().__init__()
        self.tags, self.attributes, self.scripts = set(), set(), []

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag == "script":
            self.scripts.append(dict(attrs).get("src"))


def addresses(sheet="0" * 32):
    return ["/", "/new?kind=bars", f"/set/{sheet}", f"/set/{sheet}/state", f"/set/{sheet}/told"]


def sends(sheet="0" * 32):
    return ["/new", "/follow", *(f"/set/{sheet}{act}" for act in ("", "/cells", "/save", "/away"))]


def test_without_a_code_nothing_is_shown_taken_or_told_apart(page):
    sheet = begin_sheet(page.folder, EMPTY, "secret bars").identity
    held = {path.name: path.read_bytes() for path in page.folder.iterdir()}
    told = set()
    for way, paths in (("GET", [*addresses(sheet), *addresses(), "/nothing"]), ("POST", [*sends(sheet), *sends()])):
        for path in paths:
            for cookie in ("", "x", "a" * 43):
                status, headers, text = page.ask(way, path, b"" if way == "POST" else None, cookie=cookie)
                assert status == 403 and "secret" not in text and "Set-Cookie" not in headers, path
                told.add(text)
    assert len(told) == 1  # a set that is there and one that is not look alike
    assert {path.name: path.read_bytes() for path in page.folder.iterdir()} == held


def test_a_code_opens_once_and_looking_at_its_page_does_not_use_it_up(page):
    code = page.door.new_code()
    assert [page.ask("GET", f"/join/{code}", cookie="")[0] for _ in range(3)] == [200] * 3
    assert page.ask("POST", f"/join/{code}", {}, cookie="")[0] == 303
    assert page.ask("POST", f"/join/{code}", {}, cookie="")[0] == 403
    assert page.ask("GET", f"/join/{code}", cookie="")[0] == 403


def test_the_cookie_is_kept_from_scripts_and_from_other_sites(page):
    cookie = page.come_in()
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Path=/" in cookie
    assert page.ask("GET", "/")[0] == 200


def test_an_old_code_a_replaced_one_and_one_beside_it_stay_shut():
    now = [0.0]
    door = Door(clock=lambda: now[0])
    first = door.new_code()
    now[0] = CODE_S + 1
    assert door.enter(first) is None
    second, third = door.new_code(), door.new_code()
    assert door.enter(second) is None and door.enter(third[:-1]) is None and door.enter("") is None
    assert door.enter(third) is not None
    code = door.new_code()
    for _ in range(WRONG_CODES):
        assert not door.fits("a" * 16)
    assert door.enter(code) is None  # void after so many guesses


def test_a_session_ends_after_a_day_and_only_so_many_phones_are_in():
    now = [0.0]
    door = Door(clock=lambda: now[0])
    words = []
    for _ in range(MOST_PHONES + 1):
        now[0] += 1
        words.append(door.enter(door.new_code()))
    assert door.visitor(words[0]) is None and all(door.visitor(word) for word in words[1:])
    assert len({door.visitor(word).hand for word in words[1:]}) == MOST_PHONES
    now[0] += SESSION_S + 1
    assert not any(door.visitor(word) for word in words[1:])


def test_too_much_at_once_is_refused_and_let_in_again_later():
    now = [0.0]
    door = Door(clock=lambda: now[0])
    assert [door.lets("one") for _ in range(BURST + 5)] == [True] * BURST + [False] * 5
    now[0] = 1.0
    assert sum(door.lets("one") for _ in range(BURST)) == PER_S
    assert sum(door.lets(f"address {k}") for k in range(3 * ALL_BURST)) <= ALL_BURST  # from many addresses at once
    now[0] = 60.0
    assert door.lets("another")


def test_a_flood_is_answered_with_wait_and_the_server_goes_on(inside):
    every = [inside.ask("GET", "/bench.css", X_Forwarded_For=f"10.0.0.{k}") for k in range(BURST + 40)]
    assert {status for status, _, _ in every} == {200, 429}
    assert all(headers["Retry-After"] == "2" for status, headers, _ in every if status == 429)
    time.sleep(0.3)  # the bucket fills by the clock
    assert inside.ask("GET", "/bench.css")[0] == 200


@pytest.mark.parametrize(
    "path",
    [
        "/../my_logbook.json", "/..%2fmy_logbook.json", "/%2e%2e/my_logbook.json", "/my_logbook.json",
        "//my_logbook.json", "/bench.css/../my_logbook.json", "/bench.css%00", "/bench.js.map", "/static/bench.js",
        "/set/../../my_logbook.json",
        "/set/my_draft_phone", "/set/%2e%2e%2f%2e%2e", "/set/" + "0" * 31, "/set/" + "0" * 32 + "/../state",
        "/set/" + "A" * 32, "/join/../", "/join/" + "a" * 65, "/lab", "/api/kernels", "/api/contents", "/notebooks",
        "/\\..\\my_logbook.json", "/C:/my_logbook.json", "/?file=my_logbook.json/..", "/new?kind=../bars", "/new?kind=",
    ],
)  # fmt: skip
def test_no_address_leads_to_a_file_a_kernel_or_the_lab(inside, path):
    save_logbook(inside.folder / "my_logbook.json", [Entry("a secret reading", "secret")])
    status, _, text = inside.ask("GET", path)
    assert "a secret reading" not in text and "workshop-logbook" not in text
    assert status in (403, 404) or (status == 200 and path.startswith("/?"))


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "HEAD", "CONNECT"])
def test_other_ways_of_asking_are_none(inside, method):
    for path in ("/", f"/set/{'0' * 32}/cells", "/nothing"):
        assert inside.ask(method, path, b"")[0] in (400, 405)


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": None}, {"Origin": "http://127.0.0.1"},
        {"Origin": "https://HOST"}, {"Origin": "http://HOST.evil.example"}, {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"}, {"Content-Type": "text/plain"},
        {"Content-Type": "multipart/form-data; boundary=x"},
    ],
)  # fmt: skip
def test_another_site_can_send_nothing_even_with_the_cookie(inside, headers):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    own = {name: value and value.replace("HOST", inside.host) for name, value in headers.items()}
    body = json.dumps({"cells": {"0,0": ["666", "0"]}}).encode()
    for path in sends(sheet):
        given = own if "cells" not in path or "Content-Type" in own else own | {"Content-Type": "application/json"}
        assert inside.ask("POST", path, body, **given)[0] in (400, 403, 415), path
    assert sheets(inside.folder)[0].hands == {} and not (inside.folder / "my_logbook.json").exists()
    code = inside.door.new_code()
    assert inside.ask("POST", f"/join/{code}", b"", cookie="", **own)[0] in (400, 403, 415)
    assert inside.door.fits(code)  # and the code was not used up by it


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "localhost:PORT", "evil.example:PORT", "", None])
def test_a_name_that_was_led_to_this_address_is_not_answered(inside, host):
    told = host and host.replace("PORT", inside.host.partition(":")[2])
    status, _, text = inside.ask("GET", "/", Host=told)
    assert status in (400, 421) and "At the bench" not in text


def test_two_hosts_in_one_request_are_none(inside):
    with socket.create_connection(inside.host.split(":"), 10) as link:
        link.sendall(
            f"GET / HTTP/1.1\r\nHost: {inside.host}\r\nHost: evil.example\r\n"
            f"Cookie: {COOKIE}={inside.cookie}\r\nConnection: close\r\n\r\n".encode()
        )
        assert link.makefile("rb").readline().split()[1] in (b"400", b"421")


def test_large_bodies_and_heads_are_cut_off_and_leave_nothing(inside):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    path = f"/set/{sheet}/cells"
    cell = b'{"cells": {"0,0": ["12", "0"]}}'
    chunks = b"".join(b"%x\r\n%s\r\n" % (len(part), part) for part in (cell, *[b" " * 30_000] * 5)) + b"0\r\n\r\n"
    for headers, body in (
        ({}, cell + b" " * BODY_BYTES),  # a cell that would be taken if it were not so large
        ({"Transfer-Encoding": "chunked", "Content-Length": None}, chunks),
        ({"Content-Length": str(10**12)}, b"x"),
        ({"Content-Length": "-1"}, b"x"),
        ({"Transfer-Encoding": "chunked", "Content-Length": None}, b"ffffff\r\n" + b"x" * 200_000),
        ({"X-Long": "x" * 40_000}, b"{}"),
    ):
        try:
            status = inside.ask("POST", path, body, Content_Type="application/json", **headers)[0]
        except (OSError, http.client.HTTPException):  # the server hung up on it
            status = 400
        assert status in (400, 413, 431)
    assert inside.ask("GET", f"/set/{sheet}")[0] == 200
    assert sheets(inside.folder)[0].hands == {}


@pytest.mark.parametrize(
    "body",
    [
        b"", b"[]", b"null", b"{}", b'{"cells": 3}', b'{"cells": {"0,0": "12"}}', b'{"cells": {"0,0": ["1","2","3"]}}',
        b"[" * 30_000, b"\xff\xfe{", b'{"cells": {"0,0": [' + b"9" * 5000 + b', "0"]}}', b"cells=1",
    ],
)  # fmt: skip
def test_what_is_no_cell_is_refused_without_a_fault(inside, body, capfd):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    status, _, text = inside.ask("POST", f"/set/{sheet}/cells", body, Content_Type="application/json")
    assert status in (400, 409) and "Traceback" not in text
    assert "Traceback" not in capfd.readouterr().err
    assert sheets(inside.folder)[0].hands == {}


def test_a_cell_that_is_none_of_the_sheet_or_too_long_is_told_in_a_sentence(inside):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    for cells in ({"../../x": ["1", "0"]}, {"0,0": ["1" * 41, "0"]}, {"note": ["1" * 2001, "0"]}, {"7,7": ["1", "0"]}):
        status, _, text = inside.cells(sheet, cells)
        assert status == 409 and json.loads(text)["why"].endswith(".")
    assert sorted(path.name for path in inside.folder.iterdir()) == [f"my_draft_phone_{sheet}.json"]


def test_one_refused_cell_keeps_no_other_back_and_is_named(inside):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    status, _, text = inside.cells(sheet, {"0,0": ["1" * 41, "0"], "1,0": ["12", "0"], "note": ["cold", "0"]})
    told = json.loads(text)
    assert status == 409 and list(told["refused"]) == ["0,0"] and "41 characters" in told["why"]
    assert told["cells"]["1,0"] == "12" and told["cells"]["0,0"] == ""
    assert {at: one.words for at, one in sheets(inside.folder)[0].latest().items()} == {"1,0": "12", "note": "cold"}


@pytest.mark.parametrize(("body", "more", "status", "words"), [
    (b"[]", {"Content_Type": "application/json"}, 400, "could not read what was sent"),
    (b"<x/>", {"Content_Type": "text/xml"}, 415, "only what its own forms send"),
    (b"", {"Host": "evil.example"}, 421, "only at the address on the computer"),
])  # fmt: skip
def test_what_the_page_does_not_take_is_refused_in_words_of_its_own(inside, body, more, status, words):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    told, _, text = inside.ask("POST", f"/set/{sheet}/cells", body, **more)
    assert told == status and words in text and "There is no such page" not in text


def test_scripts_in_names_notes_and_cells_stay_words_on_every_page(inside):
    name = SCRIPT[:80]
    laid = {
        "kind": "bars",
        "bodies": f"{SCRIPT[:25]}, B, C",
        "stations": "0 to 100 every 50",
        "pairs": "",
        "unit": "um",
    }
    status, headers, _ = inside.ask("POST", "/new", laid | {"name": name})
    assert status == 303
    sheet = headers["Location"].rpartition("/")[2]
    assert inside.cells(sheet, {"0,0": [SCRIPT[:40], "0"], "note": [SCRIPT, "0"]})[0] == 200
    assert inside.ask("POST", f"/set/{sheet}/save", {"note": SCRIPT, "was": ""})[0] == 303
    write_draft(inside.folder / "my_draft_bars.json", {"typed": EMPTY.replace("A", "<b onclick=x>"), "work": SCRIPT})
    pages = ["/", f"/set/{sheet}", f"/set/{sheet}?at=0,0&way={SCRIPT}", f"/set/{sheet}/told"]
    met = 0
    for path in (*pages, *pages):
        status, headers, text = inside.ask("GET", path.replace(" ", "%20").replace("<", "%3C").replace(">", "%3E"))
        assert status == 200 and headers["Content-Security-Policy"] == POLICY
        page = Tags()
        page.feed(text)
        assert page.scripts == ["/pointed.js", "/bench.js"] and "img" not in page.tags
        assert not [name for name in page.attributes if name.startswith("on") or name == "style"]
        assert "7006652" not in re.findall("[0-9]+", text.replace(sheet, ""))  # no template worked out what was typed
        met += text.count("&lt;script&gt;")
    assert met > 6
    (entry,) = open_logbook(inside.folder / "my_logbook.json")
    assert entry.note == SCRIPT  # kept as it was typed, for it is the learner's own
    status, _, text = inside.ask("POST", "/new", {"kind": "bars", "unit": SCRIPT, "bodies": SCRIPT})
    assert status == 409 and "<script>" not in text and "&lt;script&gt;" in text


def test_a_remark_cannot_bring_lines_of_its_own_into_the_table(inside):
    laid = {"kind": "bars", "bodies": "A, B", "stations": "0, 50, 100", "pairs": "", "unit": "um"}
    status, _, _ = inside.ask("POST", "/new", laid | {"film": "3 um\r\nlower,upper,position_mm,gap_um\r\nA,B,0,5"})
    assert status == 400 and sheets(inside.folder) == ()


def test_every_answer_carries_what_a_browser_must_keep_to(inside):
    for path in ("/", "/bench.js", "/bench.css", "/nothing", f"/set/{'0' * 32}/state"):
        _, headers, _ = inside.ask("GET", path)
        assert headers["Content-Security-Policy"] == POLICY and "unsafe" not in POLICY and "*" not in POLICY
        assert headers["X-Content-Type-Options"] == "nosniff" and headers["X-Frame-Options"] == "DENY"
        assert headers["Cache-Control"] == "no-store" and headers["Server"] is None
        assert headers["Access-Control-Allow-Origin"] is None


def test_without_a_script_a_set_is_filled_cell_by_cell_and_read(inside):
    laid = {"kind": "squares", "bodies": "A, B, C", "stations": "5, 95", "pairs": "", "unit": "um", "name": "squares"}
    where = inside.ask("POST", "/new", laid)[1]["Location"]
    figures = ["0", "30", "0", "40", "0", "50"]
    at = where
    for figure in figures:
        text = inside.ask("GET", at)[2]
        cell = re.search(r'name="at" value="([^"]+)"', text)[1]
        seen = re.search(r'name="seen" value="([^"]+)"', text)[1]
        form = {"at": cell, "was": "", "seen": seen, "way": "down", "figure": figure, "go": "next"}
        status, headers, _ = inside.ask("POST", where, form)
        assert status == 303
        at = headers["Location"]
    text = inside.ask("GET", f"{where}/told")[2]
    assert "6 of 6 cells are filled" in text and "What next" in text
    status, headers, _ = inside.ask("POST", f"{where}/save", {"note": "cold", "was": "", "seen": "0"})
    assert status == 303 and "as set 1" in inside.ask("GET", headers["Location"])[2]
    (entry,) = open_logbook(inside.folder / "my_logbook.json")
    assert [line.rpartition(",")[2] for line in entry.readings.splitlines()[1:7]] == figures
    assert (entry.name, entry.note) == ("squares", "cold")


def test_a_page_that_is_old_does_not_put_back_what_another_phone_typed_since(inside):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    inside.cells(sheet, {"0,0": ["12", "0"]})
    first, second = inside.cookie, inside.come_in() and inside.cookie
    assert first != second
    inside.cells(sheet, {"0,0": ["15", "0"]})
    form = {"at": "0,0", "was": "12", "seen": "1", "way": "down", "figure": "12", "go": "next"}
    inside.cookie = first
    assert inside.ask("POST", f"/set/{sheet}", form)[0] == 303
    assert sheets(inside.folder)[0].latest()["0,0"].words == "15"


def test_a_set_of_the_logbook_is_read_again_or_gone_on_with(inside):
    taken = EMPTY.replace("# not read: A,B,no,0,", "A,B,no,0,40")
    save_logbook(inside.folder / "my_logbook.json", [Entry(taken, "three bars")])
    (entry,) = open_logbook(inside.folder / "my_logbook.json")
    again = inside.ask("POST", "/follow", {"set": entry.identity, "way": "again"})[1]["Location"]
    on = inside.ask("POST", "/follow", {"set": entry.identity, "way": "on"})[1]["Location"]
    assert again != on == inside.ask("POST", "/follow", {"set": entry.identity, "way": "on"})[1]["Location"]
    assert json.loads(inside.ask("GET", f"{again}/state")[2])["filled"] == 0
    assert json.loads(inside.ask("GET", f"{on}/state")[2])["cells"]["0,0"] == "40"
    for form in (
        {"set": "../x", "way": "on"},
        {"set": entry.identity, "way": "off"},
        {"draft": "../x", "way": "draft"},
    ):
        assert inside.ask("POST", "/follow", form)[0] == 404


def test_what_was_typed_in_the_lab_and_not_saved_is_gone_on_with_and_stays(inside):
    draft = inside.folder / "my_draft_bars.json"
    write_draft(draft, {"typed": EMPTY.replace("# not read: A,B,no,0,", "A,B,no,0,40")})
    before = draft.read_bytes()
    assert "Typed in the Lab" in inside.ask("GET", "/")[2]
    where = inside.ask("POST", "/follow", {"draft": draft.name, "way": "draft"})[1]["Location"]
    assert json.loads(inside.ask("GET", f"{where}/state")[2])["cells"]["0,0"] == "40"
    assert draft.read_bytes() == before


def test_a_damaged_logbook_is_told_and_left_as_it_is(inside):
    book = inside.folder / "my_logbook.json"
    book.write_text("no logbook")
    sheet = begin_sheet(inside.folder, EMPTY).identity
    assert "my_logbook.json" in inside.ask("GET", "/")[2]
    status, _, text = inside.ask("POST", f"/set/{sheet}/save", {"note": "", "was": ""})
    assert status == 409 and "my_logbook.json" in text and book.read_text() == "no logbook"


@pytest.mark.parametrize(
    "said", ["0.0.0.0", "8.8.8.8", "255.255.255.255", "224.0.0.1", "::1", "localhost", "", "1.2.3"]
)
def test_only_an_address_of_a_net_of_ones_own_is_taken(said):
    with pytest.raises(Refusal, match="local network of your own"):
        own_address(said)


def test_the_own_address_is_found_without_sending_anything(monkeypatch):
    sent = []
    monkeypatch.setattr(socket.socket, "sendto", lambda *words: sent.append(words))
    monkeypatch.setattr(socket.socket, "send", lambda *words: sent.append(words))
    try:
        assert own_address(local_address())
    except Refusal as refused:  # a machine with no net at all, or none of its own
        assert "address" in str(refused)
    assert sent == []


def test_it_ends_by_itself_when_no_phone_asks(tmp_path):
    assert "no phone asked" in asyncio.run(serve(tmp_path, "127.0.0.1", 0, hours=0.3 / 3600))


def test_so_many_findings_at_once_and_no_more(inside):
    sheet = begin_sheet(inside.folder, EMPTY).identity
    let_go = threading.Event()
    inside.bench.worker.submit(let_go.wait, 60)
    found = []
    asked = [threading.Thread(target=lambda: found.append(inside.ask("GET", f"/set/{sheet}/told")[0]))
             for _ in range(MOST_WAITING + 3)]  # fmt: skip
    for one in asked:
        one.start()
    while len(found) < 3:  # those that are one too many are answered at once
        time.sleep(0.02)
    assert inside.ask("GET", f"/set/{sheet}/state")[0] == 200  # and the page goes on taking figures
    let_go.set()
    for one in asked:
        one.join(60)
    assert sorted(found) == [200] * MOST_WAITING + [429] * 3


def test_a_port_that_is_taken_and_a_folder_that_is_none_are_told(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(Refusal, match="--port"):
            asyncio.run(serve(tmp_path, "127.0.0.1", taken.getsockname()[1]))
    with pytest.raises(Refusal, match="no folder"):
        asyncio.run(serve(tmp_path / "none", "127.0.0.1", 0))
    with pytest.raises(Refusal, match="name of a file"):
        asyncio.run(serve(tmp_path, "127.0.0.1", 0, logbook="../other.json"))


def test_the_square_of_dots_is_the_address(tmp_path):
    import segno

    address = "http://192.168.1.20:8765/join/abcdefghjkmnpqrs"
    with open(tmp_path / "out", "w", encoding="utf-8") as out:
        show_code(address, out)
    lines = (tmp_path / "out").read_text(encoding="utf-8").splitlines()
    drawn = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines if "\x1b" in line]
    dots = [[" ▄▀█".index(sign) >> half & 1 for sign in line] for line in drawn for half in (1, 0)]
    want = [list(row) for row in segno.make(address, micro=False, error="m").matrix]
    assert [row[3:-3] for row in dots[3 : 3 + len(want)]] == want and address in lines
    assert not any(any(row) for row in dots[:3])  # the quiet edge that a camera needs
