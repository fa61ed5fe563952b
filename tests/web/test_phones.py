"""Pairing: one code, one phone, two minutes, five tries; what is kept of it, and undoing it."""

from __future__ import annotations

import hashlib
import json
import logging
import re
import stat
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from spawnwright.errors import BadFile, UnknownName, Unusable
from spawnwright.web.app import make_app
from spawnwright.web.desk import LOOPBACK, Address
from spawnwright.web.phones import SIGNS, Phones, WrongCode
from tests.web.conftest import NOW

AWAY = "http://bench.local:8377"
LATER = NOW + timedelta(seconds=119)


@pytest.fixture
def phones(desk):
    """A desk that is open to the network, no phone paired yet."""
    desk.address = Address(hosts=(*LOOPBACK, "bench.local", "192.168.1.7"), is_lan=True)
    desk.phones = Phones(Path(desk.book.path).with_name("phones.json"))
    return desk.phones


@pytest.fixture
def phone(desk, phones):
    """A phone on the network."""
    with TestClient(
        make_app(desk), base_url=AWAY, client=("192.168.1.20", 50000), follow_redirects=True,
        headers={"Origin": AWAY}, raise_server_exceptions=False,
    ) as made:  # fmt: skip
        yield made


def code_on(page: str) -> str:
    """The code that the computer shows."""
    found = re.search(r'class="figure code">(\w{4}) (\w{4})<', page)
    assert found, "no code is shown"
    return found[1] + found[2]


def test_there_are_30_signs_that_are_not_mixed_up():
    """Eight of them: 30 to the eighth, 656 thousand million codes, of which five can be tried."""
    assert len(set(SIGNS)) == len(SIGNS) == 30
    assert not set("01OIL") & set(SIGNS)


def test_a_phone_is_paired_by_the_code_on_the_computer(client, phone):
    """From the button on the computer to the first page on the phone."""
    assert "Pair this phone" in phone.get("/history").text
    code = code_on(client.post("/phones/code").text)

    landed = phone.post("/pair", data={"code": f" {code[:4].lower()}-{code[4:]} ", "name": "shed"})

    assert "This phone is paired" in landed.text
    assert "What was entered" in phone.get("/history").text
    assert "shed" in client.get("/phones").text


def test_a_code_lets_one_phone_in(phones):
    """The second use is refused."""
    code = phones.open_code(NOW)
    phones.pair(code.text, "one", NOW)

    with pytest.raises(WrongCode):
        phones.pair(code.text, "two", NOW)
    assert [each.name for each in phones.all()] == ["one"]


def test_a_code_holds_for_two_minutes(phones):
    """119 s after it was made it opens, 120 s after it does not."""
    code = phones.open_code(NOW)
    assert phones.code(LATER) is code
    assert phones.code(NOW + timedelta(seconds=120)) is None
    with pytest.raises(WrongCode):
        phones.pair(code.text, "late", NOW + timedelta(seconds=120))

    phones.pair(code.text, "in time", LATER)


def test_the_sixth_try_is_refused_and_voids_the_code(client, phone, phones):
    """Even if it is the right one; a new code starts anew."""
    code = code_on(client.post("/phones/code").text)
    wrong = {"code": "2" * 8 if code != "2" * 8 else "3" * 8, "name": "guesser"}

    for _ in range(5):
        assert phone.post("/pair", data=wrong).status_code == 422
    for guess in (wrong, wrong | {"code": code}):
        assert phone.post("/pair", data=guess).status_code == 429
    assert "No phone is paired." in client.get("/phones").text
    fresh = code_on(client.post("/phones/code").text)
    assert phone.post("/pair", data=wrong | {"code": fresh}).status_code == 200


def test_only_a_hash_of_the_token_is_kept(phones, desk):
    """In a file that only its owner can read, and that is not the book."""
    _, token = phones.pair(phones.open_code(NOW).text, "shed", NOW)
    path = Path(desk.book.path).with_name("phones.json")
    kept = path.read_text()

    assert token not in kept
    assert json.loads(kept)["phones"][0]["token_hash"] == hashlib.sha256(token.encode()).hexdigest()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [each.name for each in path.parent.iterdir() if ".phones" in each.name] == []


