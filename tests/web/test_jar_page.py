"""A jar's page: how it stands, its story in order, lineage, what a spoiled jar needs, its chart."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest

from tests.web.conftest import step_of
from tests.web.shelf_book import ShelfBook, ago, change, hand, inoculated, record


@pytest.fixture
def shelf(desk):
    """Four jars on day 10 with their forecast."""
    made = ShelfBook(desk)
    made.forecast()
    return made


def words_of(page: str) -> str:
    """The text of a page."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").split())


def step_in(page: str, action: str) -> str:
    """The step's id in the form that is sent to an address."""
    form = re.search(rf'<form[^>]*action="{action}".*?</form>', page, re.DOTALL)
    assert form, f"no form for {action}"
    return step_of(form[0])


def test_the_state_is_said_in_a_sentence_beside_two_drawings(client, shelf):
    """What should be today, what was seen last, and the verdict on it."""
    shelf.look(0, days=1, percent=5, sign="as expected")
    page = client.get(f"/j/{shelf.codes[0]}").text
    said = words_of(page)

    assert "Behind the forecast" in said
    assert "Should be today 30 to 100 % white, likely 80 %" in said
    assert "Seen last Seen yesterday: 5 %" in said
    assert len(re.findall(r'<svg class="jar"[^>]*role="img" aria-label="[^"]+"', page)) == 2


def test_the_forecast_has_its_band_in_words(client, shelf):
    """Ready, white, shake; and what would narrow it."""
    said = words_of(client.get(f"/j/{shelf.codes[0]}").text)

    assert "Ready in 1 to 14 days, likely in 7" in said
    assert "Shake, at 30 % white: day 4 to 10, likely 5" in said
    assert "White to the last corner: day 8 to 19, likely 14" in said
    assert "What would narrow it most: two dated looks" in said


@pytest.mark.parametrize(
    ("ready", "words"),
    [
        ([None, None, None], "By the forecast it never gets ready on this shelf"),
        ([12, None, None], "Ready in 2 days at the soonest; perhaps never on this shelf"),
        ([5, 7, 9], "By the forecast it was ready 1 day ago at the latest"),
        ([5, 9, 15], "Ready any day by the forecast, in 5 days at the latest"),
        ([5, 13, 15], "Ready within 5 days, likely in 3"),
    ],
)
def test_every_kind_of_band_is_said(client, shelf, ready, words):
    """On day 10."""
    shelf.forecast(ready=ready)

    assert words in words_of(client.get(f"/j/{shelf.codes[0]}").text)


def test_the_story_is_whole_and_newest_first(client, shelf):
    """Filled, sterilized with its lethality, inoculated, looked at, shaken, used, harvested."""
    jar = shelf.jars[0]
    run = record(
        shelf.book, "sterilizer run",
        {"started_at": ago(10.5), "purpose": "sterilize", "gauge_pa": 103_421, "hold_min": 90,
         "f0_low_min": 12, "f0_likely_min": 21, "f0_high_min": 34}, 10.5,
    )  # fmt: skip
    record(shelf.book, "load", {"run": run, "jar": jar, "position": "upper layer"}, 10.4)
    shelf.look(0, days=5, percent=35, sign="drops", place="at the glass", note="clear")
    record(shelf.book, "shake", {"jar": jar, "at": ago(4)}, 4)
    block = record(
        shelf.book, "block", {"name": "Bucket 1", "container": "bucket", "made_at": ago(1)}, 1
    )
    record(shelf.book, "use", {"jar": jar, "block": block, "at": ago(1), "spawn_kg": 0.4}, 1)
    record(shelf.book, "harvest", {"block": block, "at": ago(0), "mass_kg": 0.7, "flush": 1})
    said = words_of(client.get(f"/j/{shelf.codes[0]}").text)
    story = said[said.index("Story") :]
    order = [
        "Harvest from Bucket 1: 700 g, flush 1", "Used in Bucket 1, 400 g", "Shaken",
        "Look: 35 % white, drops", "Where: at the glass", "Inoculated from LC 1, 2 mL",
        "Sterilized", "15 psi (103 kPa), held 90 min, upper layer",
        "likely 21 min, 12 to 34 (F0)", "Filled: quart", "70 % full",
    ]  # fmt: skip

    places = [story.index(each) for each in order]
    assert places == sorted(places)


