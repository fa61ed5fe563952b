"""Entries at the bench: kept on the phone until the computer has them, and there exactly once."""

from __future__ import annotations

import json
import re

import pytest

from tests.browser.conftest import LAPTOP, WAITS_MS, faults, opened
from tests.browser.outbox_form import TAKEN, open_to_phones, steps, with_form

DATABASE = """async () => {
  const open = await new Promise((done) => {
    indexedDB.open('bench').onsuccess = (event) => done(event.target.result);
  });
  const all = open.transaction('waiting').objectStore('waiting').getAll();
  return new Promise((done) => { all.onsuccess = () => done(all.result.length); });
}"""


@pytest.fixture
def bench(monkeypatch, request):
    """A server that has the form, too."""
    with_form(monkeypatch)
    return request.getfixturevalue("served")


def enter(page, name, note=""):
    page.get_by_label("Name").fill(name)
    page.get_by_label("Note").fill(note)
    page.get_by_role("button", name="Keep").click()


def waits(page, text):
    page.wait_for_function(
        "(text) => document.querySelector('#waiting').innerText.includes(text)", arg=text
    )


def tool(page, name):
    """Tap something in the bar, which shows its tools when it is opened."""
    if page.get_by_role("button", name="Show them").is_visible():
        page.get_by_role("button", name="Show them").click()
    page.get_by_role("button", name=name).click()


def waits_no_more(page):
    """What is left was refused."""
    said = "document.querySelector('#waiting').innerText"
    page.wait_for_function(f"() => !/wait/.test({said}) && /refused/.test({said})")


def until(page, function):
    """Ask until an async function gives true; `wait_for_function` takes its promise for true."""
    for _ in range(WAITS_MS // 50):
        if page.evaluate(function):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"it does not become true: {function}")


def nothing_waits(page):
    until(page, f"async () => await ({DATABASE})() === 0")
    page.wait_for_function("() => document.querySelector('#waiting').hidden")


def test_an_entry_goes_straight_to_the_computer(bench, browser):
    """With the phone's own time, and the page that follows offers to undo it."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        enter(page, "A")
        page.wait_for_url(re.compile(r"\?kept=[0-9a-f]{32}"))

        nothing_waits(page)
    assert steps(bench) == ["block A"]


def test_an_entry_without_wi_fi_arrives_once_it_is_back(bench, browser):
    """In order, by itself; the form is free for the next one at once."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        enter(page, "A")
        waits(page, "1 entry waits")
        assert page.get_by_label("Name").input_value() == ""
        enter(page, "B", "second")
        waits(page, "2 entries wait")
        assert steps(bench) == []
        assert faults(page) == []

        page.context.set_offline(False)
        nothing_waits(page)
    assert steps(bench) == ["block A", "block B"]


def test_a_lost_answer_makes_no_second_entry(bench, browser):
    """The computer keeps it, the answer is lost, the phone sends again."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")

        def lose(route):
            route.fetch()  # the computer has it now
            route.abort()

        page.route("**/noted/look", lambda route: lose(route) if route.request.method == "POST" else
                   route.continue_())  # fmt: skip
        enter(page, "A")
        waits(page, "1 entry waits")
        assert steps(bench) == ["block A"]
        page.unroute("**/noted/look")
        tool(page, "Send now")
        nothing_waits(page)
    assert steps(bench) == ["block A"]


def test_a_closed_tab_loses_nothing(bench, browser):
    """What waited is sent from the next page that is opened, whichever it is."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        enter(page, "A")
        waits(page, "1 entry waits")
        context = page.context
        page.close()
        context.set_offline(False)
        again = context.new_page()
        again.goto(f"{bench.home}/find")

        nothing_waits(again)
    assert steps(bench) == ["block A"]


def test_a_stopped_computer_is_waited_for(bench, browser):
    """The network is there, but nothing answers."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        bench.stop()
        enter(page, "A")
        waits(page, "Spawnwright does not answer")
        bench.start()
        tool(page, "Send now")
        nothing_waits(page)
    assert steps(bench) == ["block A"]


def test_what_is_refused_stays_in_the_form(bench, browser):
    """With what was typed, the focus on the reason; put right, it is kept."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        enter(page, "A?", "long note")
        alert = page.get_by_role("alert")
        alert.wait_for()
        assert "A name is no question." in alert.inner_text()
        assert page.evaluate("() => document.activeElement.getAttribute('role')") == "alert"
        assert page.get_by_label("Note").input_value() == "long note"
        nothing_waits(page)
        page.get_by_label("Name").fill("A")
        page.get_by_role("button", name="Keep").click()
        page.wait_for_url(re.compile("kept="))
    assert steps(bench) == ["block A"]


