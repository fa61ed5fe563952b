"""A look in three taps: what is shown beside it, what each tap keeps, what is refused."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from spawnwright.errors import Unusable
from spawnwright.records.book import grown
from spawnwright.records.book.codes import SIGNS, code_of, read_code
from spawnwright.records.book.signs import HARM, WATCH, how_worrying
from spawnwright.web import drawings
from tests.web.conftest import step_of
from tests.web.shelf_book import ShelfBook, ago, change


@pytest.fixture
def shelf(desk):
    """Four jars on day 10: 30 to 100 % white by the forecast, likely 80."""
    made = ShelfBook(desk)
    made.forecast()
    return made


def tap(client, address, **fields):
    """Post a look as its page's form would."""
    step = fields.pop("step", None) or step_of(client.get(address).text)
    return client.post(address, data={"step": step, **fields})


def test_the_page_shows_what_is_expected_and_what_is_normal(client, shelf):
    """The drawing with its words, and the catalog's words for the species."""
    page = client.get(f"/j/{shelf.codes[0]}/look").text

    assert "30 to 100\u00a0% white, likely 80\u00a0%" in page
    assert 'aria-label="How such a jar should look today: 30 to 100' in page
    assert "Clear yellow to amber drops" in page
    assert "Blue oyster" in page


@pytest.mark.parametrize("percent", [5, 25, 50, 75, 95])
@pytest.mark.parametrize("way", ["spread", "top", "wall", "through"])
def test_as_much_of_the_grain_is_white_as_is_meant(way, percent):
    """The drawn share, counted on the picture itself, is the share of the forecast."""
    drawn = drawings.drawn(way, 0.7, (percent, percent, percent))

    assert drawings.share_white(way, 0.7, drawn.thick[0]) == pytest.approx(percent / 100, abs=0.02)


def test_low_and_high_are_drawn_apart():
    """What is white in any case is within what may be white."""
    low, likely, high = drawings.drawn("spread", 0.7, (20, 50, 90)).thick

    assert low < likely < high


def test_a_share_and_a_sign_are_kept(client, shelf):
    """Three taps: 50 %, white, done; then back at the jar."""
    answer = tap(client, f"/j/{shelf.codes[0]}/look", far="50", sign="white")
    (look,) = shelf.looks()

    assert (look["percent"], look["sign"], look["note"]) == (50, "white", None)
    assert str(answer.url).startswith(f"http://127.0.0.1:8377/j/{shelf.codes[0]}?kept=")
    assert "Kept: look at" in answer.text


def test_as_drawn_keeps_no_number_that_nobody_saw(client, shelf):
    """Two taps: the sign stands for it."""
    tap(client, f"/j/{shelf.codes[0]}/look", far="as drawn")
    (look,) = shelf.looks()

    assert (look["percent"], look["sign"]) == (None, "as expected")


@pytest.mark.parametrize(
    ("word", "percent", "note"), [("less", 15, "less than 30 %"), ("more", 95, "more than 90 %")]
)
def test_less_and_more_keep_the_middle_of_what_they_leave_open(client, shelf, word, percent, note):
    """Less than 30 %: 15; more than 90 %: 95; the note says that it was said so."""
    shelf.forecast(high=[0, 20, 70, 90, 100, 100])
    tap(client, f"/j/{shelf.codes[0]}/look", far=word, sign="white", note="by lamp")
    (look,) = shelf.looks()

    assert look["percent"] == percent
    assert note in look["note"]
    assert look["note"].endswith("by lamp")


def test_a_look_that_waited_is_read_by_its_own_day(client, shelf):
    """Tapped on day 5, when 5 to 70 % were expected; it arrives on day 10."""
    client.post(
        f"/j/{shelf.codes[0]}/look", headers={"X-Outbox": "1"},
        data={"step": "a" * 32, "far": "more", "sign": "white",
              "at_device": ago(5).isoformat()},
    )  # fmt: skip
    (look,) = shelf.looks()

    assert look["percent"] == 85
    assert "more than 70 %" in look["note"]


