"""Who may ask: names, origins, paths, sizes, and the headers that every answer carries."""

from __future__ import annotations

import asyncio
from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from spawnwright.web import guard
from spawnwright.web.addresses import host_name, is_plain, own_path
from spawnwright.web.app import make_app
from spawnwright.web.desk import LOOPBACK, Address
from spawnwright.web.phones import Phones
from tests.web.conftest import HOME

LAN = Address(hosts=(*LOOPBACK, "bench.local", "192.168.1.7"), is_lan=True)


@pytest.fixture
def stranger(desk):
    """A machine on the network that is not paired, asking this one by its own name."""
    with TestClient(
        make_app(desk), base_url=HOME, client=("192.168.1.20", 50000), follow_redirects=False,
        raise_server_exceptions=False,
    ) as made:  # fmt: skip
        yield made


def test_every_answer_forbids_what_is_not_ours(client):
    """No third-party request can come of any page, its problems included."""
    for path in ("/history", "/find", "/no-such-page", "/static/0.1.0/site.css", "//x"):
        headers = client.get(f"{HOME}{path}").headers

        assert headers["content-security-policy"].startswith("default-src 'self';")
        assert headers["referrer-policy"] == "same-origin"
        assert headers["x-content-type-options"] == "nosniff"


NOT_OURS = [
    "evil.example", "127.0.0.1.evil.example:8377", "", "127.0.0.2", "localhost.",
    "localhost@evil.example", "127.0.0.1:8377@evil.example", "127.0.0.1:8377:80",
    "127.0.0.1:abc", "127.0.0.1 evil.example", "127.0.0.1,evil.example", "[::1", "0x7f.1",
    "2130706433", "127.1", "192.168.1.7", "[::ffff:127.0.0.1]",
]  # fmt: skip


def test_another_name_is_not_answered(client):
    """A site that resolves its own name to this machine must get nothing."""
    for host in NOT_OURS:
        answer = client.get("/history", headers={"Host": host})

        assert answer.status_code == 400, host
        assert "What was entered" not in answer.text


def test_two_hosts_or_origins_are_refused(client):
    """What decides must not be read differently by two readers."""
    for name, value in (("Host", "evil.example"), ("Origin", "http://evil.example")):
        twice = [("Host", "127.0.0.1:8377"), ("Origin", HOME), (name, value)]
        answer = client.post("/undo/x", headers=twice)

        assert answer.status_code == 400


def scope_from(server: tuple[str, int], host: str) -> dict:
    return {
        "type": "http", "method": "GET", "path": "/health", "raw_path": b"/health",
        "query_string": b"", "headers": [(b"host", host.encode())], "scheme": "http",
        "client": ("192.168.1.20", 50000), "server": server, "root_path": "",
    }  # fmt: skip


def status_of(app, scope: dict) -> int:
    told = []

    async def receive():
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message):
        told.append(message)

    asyncio.run(app(scope, receive, send))
    return told[0]["status"]


@pytest.mark.parametrize(
    ("reached", "host", "is_lan", "status"),
    [
        ("192.168.1.9", "192.168.1.9:8377", True, 200),  # the router gave a new number
        ("192.168.1.9", "192.168.1.8:8377", True, 400),
        ("192.168.1.9", "192.168.1.9:8377", False, 400),
        ("203.0.113.5", "203.0.113.5:8377", True, 400),  # not a number of a network at home
        ("192.168.1.9", "bench.local:8377", True, 200),
        ("192.168.1.9", "other.local:8377", True, 400),
    ],
)
def test_on_the_network_the_number_that_was_reached_is_ours_too(
    desk, reached, host, is_lan, status
):
    """A laptop that comes back from sleep may have another number; a bare number is no trick."""
    desk.address = LAN if is_lan else Address()

    assert status_of(make_app(desk), scope_from((reached, 8377), host)) == status