def test_lineage_leads_both_ways(client, shelf):
    """Up to culture and strain, down to the jar that it gave spawn to."""
    inoculated(shelf.book, [shelf.jars[4]], 2, from_jar=shelf.jars[0], dose_g=60.0)
    parent = client.get(f"/j/{shelf.codes[0]}").text
    child = client.get(f"/j/{shelf.codes[4]}").text

    assert f'href="/cultures/{shelf.culture}"' in parent
    assert "Strain O" in words_of(parent)
    assert f'href="/j/{shelf.codes[4]}"' in parent[parent.index("Came of it") :]
    assert "Gave spawn to jar" in words_of(parent)
    assert f'href="/j/{shelf.codes[0]}"' in child[child.index("Came from") :]
    assert "generation 2" in words_of(child)


def test_what_became_of_it(client, shelf):
    """Said once; a second one is a correction and says so."""
    address = f"/j/{shelf.codes[0]}/outcome"
    page = client.get(address).text
    answer = client.post(
        address, data={"step": step_of(page), "outcome": "given away", "note": "to a friend"}
    )
    again = client.post(address, data={"step": "c" * 20, "outcome": "used"})
    page = client.get(address).text
    seen = re.search(r'name="seen" value="([^"]+)"', page)
    assert seen
    corrected = client.post(
        address,
        data={"step": step_of(page), "outcome": "used", "seen": seen[1], "corrects": "1"},
    )

    assert "Given away" in words_of(answer.text)
    assert "to a friend" in words_of(answer.text)
    assert again.status_code == 422
    assert "is given away already" in again.text
    assert "Used" in words_of(corrected.text)


def test_a_spoiled_jar_is_led_to_its_end(client, shelf):
    """Away, then a run of its own, then emptied outdoors; each step with its caution."""
    code, jar = shelf.codes[0], shelf.jars[0]
    page = client.get(f"/j/{code}/outcome?outcome=spoiled").text
    client.post(f"/j/{code}/outcome", data={"step": step_of(page), "outcome": "spoiled"})
    first = client.get(f"/j/{code}").text
    early = client.post(
        f"/j/{code}/back", data={"step": "d" * 20, "glass": "washed", "lid": "washed"}
    )
    second = client.post(f"/j/{code}/away", data={"step": step_in(first, f"/j/{code}/away")}).text
    run = record(
        shelf.book, "sterilizer run", {"started_at": ago(0.2), "purpose": "spoiled jars"}, 0.2
    )
    record(shelf.book, "load", {"run": run, "spoiled_jar": jar}, 0.1)
    third = client.get(f"/j/{code}").text
    from spawnwright.actions.book.jars import enter
    from spawnwright.records.book.steps import Entry
    from spawnwright.store.book.history import seen_of

    with shelf.book.read() as connection:
        seen = seen_of(connection, run)
    opened = Entry(run, "sterilizer run", {"opened_at": ago(0)}, seen)
    enter(shelf.book, hand(), "open", (opened,), ago(0))
    fourth = client.get(f"/j/{code}").text
    done = client.post(
        f"/j/{code}/back",
        data={"step": step_in(fourth, f"/j/{code}/back"), "glass": "washed", "lid": "binned"},
    )

    assert "Next: move it away, shut" in words_of(first)
    assert "do not smell at it" in first
    assert early.status_code == 422
    assert "must stay shut" in early.text
    assert "Next: sterilize it shut, in a run of its own" in words_of(second)
    assert 'href="/runs/new?purpose=spoiled"' in second
    assert "never above its rated pressure" in second
    assert "Next: let the canner cool and open it" in words_of(third)
    assert "Next: empty it outdoors" in words_of(fourth)
    assert "Jar washed, lid binned" in words_of(done.text)
    assert "Next:" not in words_of(done.text)


