"""The pages with 100,000 jars and 1,000,000 looks on file: answers, entries, start, size, memory.

    PYTHONPATH=src:. .venv/bin/python benchmarks/pages.py [--book FILE] [--small] [--seconds 20]

Starts a real server on a book (made first if FILE is not there, which takes some minutes; a run
adds looks to it), and asks it as browsers do: 8 clients with 5 pages a second each, connections
kept open. Then each page alone, for the processor's share; then 8 clients that keep looks. Beside
each figure stands the one to hold. What is below the figure only while the machine has nothing
else to do is said to be so: the first line tells its load.
"""

from __future__ import annotations

import argparse
import os
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

from benchmarks import pages_book

from spawnwright.actions.book.jars import new_id
from spawnwright.records.book.codes import code_of

CLIENTS, A_SECOND = 8, 5
Pages = dict[str, Callable[[int], str]]
"""Pages by name, each with a function from a running number to an address."""
HOLD = {"page": 25.0, "look": 30.0, "visit": 40.0, "start": 1.0, "memory": 150.0}
"""p95 of a page and of a look [ms], first visit [kB], start [s], memory [MB]."""


@dataclass
class Measured:
    """Milliseconds by name, from all clients; `late` counts what was asked later than planned."""

    taken: dict[str, list[float]] = field(default_factory=dict)
    late: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)

    def add(self, name: str, seconds: float) -> None:
        """One answer."""
        with self.lock:
            self.taken.setdefault(name, []).append(1000 * seconds)


@dataclass(frozen=True)
class Running:
    """The server's process and port."""

    pid: int
    port: int
    began: float
    answered: float
    used: float
    """Of the processor, until the first answer [s]."""

    def ask(self, connection: HTTPConnection, path: str, form: dict[str, str] | None = None) -> str:
        """A page, read to its end; anything but a good answer ends the benchmark."""
        headers = {"Accept-Encoding": "gzip", "Accept": "text/html"}
        body = None
        if form is not None:
            body = urlencode(form)
            headers |= {"Origin": f"http://127.0.0.1:{self.port}"}
            headers |= {"Content-Type": "application/x-www-form-urlencoded"}
        connection.request("POST" if form else "GET", path, body, headers)
        answer = connection.getresponse()
        read = answer.read()
        if answer.status not in (200, 303):
            raise SystemExit(f"{path} answered {answer.status}")
        return answer.headers.get("Location") or _unpacked(read, answer.headers)

    def client(self) -> HTTPConnection:
        """A connection of its own."""
        return HTTPConnection("127.0.0.1", self.port, timeout=60)


def _unpacked(read: bytes, headers: object) -> str:
    is_packed = getattr(headers, "get")("Content-Encoding") == "gzip"  # noqa: B009
    return (zlib.decompress(read, 31) if is_packed else read).decode("utf-8", "replace")