def test_what_is_refused_later_is_shown_and_put_right(bench, browser):
    """It holds up no other entry; it can be mended or discarded, and is never lost silently."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        enter(page, "A?", "keep this")
        waits(page, "1 entry waits")
        enter(page, "B")
        waits(page, "2 entries wait")
        page.context.set_offline(False)
        waits(page, "1 entry was refused")
        waits_no_more(page)
        assert steps(bench) == ["block B"]
        page.get_by_role("button", name="Show them").click()
        page.get_by_text("Refused: A name is no question.").wait_for()
        assert faults(page) == []
        page.get_by_role("button", name="Put right").click()
        page.get_by_role("alert").wait_for()
        assert page.get_by_label("Note").input_value() == "keep this"
        page.get_by_label("Name").fill("A")
        page.get_by_role("button", name="Keep").click()
        page.wait_for_url(re.compile("kept="))
        nothing_waits(page)
    assert steps(bench) == ["block B", "block A"]


def test_a_refused_entry_can_be_discarded(bench, browser):
    """After a question, since it is in no other place."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        enter(page, "A?")
        waits(page, "1 entry waits")
        page.context.set_offline(False)
        waits(page, "refused")
        page.get_by_role("button", name="Show them").click()
        page.once("dialog", lambda dialog: dialog.dismiss())
        page.get_by_role("button", name="Discard").click()
        assert page.evaluate(DATABASE) == 1
        page.once("dialog", lambda dialog: dialog.accept())
        page.get_by_role("button", name="Discard").click()
        nothing_waits(page)
    assert steps(bench) == []


def test_a_mistake_of_the_program_holds_up_no_other_entry(bench, browser):
    """Tried three times, then set aside and shown."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        enter(page, "mistake")
        waits(page, "1 entry waits")
        enter(page, "B")  # each entry is another try for those before it
        tool(page, "Send now")
        waits(page, "1 entry was refused")
        page.wait_for_function(
            "() => !document.querySelector('#waiting').innerText.includes('waits')"
        )
    assert steps(bench) == ["block B"]


def test_a_photo_waits_too(bench, browser):
    """A picture of several megapixels, made smaller on the phone."""
    import io

    from PIL import Image

    picture = io.BytesIO()
    Image.effect_noise((2600, 700), 80).save(picture, "JPEG", quality=95)
    assert len(picture.getvalue()) > 1_000_000
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        page.get_by_label("Photo").set_input_files(
            {"name": "jar.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
        )
        enter(page, "A")
        waits(page, "1 entry waits")
        page.context.set_offline(False)
        nothing_waits(page)
    assert [name for name, _ in TAKEN] == ["jar.jpg"]
    assert 10_000 < TAKEN[0][1] < len(picture.getvalue())


def test_two_taps_are_one_entry(bench, browser):
    """Also where the script only helps."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.get_by_label("Name").fill("slow")
        page.evaluate("""() => { const button = document.querySelector('form.entry button');
            button.click(); button.click(); }""")
        page.wait_for_url(re.compile("kept="))
    assert steps(bench) == ["block slow"]


def test_two_tabs_send_each_entry_once(bench, browser):
    """By plain http there is no lock of the browser's own; the entries take turns all the same."""
    home = open_to_phones(bench)
    with opened(browser) as page:
        pair(bench, page, home)
        page.goto(f"{home}/noted/look")
        assert page.evaluate("() => [isSecureContext, 'locks' in navigator]") == [False, False]
        page.context.set_offline(True)
        for place, name in enumerate("ABCD", 1):
            enter(page, name)
            waits(page, f"{place} entr")
        page.context.set_offline(False)
        other = page.context.new_page()
        other.goto(f"{home}/find")
        nothing_waits(page)
        nothing_waits(other)
    assert steps(bench) == [f"block {name}" for name in "ABCD"]


def test_with_scripts_off_the_form_is_posted(bench, browser):
    """And what is wrong with it is said by the next page."""
    with opened(browser, scripts=False) as page:
        page.goto(f"{bench.home}/noted/look")
        enter(page, "A?")
        assert "A name is no question." in page.get_by_role("alert").inner_text()
        assert page.get_by_label("Name").input_value() == "A?"
        enter(page, "A")
        assert "kept=" in page.url
    assert steps(bench) == ["block A"]


def pair(served, page, home, name="kitchen phone"):
    """Pair by the address that the QR code holds."""
    code = served.desk.phones.open_code(served.desk.now())
    page.goto(f"{home}/pair#{code.text}")
    page.wait_for_function("() => document.querySelector('#f-code').value.length === 8")
    assert "#" not in page.url
    page.get_by_label("What to call this phone").fill(name)
    page.get_by_role("button", name="Pair").click()
    page.get_by_role("heading", name="This phone is paired").wait_for()