@pytest.mark.parametrize(
    ("headers", "is_taken"),
    [
        ({"Origin": HOME}, True),
        ({"Origin": HOME, "Sec-Fetch-Site": "same-origin"}, True),
        ({"Origin": HOME, "Sec-Fetch-Site": "cross-site"}, False),
        ({"Origin": HOME, "Sec-Fetch-Site": "same-site"}, False),
        ({"Origin": HOME, "Sec-Fetch-Site": "none"}, False),
        ({"Origin": HOME, "Sec-Fetch-Site": ""}, False),
        ({"Origin": "http://evil.example"}, False),
        ({"Origin": "null"}, False),
        ({"Origin": "http://127.0.0.1:9999"}, False),
        ({"Origin": "https://127.0.0.1:8377"}, False),
        ({"Origin": f"{HOME}/"}, False),
        ({"Origin": f"{HOME}.evil.example"}, False),
        ({"Origin": ""}, False),
    ],
)
def test_a_form_comes_from_our_own_pages(client, headers, is_taken):
    """Else any page open in the same browser could write into the book."""
    answer = client.post("/undo/no-such-step", data={"step": "0123456789"}, headers=headers)

    assert (answer.status_code != 403) == is_taken


def test_no_other_site_loads_a_page_as_a_part_of_itself(client):
    """By a picture or a script it could learn how long an answer takes; a link is fine."""
    foreign = {"Sec-Fetch-Site": "cross-site"}

    assert client.get("/health", headers=foreign | {"Sec-Fetch-Mode": "no-cors"}).status_code == 403
    assert client.get("/health", headers=foreign).status_code == 403
    assert client.get("/health", headers=foreign | {"Sec-Fetch-Mode": "navigate"}).is_success
    assert client.get("/health", headers={"Sec-Fetch-Site": "none"}).is_success


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT"])
def test_nothing_but_asking_and_sending_is_done(client, method):
    """Nor is a form believed that says it is another method."""
    assert client.request(method, "/history").status_code == 405
    claim = {"X-HTTP-Method-Override": "POST", "X-Method-Override": "POST"}
    assert client.get("/undo/x?_method=POST", headers=claim).status_code == 405


def test_another_machine_is_sent_to_pairing(stranger):
    """Without a paired phone only this machine may see anything."""
    asked = stranger.get("/history")
    sent = stranger.post("/undo/x", headers={"Origin": HOME, "X-Outbox": "1"})

    assert (asked.status_code, asked.headers["location"]) == (303, "/pair")
    assert sent.status_code == 401
    assert "stays on it" in sent.json()["problem"]
    assert stranger.head("/history").status_code == 401
    assert stranger.get("/export").status_code == 403


NOT_OPEN = [
    "/pairs", "/pair/", "/pair/..", "/healthy", "/ca2", "/static", "/staticx", "/sw.js/x",
    "/static/../history", "/static/%2e%2e/history", "/ca/../history", "/ca/%2e%2e/history",
    "/ca//history", "*", "", "/ca/..%2fhistory", "/static/%2e%2e%2fhistory", "/pair;/../history",
]  # fmt: skip


def test_what_is_open_to_all_opens_nothing_else(stranger):
    """A path that only begins like an open one is not open."""
    for path in NOT_OPEN:
        scope = scope_from(("127.0.0.1", 8377), "127.0.0.1:8377")
        scope |= {"path": unquote(path), "raw_path": path.encode()}

        assert status_of(stranger.app, scope) in (303, 404), path


ONLY_HERE = [
    "/export", "/export/", "/EXPORT", "/Export", "/export.", "/export.json", "/export%20",
    "/%65xport", "//export", "/./export", "/x/../export", "/%2fexport", "/export%2fall",
    "/export%00", "/\\export", "/%5cexport", "http://127.0.0.1:8377/export", "/exports",
    "/export;x", "/import", "/restore", "/backup", "/phones", "/phones/code", "/keys/forget",
    "/unsent", "/ｅxport".encode().decode("latin-1"),
]  # fmt: skip


def test_what_concerns_the_whole_book_stays_on_this_machine(desk):
    """However the path is written, and for a paired phone too."""
    desk.address = LAN
    desk.phones, token = paired(desk)
    app = make_app(desk)
    for path in ONLY_HERE:
        scope = scope_from(("192.168.1.7", 8377), "bench.local:8377")
        scope |= {"path": unquote(path), "raw_path": path.encode("latin-1", "replace")}
        scope["headers"] += [(b"cookie", f"bench={token}".encode())]

        assert status_of(app, scope) in (403, 404), path
    scope |= {"path": "/history", "raw_path": b"/history"}
    assert status_of(app, scope) == 200  # the phone is paired


@pytest.mark.parametrize("path", ["/export", "/EXPORT", "/Export./x", "/export ", "/phones/code"])
def test_paths_of_this_machine_are_known_however_they_are_spelled(path):
    """Routes tell capitals apart today; what lies behind them tomorrow may not."""
    assert guard.is_for_this_machine(path)
    assert not guard.is_for_this_machine("/look")