def test_the_token_is_in_no_export_and_no_backup(phones, desk, tmp_path):
    """Who finds a copy of the book must not be able to act as a phone."""
    from spawnwright.actions.book.files import backup_book, export_book

    _, token = phones.pair(phones.open_code(NOW).text, "shed", NOW)
    hashed = hashlib.sha256(token.encode()).hexdigest()
    export_book(str(desk.book.path), tmp_path / "all.json", None, False)
    backup_book(str(desk.book.path), tmp_path / "copy.db", NOW)

    for file in tmp_path.iterdir():
        content = file.read_bytes()
        assert token.encode() not in content
        assert hashed.encode() not in content


def test_phones_are_known_after_a_restart(phones, desk):
    """Until 180 days are over."""
    phone, token = phones.pair(phones.open_code(NOW).text, "shed", NOW)
    again = Phones(Path(desk.book.path).with_name("phones.json"))

    assert again.phone_of(token, NOW) == phone
    assert again.phone_of(token, NOW + timedelta(days=180)) is None
    assert again.phone_of("", NOW) is None
    assert again.phone_of(phone.token_hash, NOW) is None


def test_when_a_phone_was_seen_is_kept_to_the_hour(phones):
    """Often enough to tell a phone in use from a lost one, seldom enough not to wear the disk."""
    _, token = phones.pair(phones.open_code(NOW).text, "shed", NOW)

    assert (
        phones.phone_of(token, NOW + timedelta(minutes=50)).seen_at == "2026-11-25T09:30:00+00:00"
    )
    assert phones.phone_of(token, NOW + timedelta(hours=30)).seen_at == "2026-11-26T15:00:00+00:00"
    assert phones.all()[0].seen_at == "2026-11-26T15:00:00+00:00"


def test_a_revoked_phone_is_let_in_no_more(client, phone, phones):
    """At once, and no other one with it."""
    code = code_on(client.post("/phones/code").text)
    phone.post("/pair", data={"code": code, "name": "shed"})
    other, token = phones.pair(phones.open_code(NOW).text, "attic", NOW)
    shed = next(each for each in phones.all() if each.name == "shed")

    client.post("/phones/revoke", data={"phone": shed.id})

    assert "Pair this phone" in phone.get("/history").text
    refused = phone.post("/undo/x", headers={"X-Outbox": "1"})
    assert (refused.status_code, "stays on it" in refused.json()["problem"]) == (401, True)
    assert phones.phone_of(token, NOW) == other
    client.post("/phones/revoke", data={"all": "1"})
    assert phones.phone_of(token, NOW) is None
    with pytest.raises(UnknownName):
        phones.revoke(shed.id)


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(client, phone, desk):
    """By https it has a name that only this very server can set."""

    def cookie(browser, scheme):
        code = code_on(client.post("/phones/code").text)
        told = browser.post(
            f"{scheme}://bench.local:8377/pair", data={"code": code, "name": "shed"},
            headers={"Origin": f"{scheme}://bench.local:8377"}, follow_redirects=False,
        )  # fmt: skip
        return told.headers["set-cookie"]

    plain, secure = cookie(phone, "http"), cookie(phone, "https")

    assert plain.startswith("bench=")
    assert secure.startswith("__Host-bench=")
    for each in (plain, secure):
        assert "HttpOnly" in each
        assert "Max-Age=15552000" in each  # 180 days
        assert "SameSite=lax" in each
        assert "Path=/" in each
        assert "Domain" not in each
    assert "Secure" in secure
    assert "Secure" not in plain


def test_a_token_counts_only_under_the_name_of_its_scheme(desk, phones):
    """A cookie that came by plain http is none by https; others' cookies do not get in the way."""
    _, token = phones.pair(phones.open_code(NOW).text, "shed", NOW)

    def status(scheme, cookie):
        with TestClient(
            make_app(desk), base_url=f"{scheme}://bench.local:8377", follow_redirects=False,
            client=("192.168.1.20", 1), headers={"Cookie": cookie},
        ) as browser:  # fmt: skip
            return browser.get("/history").status_code

    assert status("http", f"a[b]={{x}}; broken; bench={token}") == 200
    assert status("https", f"__Host-bench={token}") == 200
    assert status("https", f"bench={token}") == 303
    assert status("http", f"__Host-bench={token}") == 303
    assert status("http", f"xbench={token}; bench=") == 303