@contextmanager
def server(book: Path, home: Path) -> Iterator[Running]:
    """A server on a book, from its start to its first answer and until the end of the block."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "spawnwright", "serve", "--file", str(book)]
    environment = os.environ | {"SPAWNWRIGHT_HOME": str(home)}
    began = time.perf_counter()
    with (home / "said.txt").open("w") as said:
        process = subprocess.Popen([*command, "--port", str(port)], stdout=said, stderr=said,
                                   env=environment)  # fmt: skip
    try:
        _wait_for(process, port, began + 60)
        used = processor_s(process.pid)
        yield Running(process.pid, port, began, time.perf_counter(), used)
    finally:
        process.terminate()
        process.wait(30)


def _wait_for(process: subprocess.Popen[bytes], port: int, until: float) -> None:
    while time.perf_counter() < until and process.poll() is None:
        try:
            connection = HTTPConnection("127.0.0.1", port, timeout=30)
            connection.request("GET", "/")
            connection.getresponse().read()
            return
        except ConnectionError:
            time.sleep(0.005)
    raise SystemExit("the server did not start")


def processor_s(pid: int) -> float:
    """What a process has used of the processor so far, ended threads as well [s]."""
    return time.clock_gettime((~pid << 3) | 2)  # the clock that Linux keeps of that process


def memory_mb(pid: int) -> float:
    """What a process holds in memory [MB]."""
    found = re.search(r"VmRSS:\s+(\d+) kB", Path(f"/proc/{pid}/status").read_text())
    return int(found[1]) / 1000 if found else 0.0


def workers_of(pid: int) -> list[int]:
    """The processes that a process started."""
    return [int(each.parent.name) for each in Path("/proc").glob("[0-9]*/stat")
            if _parent(each) == pid]  # fmt: skip


def _parent(stat: Path) -> int:
    try:
        return int(stat.read_text().rpartition(")")[2].split()[1])
    except OSError:
        return 0  # it has ended meanwhile


def addresses(running: Running, jars: int) -> Pages:
    """All pages that are measured."""
    connection = running.client()
    links = {
        place: re.findall(rf'href="/{place}/([^"/?#]+)"', running.ask(connection, f"/{place}"))
        for place in ("cultures", "batches", "blocks")
    }
    runs = [f"season-run-{batch:03d}-{number:02d}" for batch in (0, 1) for number in range(10)]
    shelf = running.ask(connection, "/shelf")
    pages = _following(running, connection)
    codes = [code_of(number) for number in range(0, jars, max(1, jars // 500))]
    codes += sorted(set(re.findall(r'href="/j/([^"/?#]+)"', shelf)))

    def one_of(start: str, names: list[str], end: str = "") -> Callable[[int], str]:
        return lambda n: f"/{start}{names[n % len(names)]}{end}"

    def always(path: str) -> Callable[[int], str]:
        return lambda n: path

    old = [f"batch-{number:06d}" for number in range(max(1, jars // 1000))]
    plain = ("/", "/shelf", "/shelf?which=asking", "/shelf?which=ready", "/shelf/past", "/look",
             "/batches", "/batches?ended", "/calendar", "/cultures", "/runs", "/history", "/doubt",
             "/stock", "/costs", "/blocks", "/kit", "/more", "/inoculate", "/runs/new")  # fmt: skip
    return {path: always(path) for path in plain} | {
        "/shelf?after=…": lambda n: pages[n % len(pages)],
        "/shelf?batch=…": one_of("shelf?batch=", links["batches"]),
        "/j/CODE": one_of("j/", codes),
        "/j/CODE/look": one_of("j/", codes, "/look"),
        "/round/ID": one_of("round/", links["batches"]),
        "/batches/ID": one_of("batches/", [*links["batches"], *old]),
        "/cultures/ID": one_of("cultures/", links["cultures"]),
        "/cultures/culture-0": always("/cultures/culture-0"),
        "/blocks/ID": one_of("blocks/", links["blocks"]),
        "/runs/ID": one_of("runs/", runs),
    }


def _following(running: Running, connection: HTTPConnection) -> list[str]:
    """The addresses of the shelf's following pages, as each page leads to the next."""
    found, path = [], "/shelf"
    while len(found) < 20:
        page = running.ask(connection, path)
        following = re.search(r'href="(/shelf\?after=[^"]+)"', page)
        if not following:
            break
        path = following[1].replace("&amp;", "&")
        found.append(path)
    return found or ["/shelf"]


def _on_shelf(running: Running) -> list[str]:
    """The codes of the jars on the shelf's first pages."""
    connection = running.client()
    paths = ["/shelf", *_following(running, connection)]
    pages = "".join(running.ask(connection, path) for path in paths)
    return sorted(set(re.findall(r'href="/j/([^"/?#]+)"', pages)))


