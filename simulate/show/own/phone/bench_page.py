"""The bench page as it is served: on one address of the local net, until it is ended or nobody asks any more."""

from __future__ import annotations

import asyncio
import ipaddress
import socket
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TextIO

import segno
from tornado.httpserver import HTTPServer
from tornado.ioloop import IOLoop, PeriodicCallback
from tornado.netutil import bind_sockets

from simulate.core.refusal import Refusal
from simulate.show.own.phone.bench_handlers import BODY_BYTES, Bench, application
from simulate.show.own.phone.door import CODE_S, Door

PORT = 8765
LOGBOOK = "my_logbook.json"
_OUTSIDE = ("192.0.2.1", 9)
"""An address that is nobody's (RFC 5737): asked which way leads there, the system names its own; nothing is sent."""
_LOOK_S = 20
_USUAL_PORT = 80
_BLACK, _WHITE, _PLAIN = "\033[48;5;16m", "\033[48;5;231m", "\033[0m"
_BLACK_ON_WHITE = "\033[38;5;16;48;5;231m"


def local_address() -> str:
    """Return this computer's own address in its local net."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(_OUTSIDE)
            found = way.getsockname()[0]
        except OSError:
            found = ""
    return own_address(found)


def own_address(said: str) -> str:
    """Take an address of this computer in a net of one's own, and no other.

    >>> own_address("192.168.1.20")
    '192.168.1.20'
    """
    must_be = "the address of this computer in a local network of your own, such as 192.168.1.20"
    do = "Join your own network, or give the address with --address"
    try:
        found = ipaddress.IPv4Address(said)
    except ValueError:
        raise Refusal("choice", where="the address", found=f"{said!r}", must_be=must_be, do=do) from None
    if not found.is_private or found.is_unspecified or found.is_multicast or found == ipaddress.IPv4Address(2**32 - 1):
        raise Refusal("choice", where="the address", found=said, must_be=must_be, do=do)
    return str(found)


def show_code(address: str, out: TextIO) -> None:
    """Show an address as a square of dots that a phone's camera reads, and in letters.

    Black on white whatever colours the terminal has, for not every camera reads it the other way round.
    """
    rows = [list(row) for row in segno.make(address, micro=False, error="m").matrix_iter(border=3)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    blocks = (getattr(out, "encoding", None) or "").lower().replace("-", "") == "utf8"
    for upper, lower in zip(rows[::2], rows[1::2]):
        if blocks:
            print(_BLACK_ON_WHITE + "".join(" ▄▀█"[2 * a + b] for a, b in zip(upper, lower)) + _PLAIN, file=out)
        else:  # a terminal that has no half blocks
            for row in (upper, lower):
                print("".join((_BLACK if dot else _WHITE) + "  " for dot in row) + _PLAIN, file=out)
    minutes = CODE_S // 60
    print(f"{address}\nIt opens the page for one phone, once, within {minutes} minutes.", file=out, flush=True)


def server_of(bench: Bench) -> HTTPServer:
    """Give the server of a bench page, with a lid on everything that a request may hold or take."""
    return HTTPServer(
        application(bench),
        max_body_size=BODY_BYTES,
        max_buffer_size=4 * BODY_BYTES,
        max_header_size=16_000,
        idle_connection_timeout=60,
        body_timeout=15,
    )


def host_of(address: str, port: int) -> str:
    """Return address and port as a browser names them: it leaves out the port that a page has without saying so.

    >>> host_of("192.168.1.20", 8765), host_of("192.168.1.20", 80)
    ('192.168.1.20:8765', '192.168.1.20')
    """
    return address if port == _USUAL_PORT else f"{address}:{port}"


async def serve(
    folder: Path, address: str, port: int = PORT, logbook: str = LOGBOOK, hours: float = 4.0, out: TextIO = sys.stdout
) -> str:
    """Serve the bench page until nobody has asked for hours.

    `folder`: where logbook and drafts lie. `address`: of this computer. `logbook`: name of its file. `hours`: after so
    many without a phone it ends by itself. Returns: why it ended.
    """
    if not folder.is_dir():
        raise Refusal("missing", where=f"{folder}", found="no folder", must_be="the folder of the lessons' logbook")
    if Path(logbook).name != logbook:
        raise Refusal("choice", where="the logbook", found=f"{logbook!r}", must_be="the name of a file in that folder")
    try:
        doors = bind_sockets(port, address, family=socket.AF_INET)
    except OSError as error:
        raise Refusal(
            "place",
            where=f"port {port} of {address}",
            found=f"refused ({(error.strerror or 'no such address').lower()})",
            must_be="free, and this computer's own",
            do="Give another with --port, or the address with --address",
        ) from None
    door, loop, ended = Door(), IOLoop.current(), asyncio.Event()
    host = host_of(address, doors[0].getsockname()[1])

    def code() -> None:
        show_code(f"http://{host}/join/{door.new_code()}", out)

    def came() -> None:
        print("A phone has joined. Press Enter to show a code for another phone, Ctrl C to end.", file=out, flush=True)

    def look() -> None:
        if door.clock() - door.last_asked > hours * 3600:
            ended.set()

    bench = Bench(folder=folder.resolve(), logbook=folder.resolve() / logbook, host=host, door=door, came=came)
    server = server_of(bench)
    server.add_sockets(doors)
    door.last_asked = door.clock()
    watch = PeriodicCallback(look, 1000 * min(_LOOK_S, 3600 * hours))
    watch.start()
    print(
        f"The bench page is served from {host}, for phones on this local network alone, which must be your own.",
        file=out,
    )
    code()
    print("Press Enter for a new code, Ctrl C to end.", file=out, flush=True)
    _at_enter(lambda: loop.add_callback(code))
    try:
        await ended.wait()
    finally:
        watch.stop()
        server.stop()
        bench.worker.shutdown(wait=False, cancel_futures=True)
    return f"The bench page has ended: no phone asked for {hours:g} hours."


def _at_enter(act: Callable[[], object]) -> None:
    """Act whenever somebody presses Enter in the terminal."""

    def listen() -> None:
        with suppress(OSError, ValueError, TypeError):  # no terminal, or one that is shut
            for _ in sys.stdin:
                act()

    threading.Thread(target=listen, daemon=True).start()


def served(folder: Path, address: str = "", port: int = PORT, logbook: str = LOGBOOK, hours: float = 4.0) -> str:
    """Serve the bench page until Ctrl C or until nobody asks any more, and say why it ended.

    `address`: of this computer; the one in its local net where none is given.
    """
    where = own_address(address) if address else local_address()
    try:
        return asyncio.run(serve(folder, where, port, logbook, hours))
    except KeyboardInterrupt:
        return "The bench page has ended. What was typed and not saved is kept in drafts beside the logbook."