def test_a_phone_is_paired_by_the_address_of_the_qr_code(bench, browser):
    """The code fills itself in and leaves the address; what is entered carries the phone's name."""
    home = open_to_phones(bench)
    with opened(browser) as page:
        page.goto(f"{home}/noted/look")
        assert page.url == f"{home}/pair"
        assert faults(page) == []
        pair(bench, page, home)
        assert "keep the page open" in page.get_by_role("main").inner_text()
        assert faults(page) == []
        page.goto(f"{home}/noted/look")
        enter(page, "A")
        page.wait_for_url(re.compile("kept="))
        page.goto(f"{home}/history")
        assert "kitchen phone" in page.get_by_role("main").inner_text()


def test_six_wrong_codes_void_the_code(bench, browser):
    """On the phone, as it is seen."""
    home = open_to_phones(bench)
    bench.desk.phones.open_code(bench.desk.now())
    with opened(browser) as page:
        page.goto(f"{home}/pair")
        for _ in range(6):
            page.get_by_label("Code on the computer").fill("22222222")
            with page.expect_navigation():
                page.get_by_role("button", name="Pair").click()
        assert "void now" in page.get_by_role("alert").inner_text()
    assert bench.desk.phones.all() == []


def test_a_revoked_phone_keeps_its_entries(bench, browser):
    """It says so, leads to pairing, and sends them when it is paired again."""
    home = open_to_phones(bench)
    with opened(browser) as page:
        pair(bench, page, home)
        page.goto(f"{home}/noted/look")
        bench.desk.phones.revoke_all()
        enter(page, "A")
        waits(page, "not paired any more")
        assert steps(bench) == []
        page.get_by_role("link", name="Pair again").click()
        waits(page, "1 entry waits")
        pair(bench, page, home)
        nothing_waits(page)
    assert steps(bench) == ["block A"]


def test_by_plain_http_one_entry_after_the_other_goes_at_once(bench, browser):
    """A page that is left while it sends must not hold up the one that follows."""
    home = open_to_phones(bench)
    names = [f"A{number}" for number in range(8)]
    with opened(browser) as page:
        pair(bench, page, home)
        for name in names:
            page.goto(f"{home}/noted/look")
            page.goto(f"{home}/noted/look")
            enter(page, name)
            page.wait_for_url(re.compile(r"\?kept=[0-9a-f]{32}"))
    assert steps(bench) == [f"block {name}" for name in names]


def test_by_plain_http_the_page_says_that_it_must_stay_open(bench, browser):
    """There a phone cannot open it again while the computer is away."""
    home = open_to_phones(bench)
    with opened(browser) as page:
        pair(bench, page, home)
        page.goto(f"{home}/noted/look")
        page.context.set_offline(True)
        waits(page, "Keep this page open")
        enter(page, "A")
        waits(page, "1 entry waits")
        page.context.set_offline(False)
        nothing_waits(page)
    assert steps(bench) == ["block A"]


def test_unsent_entries_are_saved_to_a_file(bench, browser, tmp_path):
    """Without the network too; the file says all that the form said."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        page.get_by_label("Photo").set_input_files(
            {"name": "jar.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8picture"}
        )
        enter(page, "Ä", "with a photo")
        waits(page, "1 entry waits")
        with page.expect_download() as download:
            tool(page, "Save to a file")
        assert re.fullmatch(r"bench-[\d-]+\.unsent\.json", download.value.suggested_filename)
        download.value.save_as(tmp_path / "bench.unsent.json")

    told = json.loads((tmp_path / "bench.unsent.json").read_text(encoding="utf-8"))
    [entry] = told["entries"]
    assert entry["address"] == "/noted/look"
    assert ["name", "Ä"] in entry["fields"]
    assert entry["files"] == [
        {"field": "photo", "name": "jar.jpg", "kind": "image/jpeg", "base64": "/9hwaWN0dXJl"}
    ]


def test_a_saved_file_is_taken_in_once_on_the_computer(bench, browser, tmp_path):
    """And once is enough: the phone that comes back later adds nothing to it."""
    with opened(browser) as page:
        page.goto(f"{bench.home}/noted/look")
        page.context.set_offline(True)
        for place, name in enumerate("AB", 1):
            enter(page, name)
            waits(page, f"{place} entr")
        with page.expect_download() as download:
            tool(page, "Save to a file")
        file = tmp_path / "bench.unsent.json"
        download.value.save_as(file)
        with opened(browser, LAPTOP) as computer:
            computer.goto(f"{bench.home}/unsent")
            for told in ("2 kept, 0 there already", "0 kept, 2 there already"):
                computer.get_by_label("File").set_input_files(file)
                computer.get_by_role("button", name="Take it in").click()
                computer.get_by_text(told).wait_for()
            assert faults(computer) == []
        page.context.set_offline(False)
        nothing_waits(page)
    assert steps(bench) == ["block A", "block B"]