def test_a_clock_that_runs_ahead_looks_into_no_future(client, shelf):
    """A phone that is a year ahead: the forecast of today counts."""
    client.post(
        f"/j/{shelf.codes[0]}/look", headers={"X-Outbox": "1"},
        data={"step": "a" * 32, "far": "less", "at_device": ago(-365).isoformat()},
    )  # fmt: skip

    assert shelf.looks()[0]["percent"] == 15


def test_more_than_all_white_is_not_offered(client, shelf):
    """The high end is 100 % on day 10; what is sent all the same is kept as words."""
    page = client.get(f"/j/{shelf.codes[0]}/look").text
    tap(client, f"/j/{shelf.codes[0]}/look", far="more", sign="white")

    assert "Less white" in page
    assert "More white" not in page
    assert shelf.looks()[0]["percent"] is None


def test_less_without_a_forecast_is_kept_as_words(client, desk):
    """Where there is no band there is no middle of it."""
    shelf = ShelfBook(desk)
    tap(client, f"/j/{shelf.codes[0]}/look", far="less", sign="white")
    (look,) = shelf.looks()

    assert look["percent"] is None
    assert look["note"] == "Less white than expected."


def test_without_a_forecast_only_shares_are_offered(client, desk):
    """Nothing is as drawn where nothing is drawn."""
    shelf = ShelfBook(desk)
    page = client.get(f"/j/{shelf.codes[0]}/look").text

    assert "As drawn" not in page
    assert 'value="75"' in page
    assert "being worked out" in page


def test_a_typed_share_is_closer_than_a_tap(client, shelf):
    """35 wins over 25; a decimal comma is understood."""
    tap(client, f"/j/{shelf.codes[0]}/look", far="25", percent="35,5 %", sign="white")

    assert shelf.looks()[0]["percent"] == 35.5


def test_a_bad_sign_leads_to_what_to_do(client, shelf):
    """After mold, the page that says spoiled, with the caution."""
    answer = tap(client, f"/j/{shelf.codes[0]}/look", far="50", sign="green", place="at the lid")

    assert answer.url.path == f"/j/{shelf.codes[0]}/outcome"
    assert "do not smell at it" in answer.text
    assert re.search(r'value="spoiled" required checked', answer.text)


def test_a_smell_is_dropped_where_mold_was_tapped(client, shelf):
    """The box is hidden then; what a browser sends of it all the same is not taken."""
    tap(client, f"/j/{shelf.codes[0]}/look", sign="black", smell="musty")
    tap(client, f"/j/{shelf.codes[1]}/look", sign="wet", smell="sour")

    assert shelf.looks(0)[0]["smell"] is None
    assert shelf.looks(1)[0]["smell"] == "sour"


def test_an_empty_look_is_refused_with_what_was_typed(client, shelf):
    """Nothing tapped, nothing kept."""
    answer = tap(client, f"/j/{shelf.codes[0]}/look", place="at the lid")
    empty = tap(client, f"/j/{shelf.codes[0]}/look")

    assert answer.status_code == 422
    assert "at the lid" in answer.text
    assert "Tap how far it is" in empty.text
    assert shelf.looks() == []


@pytest.mark.parametrize(
    "fields", [{"far": "150"}, {"far": "lots"}, {"far": "-1"}, {"sign": "purple"}]
)
def test_what_cannot_be_is_refused(client, shelf, fields):
    """With a sentence, and the page again."""
    answer = tap(client, f"/j/{shelf.codes[0]}/look", **fields)

    assert answer.status_code == 422
    assert "Keep the look" in answer.text
    assert shelf.looks() == []


def test_a_form_that_is_sent_twice_is_kept_once(client, shelf):
    """The step's id is the key."""
    address = f"/j/{shelf.codes[0]}/look"
    step = step_of(client.get(address).text)
    for _ in range(2):
        tap(client, address, step=step, far="50", sign="white")

    assert len(shelf.looks()) == 1