def in_turn(clients: int, seconds: float, each: Callable[[int, int], None]) -> int:
    """Have each client act five times a second; gives how often it came late."""
    late = 0
    wrong: list[BaseException] = []
    lock = threading.Lock()
    begin = time.perf_counter() + 0.1

    def run(client: int) -> None:
        nonlocal late
        for number in range(int(seconds * A_SECOND)):
            planned = begin + (number + client / clients) / A_SECOND
            wait = planned - time.perf_counter()
            time.sleep(max(0.0, wait))
            with lock:
                late += wait < -0.001
            try:
                each(client, number)
            except (SystemExit, OSError) as problem:
                wrong.append(problem)
                return

    threads = [threading.Thread(target=run, args=(each_,)) for each_ in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(seconds * 10 + 60)
    if wrong:
        raise SystemExit(str(wrong[0]))
    return late


def under_load(running: Running, pages: Pages, seconds: float) -> Measured:
    """All pages in turn, by 8 clients of 5 pages a second each."""
    found, names = Measured(), list(pages)
    connections = [running.client() for _ in range(CLIENTS)]

    def ask(client: int, number: int) -> None:
        n = number * CLIENTS + client
        name = names[(n * 7) % len(names)] if len(names) % 7 else names[n % len(names)]
        begin = time.perf_counter()
        running.ask(connections[client], pages[name](n))
        found.add(name, time.perf_counter() - begin)

    found.late = in_turn(CLIENTS, seconds, ask)
    return found


def looks_kept(running: Running, shelf: list[str], seconds: float) -> Measured:
    """Looks kept with full sync, by 8 clients of 5 looks a second each."""
    found = Measured()
    connections = [running.client() for _ in range(CLIENTS)]

    def enter(client: int, number: int) -> None:
        code = shelf[(number * CLIENTS + client) % len(shelf)]
        form = {"step": new_id(), "percent": "40"}
        begin = time.perf_counter()
        running.ask(connections[client], f"/j/{code}/look", form)
        found.add("a look kept", time.perf_counter() - begin)

    found.late = in_turn(CLIENTS, seconds, enter)
    return found


def processor_alone(running: Running, pages: Pages, times: int) -> dict[str, float]:
    """The server's processor time for each page, asked for one after the other [ms]."""
    connection, used = running.client(), {}
    for name, address in pages.items():
        running.ask(connection, address(0))
        before = processor_s(running.pid)
        for number in range(times):
            running.ask(connection, address(number * 7))
        used[name] = 1000 * (processor_s(running.pid) - before) / times
    return used


def first_visit(running: Running) -> tuple[float, list[tuple[str, int]]]:
    """The compressed size of the first page and all that it has a browser load [kB, bytes each]."""
    connection, sizes = running.client(), dict[str, int]()
    waiting = ["/"]
    while waiting:
        path = waiting.pop()
        if path in sizes:
            continue
        connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
        answer = connection.getresponse()
        read = answer.read()
        sizes[path] = len(read)
        text = _unpacked(read, answer.headers)
        folder = path.rpartition("/")[0]
        waiting += re.findall(r'(?:href|src)="(/static/[^"]+)"', text) if path == "/" else []
        if path.endswith(".js"):
            waiting += [f"{folder}/{name}" for name in re.findall(r'from "\./([^"]+)"', text)]
    return sum(sizes.values()) / 1000, sorted(sizes.items(), key=lambda each: -each[1])


def row(name: str, taken: list[float], used: float | None, hold: float) -> str:
    """A line of the table [ms]."""
    middle, high = statistics.median(taken), max(taken)
    if len(taken) > 1:
        high = statistics.quantiles(taken, n=20, method="inclusive")[-1]
    shown = "" if used is None else f"{used:.1f}"
    return (f"{name:26}{len(taken):5}{middle:8.1f}{high:8.1f}{max(taken):8.1f}{shown:>8}"
            f"{hold:6.0f} {'held' if high < hold else 'MISSED'}")  # fmt: skip


def figure(name: str, found: float, hold: float, unit: str) -> None:
    """Print one figure beside the one to hold."""
    print(f"{name:44}{found:8.2f} {unit:3} to hold {hold:4.0f} {unit:3} "
          f"{'held' if found < hold else 'MISSED'}", flush=True)  # fmt: skip


def measure(book: Path, home: Path, jars: int, seconds: float, times: int) -> None:
    """Start, ask, print."""
    with server(book, home) as running:
        figure("first page, from the start of the process", running.answered - running.began,
               HOLD["start"], "s")  # fmt: skip
        print(f"   of that, processor {running.used:.2f} s")
        size, parts = first_visit(running)
        figure("first visit, compressed", size, HOLD["visit"], "kB")
        print("  ", ", ".join(f"{path.rpartition('/')[2] or path} {bytes_ / 1000:.1f}"
                              for path, bytes_ in parts))  # fmt: skip
        pages = addresses(running, jars)
        _settle(running, pages)
        used = processor_alone(running, pages, times)
        before, begin = processor_s(running.pid), time.perf_counter()
        found = under_load(running, pages, seconds)
        share = (processor_s(running.pid) - before) / (time.perf_counter() - begin)
        print(f"\n{CLIENTS} clients, {A_SECOND} pages a second each; server {100 * share:.0f} % of "
              f"one processor; {found.late} asked late")  # fmt: skip
        print(f"{'page [ms]':26}{'n':>5}{'p50':>8}{'p95':>8}{'max':>8}{'cpu':>8}  hold")
        for name in sorted(found.taken, key=lambda each: -used[each]):
            print(row(name, found.taken[name], used[name], HOLD["page"]))
        print(row("all pages", [each for taken in found.taken.values() for each in taken], None,
                  HOLD["page"]))  # fmt: skip
        looks = looks_kept(running, _on_shelf(running), seconds)
        print(row("a look kept, full sync", looks.taken["a look kept"], None, HOLD["look"]))
        figure("\nmemory of the server after that", memory_mb(running.pid), HOLD["memory"], "MB")
        for worker in workers_of(running.pid):
            print(f"   its worker process {worker}: {memory_mb(worker):.0f} MB")
        maps = Path(f"/proc/{running.pid}/maps").read_text()
        heavy = [each for each in ("numpy", "scipy") if f"/{each}" in maps]
        print(f"numpy or scipy in the server: {', '.join(heavy) or 'none'}")


def _settle(running: Running, pages: Pages) -> None:
    """Ask for each page until forecasts are there and the daily backup is made."""
    connection = running.client()
    for _ in range(60):
        waiting = any("data-again" in running.ask(connection, pages[name](n)) for n in range(20)
                      for name in ("/shelf", "/shelf?after=…", "/round/ID"))  # fmt: skip
        before = processor_s(running.pid)
        time.sleep(1.0)
        if not waiting and processor_s(running.pid) - before < 0.1:
            return


def main() -> None:
    """Make the book if need be, measure, print."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    asked.add_argument("--book", type=Path, help="a book of this benchmark, made if not there")
    asked.add_argument("--small", action="store_true", help="2,000 jars, a few seconds")
    asked.add_argument("--seconds", type=float, default=20.0, help="of asking, and of entering")
    told = asked.parse_args()
    jars, looks, batches = (2000, 1, 2) if told.small else (100_000, 10, 24)
    with tempfile.TemporaryDirectory(prefix="spawnwright-pages-") as name:
        home = Path(name)
        book = told.book or home / "book.db"
        if not book.exists():
            begin = time.perf_counter()
            pages_book.build(book, jars, looks, batches)
            print(f"made the book in {time.perf_counter() - begin:.0f} s")
        print(f"{jars} jars and {jars * looks} looks, {book.stat().st_size / 1e6:.0f} MB; load of "
              f"this machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")  # fmt: skip
        if told.small:
            measure(book, home, jars, 1.0, 2)
        else:
            measure(book, home, jars, told.seconds, 20)


if __name__ == "__main__":
    main()