def paired(desk) -> tuple[Phones, str]:
    """The phones of a desk with one that is paired, and its token."""
    phones = desk.phones or Phones(Path(desk.book.path).with_name("phones.json"))
    code = phones.open_code(desk.now())
    return phones, phones.pair(code.text, "kitchen phone", desk.now())[1]


def test_a_claim_to_be_this_machine_is_not_believed(stranger):
    """Only the connection itself says where it comes from."""
    for claim in (
        {"X-Forwarded-For": "127.0.0.1", "Forwarded": "for=127.0.0.1", "X-Real-IP": "127.0.0.1"},
        {"X-Forwarded-Host": "127.0.0.1"},
        {"X-Original-URL": "/pair", "X-Rewrite-URL": "/pair"},
    ):
        assert stranger.get("/export", headers=claim).status_code == 403


def test_a_large_form_is_refused_unread_or_while_reading(client):
    """By its stated length, and by counting where none is stated."""
    stated = client.post("/undo/x", content=b"a" * 2_000_000)

    def parts():
        for _ in range(40):
            yield b"step=" + b"a" * 50_000

    form = {"content-type": "application/x-www-form-urlencoded"}
    counted = client.post("/undo/x", content=parts(), headers=form)

    assert stated.status_code == 413
    assert counted.status_code == 413


def test_a_picture_may_be_larger_than_a_form(client):
    """As it comes from a phone's camera; the same on any other path is refused."""
    picture = b"a" * 5_000_000

    assert client.post("/undo/x", content=picture).status_code == 413
    assert client.post("/j/CT36/look", content=picture).status_code != 413
    assert client.post("/j/CT36/look", content=picture * 5).status_code == 413


@pytest.mark.parametrize(("stated", "is_read"), [(5_000_000, True), (100_000_000, False)])
def test_what_is_refused_is_read_to_its_end_if_that_is_near(stranger, stated, is_read):
    """A browser that is cut off in the middle of a photo takes it for a broken network."""
    scope = scope_from(("192.168.1.7", 8377), "127.0.0.1:8377") | {
        "method": "POST", "path": "/j/CT36/look", "raw_path": b"/j/CT36/look",
    }  # fmt: skip
    length = (b"content-length", str(stated).encode())
    scope["headers"] += [(b"origin", HOME.encode()), (b"x-outbox", b"1"), length]
    asked, told = [], []

    async def receive():
        asked.append(1)
        return {"type": "http.request", "body": b"a" * 1_000_000, "more_body": len(asked) < 5}

    async def send(message):
        told.append(message)

    asyncio.run(stranger.app(scope, receive, send))

    assert told[0]["status"] == 401
    assert len(asked) == (5 if is_read else 0)


def test_a_form_of_very_many_parts_is_refused(client):
    """Each part costs memory and time, however small it is."""
    part = b'--b\r\nContent-Disposition: form-data; name="a%d"; filename="f"\r\n\r\nx\r\n'
    body = b"".join(part % n for n in range(500)) + b"--b--\r\n"
    kind = {"content-type": "multipart/form-data; boundary=b"}

    answer = client.post("/undo/x", content=body, headers=kind)

    assert answer.status_code == 422
    assert "files" in answer.text


def test_a_form_that_never_ends_is_given_up(desk, monkeypatch):
    """Who sends one byte and then nothing must not hold a place for ever."""
    monkeypatch.setattr(guard, "LONGEST_READ_S", 0.05)
    scope = scope_from(("127.0.0.1", 8377), "127.0.0.1:8377") | {
        "method": "POST", "path": "/undo/x", "raw_path": b"/undo/x", "client": ("127.0.0.1", 1),
    }  # fmt: skip
    scope["headers"] += [
        (b"origin", HOME.encode()), (b"content-type", b"application/x-www-form-urlencoded")
    ]  # fmt: skip
    told = []

    async def receive():
        if len(told) or receive.asked:
            await asyncio.sleep(30)
        receive.asked = True
        return {"type": "http.request", "body": b"step=", "more_body": True}

    receive.asked = False

    async def send(message):
        told.append(message)

    asyncio.run(asyncio.wait_for(make_app(desk)(scope, receive, send), 5))

    assert told[0]["status"] == 408