def test_pairing_is_done_on_this_machine_only(phone, client, phones):
    """A paired phone pairs no other phone, and an unpaired one itself only."""
    assert phone.get("/phones").status_code == 403
    assert phone.post("/phones/code").status_code == 403
    assert phone.get("/phones/code.svg").status_code == 403
    assert phone.post("/pair", data={"code": "ABCDEFGH", "name": "x"}).status_code == 422
    assert phones.all() == []


def test_the_qr_code_leads_to_pairing(client, phones, desk):
    """Read by an independent reader; the code stands behind the #, which no server gets to see."""
    import zxingcpp
    from PIL import Image, ImageDraw

    code = code_on(client.post("/phones/code").text)
    for query, home in (("", AWAY), ("?by=number", "http://192.168.1.7:8377")):
        drawn = client.get(f"/phones/code.svg{query}")
        assert drawn.headers["content-type"] == "image/svg+xml"
        assert "style=" not in drawn.text
        picture = drawn_svg(drawn.text, Image, ImageDraw)
        assert [each.text for each in zxingcpp.read_barcodes(picture)] == [f"{home}/pair#{code}"]
    phones.close_code()
    assert client.get("/phones/code.svg").status_code == 404


def drawn_svg(svg: str, image, draw):
    """A QR code of horizontal strokes as a picture: the only things that this SVG is made of."""
    scale = float(re.search(r"scale\(([\d.]+)\)", svg)[1])
    size = int(re.search(r'width="(\d+)"', svg)[1])
    picture = image.new("L", (size, size), 255)
    pen = draw.Draw(picture)
    x = y = 0.0
    for kind, one, two in re.findall(
        r"([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?", re.search(r'stroke="#000" d="([^"]+)"', svg)[1]
    ):
        if kind == "M":
            x, y = float(one), float(two)
        elif kind == "m":
            x, y = x + float(one), y + float(two)
        else:
            top = (y - 0.5) * scale
            pen.rectangle([x * scale, top, (x + float(one)) * scale - 1, top + scale - 1], fill=0)
            x += float(one)
    return picture


def test_what_is_wrong_with_a_name_is_said(phones):
    """Before the code is used up."""
    code = phones.open_code(NOW)
    for name in ("", "  ", "x" * 41, "a\x00b"):
        with pytest.raises(Unusable):
            phones.pair(code.text, name, NOW)

    assert phones.pair(code.text, " kitchen  phone ", NOW)[0].name == "kitchen phone"


@given(st.text(max_size=12))
def test_no_text_but_the_code_opens(text):
    """Whatever is typed: refused in a sentence, never with a mistake of the program."""
    phones = Phones(Path("/nonexistent/phones.json"))
    code = phones.open_code(NOW)
    if "".join(text.upper().replace("-", " ").split()) != code.text:
        with pytest.raises(WrongCode):
            phones.pair(text, "x", NOW)


@pytest.mark.parametrize("content", ["", "[]", '{"phones": [1]}', '{"phones": [{"id": "a"}]}'])
def test_a_damaged_file_is_refused_with_what_to_do(tmp_path, content):
    """Never taken for an empty list, which would hide that phones were paired."""
    path = tmp_path / "phones.json"
    path.write_text(content)

    with pytest.raises(BadFile, match=r"phones\.json .* pair the phones again"):
        Phones(path)


def test_no_secret_is_logged(client, phone, caplog):
    """Neither code nor token, nor in an address."""
    with caplog.at_level(logging.DEBUG):
        code = code_on(client.post("/phones/code").text)
        landed = phone.post("/pair", data={"code": code, "name": "x"}, follow_redirects=False)
        token = re.match(r"bench=([^;]+)", landed.headers["set-cookie"])[1]

    assert code not in caplog.text
    assert token not in caplog.text
    assert code not in landed.headers["location"]


def test_without_the_network_the_page_says_how_to_begin(client, desk):
    """Nothing is open; the page tells what to start."""
    page = client.get("/phones").text

    assert "nothing is open to the network" in page
    assert "serve --lan" in page
    assert client.post("/phones/code").status_code == 422