def test_a_jar_with_a_bad_sign_is_not_shaken(client, shelf):
    """No button, and a form that comes all the same is refused."""
    shelf.look(0, percent=50, sign="green")
    code = shelf.codes[0]
    page = client.get(f"/j/{code}").text
    refused = client.post(f"/j/{code}/shake", data={"step": "e" * 20})
    other = client.get(f"/j/{shelf.codes[1]}").text
    action = f"/j/{shelf.codes[1]}/shake"
    taken = client.post(action, data={"step": step_in(other, action)})

    assert f'href="/j/{code}/outcome?outcome=spoiled">It is spoiled</a>' in page
    assert "<h2>Forecast</h2>" not in page  # nothing says that it will be ready
    assert "Ready" not in client.get("/shelf").text.split(code)[1].split("</li>")[0]
    assert f'action="/j/{code}/shake"' not in page
    assert refused.status_code == 422
    assert "a shake would spread it" in refused.text
    assert "Shaken" in words_of(taken.text)


def test_once_shaken_the_question_is_another_one(client, shelf, desk):
    """The forecast counts the shake, at the share that was seen before it."""
    from spawnwright.actions.book.forecast import questions
    from spawnwright.store.book.history import current

    shelf.look(0, days=5, percent=35, sign="as expected")
    record(shelf.book, "shake", {"jar": shelf.jars[0], "at": ago(4)}, 4)
    with desk.book.read() as connection:
        rows = list(current(connection, shelf.jars[:2]).values())
        asked = questions(connection, rows)

    assert asked[shelf.jars[0]].question.shake_at == 0.35
    assert asked[shelf.jars[1]].question.shake_at is None


def test_a_doubt_upstream_is_said(client, shelf):
    """With what it comes from."""
    record(shelf.book, "quarantine", {"record": shelf.culture, "at": ago(1), "why": "sour"}, 1)
    said = words_of(client.get(f"/j/{shelf.codes[0]}").text)

    assert "In doubt: sour from LC 1." in said


def test_the_chart_says_in_tables_what_it_draws(client, shelf):
    """Looks and curve are on the page as text, and as data of the drawing."""
    shelf.look(0, days=5, percent=35, sign="as expected")
    page = client.get(f"/j/{shelf.codes[0]}/chart").text
    found = re.search(r'data-chart="([^"]+)"', page)
    assert found
    data = json.loads(unescape(found[1]))

    assert data["looks"] == [[5.0, 35.0]]
    assert data["curve"][3] == [10, 30, 80, 100]
    assert "5.0 Fri 20 Nov, 09:30 35 %" in words_of(page)
    assert "10 Wed 25 Nov 30 80 100" in words_of(page)
    assert "vendor/uplot.js" in page
    assert "vendor/uplot.js" not in client.get(f"/j/{shelf.codes[0]}").text


def test_a_chart_without_a_forecast_says_why(client, shelf):
    """Not inoculated: nothing to draw."""
    said = words_of(client.get(f"/j/{shelf.waiting}/chart").text)

    assert "Nothing was put into it yet." in said


def test_what_two_devices_said_differently_is_shown(client, shelf):
    """A dispute leads to where it is settled."""
    seen = _seen(shelf)
    from spawnwright.actions.book.jars import enter
    from spawnwright.records.book.steps import Entry

    for place in ("shelf 3", "fridge"):
        entry = Entry(shelf.jars[0], "jar", {"stored_where": place}, seen)
        enter(shelf.book, hand(), "move", (entry,), ago(0))
    page = client.get(f"/j/{shelf.codes[0]}").text

    assert "Two devices said different things" in words_of(page)
    assert f'href="/record/{shelf.jars[0]}"' in page


def _seen(shelf) -> tuple[str, ...]:
    from spawnwright.store.book.history import seen_of

    with shelf.book.read() as connection:
        return seen_of(connection, shelf.jars[0])


def test_a_used_jar_waits_for_its_glass(client, shelf):
    """A jar in the fridge is not free: jar and lid come back by a tap."""
    change(shelf.book, shelf.jars[0], {"outcome": "used", "outcome_at": ago(1)}, 1)
    code = shelf.codes[0]
    page = client.get(f"/j/{code}").text
    done = client.post(
        f"/j/{code}/back",
        data={"step": step_in(page, f"/j/{code}/back"), "glass": "washed", "lid": "washed"},
    )

    assert "Look</a>" not in page
    assert "Jar washed, lid washed" in words_of(done.text)