def test_a_mistake_shows_a_code_and_nothing_else(client, desk, monkeypatch):
    """No path, no line of program, no name of a table reaches the browser."""
    monkeypatch.setattr("spawnwright.web.pages.history.recent_steps", lambda *_: 1 / 0)

    answer = client.get("/history")

    assert answer.status_code == 500
    assert "code " in answer.text
    assert "ZeroDivision" not in answer.text
    assert "Traceback" not in answer.text


def test_files_of_the_pages_lead_to_no_other_file(client):
    """Only what lies in the folder of static files is handed out."""
    files = f"{HOME}/static/0.1.0"
    for path in ("../app.py", "%2e%2e/app.py", "..%2fapp.py", "/etc/passwd", "%2fetc/passwd"):
        answer = client.get(f"{files}/{path}")

        assert answer.status_code == 404
        assert "import" not in answer.text
    assert client.get("/static/0.1.0/site.css").is_success


ELSEWHERE = [
    "//evil.example", "///evil.example", "/\\evil.example", "\\\\evil.example",
    "/\t/evil.example", "http://evil.example", "javascript:alert(1)",
    "/x\r\nSet-Cookie: a=b", "evil", "",
    "/%2f/evil.example", "/..//evil.example", "/a/../b", "/a//b",
]  # fmt: skip


def test_a_form_leads_on_to_our_own_pages_only(client, desk, monkeypatch):
    """Where to go next comes with the form, that is, from anybody."""
    from spawnwright.records.book.steps import Kept

    monkeypatch.setattr(
        "spawnwright.web.pages.history.undo", lambda *_: Kept("0123456789", "2026-11-25T09:30:00Z")
    )
    for wanted in ELSEWHERE:
        sent = {"step": "0123456789", "next": wanted}
        led = client.post("/undo/x", data=sent, follow_redirects=False)
        told = client.post("/undo/x", data=sent, headers={"X-Outbox": "1"})

        assert led.status_code == 303
        assert led.headers["location"].split("?")[0] in ("/", "/history"), wanted
        assert "set-cookie" not in led.headers
        assert told.json()["next"] in ("/", "/history"), wanted


def as_a_browser_reads(text: str) -> str:
    """The WHATWG rules that differ from Python's: tabs and line ends go, a backslash is a slash."""
    kept = "".join(each for each in text.strip() if each not in "\t\r\n")
    return kept.replace("\\", "/")


NASTY = st.text("/\\.%25ef:@?#ab\t\r\n\0 ", max_size=12) | st.text(max_size=12)


@given(NASTY.map(lambda text: f"/{text}") | NASTY)
@example("//evil.example/x")
@example("/\\evil.example")
@example("/a?next=//evil.example")
def test_no_text_leads_to_another_host(text):
    """Whatever is kept of it stays on this server, as Python and as browsers read addresses."""
    kept = own_path(text)

    for read in (kept, as_a_browser_reads(kept)):
        there = urlsplit(urljoin(f"{HOME}/j/CT36/look", read))
        assert (there.scheme, there.netloc) == ("http", "127.0.0.1:8377")
    assert kept.isprintable()
    assert kept in (text, "/")


@given(st.sampled_from(["/history", "/j/CT36?kept=ab#top", "/batches/4f", "/find?code=C%20T"]))
def test_our_own_paths_are_kept(path):
    """The rule must not refuse what is used."""
    assert own_path(path) == path


@given(st.text(max_size=20) | st.text("[]:.@127local\0 /", max_size=20))
@example("localhost:80\n")
@example("LOCALHOST")
@example("[0]")
def test_a_host_is_read_in_one_way_or_not_at_all(text):
    """What is taken for one of our names is that name, with a port at most."""
    name = host_name(text)

    if name is not None:
        rest = text.lower().removeprefix(name)
        assert text.lower().startswith(name)
        assert rest == "" or (rest[0] == ":" and rest[1:].isascii() and rest[1:].isdigit())
        assert urlsplit(f"http://{text}/").hostname in (name, name.strip("[]"))


@given(st.sampled_from(LOOPBACK), st.none() | st.integers(1, 65535))
def test_our_own_names_are_known_with_and_without_a_port(name, port):
    """As browsers send them."""
    assert host_name(name if port is None else f"{name}:{port}") == name


@given(st.lists(st.sampled_from(["a", "..", ".", "", "a.b"]), max_size=4))
def test_a_plain_path_has_no_step_upwards(parts):
    """Nor an empty part, but for the last one."""
    path = "/" + "/".join(parts)

    assert is_plain(path, path) == (
        not {".", ".."} & set(parts) and "" not in parts[:-1] and "//" not in path
    )