def test_many_jars_in_a_row(client, shelf):
    """By code, however it was typed, or by the address on the label; then the next."""
    code = shelf.codes[0]
    first = tap(client, "/look", code=f" {code[:2].lower()} {code[2:]} ", far="25", sign="white")
    tap(client, "/look", code=f"http://bench.local:8377/j/{shelf.codes[1]}", far="50", sign="white")

    assert first.url.path == "/look"
    assert f"Kept: look at {code}" in first.text
    assert shelf.looks(0)[0]["percent"] == 25
    assert shelf.looks(1)[0]["percent"] == 50


def test_a_wrong_code_keeps_what_was_tapped(client, shelf):
    """The sentence says what is wrong, and the taps are still there."""
    answer = tap(client, "/look", code="2223", far="50", sign="white", note="dense")

    assert answer.status_code == 422
    assert "one sign is wrong" in answer.text
    assert "dense" in answer.text
    assert re.search(r'value="50" checked', answer.text)


def test_an_outbox_gets_json(client, shelf):
    """A script that keeps entries gets the step, or the problem."""
    headers = {"X-Outbox": "1"}
    good = client.post(
        "/look", headers=headers,
        data={"step": "a" * 32, "code": shelf.codes[0], "far": "50", "sign": "white",
              "at_device": "2026-11-25T08:00:00+01:00"},
    )  # fmt: skip
    bad = client.post("/look", headers=headers, data={"step": "b" * 32, "code": "2223"})

    assert good.json()["kept"] == "a" * 32
    assert shelf.looks()[0]["at"] == "2026-11-25T07:00:00.000000Z"
    assert bad.status_code == 422
    assert "no code" in bad.json()["problem"]


def test_a_jar_that_is_gone_is_said_to_be(client, shelf):
    """A look is still taken: somebody may have found it at the back of the fridge."""
    change(shelf.book, shelf.jars[0], {"outcome": "used", "outcome_at": "2026-11-24T00:00:00Z"})

    assert "This jar is used since" in client.get(f"/j/{shelf.codes[0]}/look").text


def test_no_page_for_a_code_that_no_jar_has(client, shelf):
    """A sentence, no mistake."""
    assert client.get("/j/2223/look").status_code == 422
    free = next(code for code in map(code_of, range(100, 200)) if code not in shelf.codes)
    assert client.get(f"/j/{free}/look").status_code == 404


def test_every_sign_is_offered_and_none_of_mold_as_harmless(client, shelf):
    """The signs that the book takes are those that the page shows."""
    page = client.get("/look").text
    shown = re.findall(r'name="sign" id="[^"]+" value="([^"]+)"', page)

    assert sorted(shown) == sorted(grown.SIGNS)
    assert all(how_worrying(sign) in (WATCH, HARM) for sign in grown.MOLD_SIGNS)


def test_an_empty_shelf_leads_on(client):
    """Looking needs jars."""
    assert "No jar stands on the shelf yet" in client.get("/look").text


CODES_JS = Path(drawings.__file__).parent / "static" / "codes.js"


def test_the_script_knows_the_same_signs():
    """The alphabet of the phone is that of the book."""
    assert f'SIGNS = "{SIGNS}"' in CODES_JS.read_text(encoding="utf-8")


@pytest.mark.skipif(not shutil.which("node"), reason="no node; the browser tests check it as well")
def test_the_script_judges_codes_as_the_book_does():
    """Good codes, every wrong sign in one place, swaps, foreign letters, lengths."""
    words = [code_of(number) for number in (0, 1, 50, 12_166, 12_167, 200_000)]
    words += [f"{sign}T36" for sign in SIGNS] + [
        "TC36",
        "CT3",
        "B222",
        "ct36",
        " c t-3 6 ",
        "2222222222",
    ]
    program = (
        f"import {{ faultOf }} from {json.dumps(CODES_JS.as_uri())};"
        f"console.log(JSON.stringify({json.dumps(words)}.map((word) => faultOf(word) === '')));"
    )
    done = subprocess.run(
        ["node", "--input-type=module", "-e", program], capture_output=True, text=True, check=True
    )

    def is_good(word: str) -> bool:
        try:
            read_code(word)
        except Unusable:
            return False
        return True

    assert json.loads(done.stdout) == [is_good(word) for word in words]
