"""Batches: the list, one step by step, and what is entered at a step."""

from __future__ import annotations

import re

import pytest

from spawnwright.actions.book import run as book_run
from spawnwright.actions.book.batches import end_batch, finish_task
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.grain.grain_weighed import weighed
from spawnwright.store.book.batches import jars_of_batch
from spawnwright.store.book.cultures import all_cultures, jars_by_culture
from spawnwright.store.book.history import current
from tests.web.conftest import NOW, step_of
from tests.web.planned_book import days, hand, started, tasks
from tests.web.test_today import form_of


@pytest.fixture
def batch(desk, monkeypatch):
    """A batch whose grain is drained; the worker's sums are done here."""
    monkeypatch.setattr(desk.compute, "answer", lambda _, *arguments: weighed(*arguments))
    made = started(desk.book)
    there = tasks(desk.book, made, NOW)
    for key in ("make-lids", "soak-1", "wash-jars", "rinse-1", "simmer-1", "drain-1",
                "surface-dry-1"):  # fmt: skip
        finish_task(desk.book, hand(NOW), there[key].id, NOW)
    return made


def enter(client, desk, batch: str, what: str, key: str, **fields: str):
    """Send the form at a step."""
    address = f"/batches/{batch}/{what}/{tasks(desk.book, batch, NOW)[key].id}"
    form = form_of(client.get(f"/batches/{batch}").text, address)
    jar = re.search(r'name="jar" value="([^"]*)"', form)
    return client.post(address, data={"step": step_of(form), "jar": jar[1] if jar else ""} | fields)


def jars(desk, batch: str) -> list[dict]:
    with desk.book.read() as connection:
        return jars_of_batch(connection, batch)


def current_step(page: str) -> str:
    """What the page shows as the step that is next."""
    found = re.search(r'class="current" aria-current="step">.*?<h3>(.*?)</h3>', page, re.DOTALL)
    return found[1] if found else ""


def test_no_batch_yet(client):
    """The empty list says how one begins."""
    page = client.get("/batches").text

    assert "A batch begins with a plan" in page
    assert 'href="/plan"' in page
    assert "No batch has ended yet" in client.get("/batches?ended=1").text


def test_the_list_says_what_is_next(client, desk, batch):
    """Name, jars, next step, and whether it is late."""
    page = client.get("/batches").text

    assert "Oyster for the market" in page
    assert "5 jars wished for, none filled yet" in page
    assert "Next: Weigh the grain, 3.27 kg, Wed 25 Nov, 10:05" in page
    assert "late" not in page.replace("relate", "")


def test_a_long_list_has_pages(client, desk, monkeypatch):
    """Each batch once, the last begun first."""
    monkeypatch.setattr("spawnwright.actions.book.batch_page.PAGE", 2)
    for number in range(5):
        started(desk.book, f"Batch {number}")
    found, path = [], "/batches"
    while path:
        page = client.get(path).text
        found += re.findall(r"<strong>(Batch \d)</strong>", page)
        more = re.search(r'href="(/batches\?[^"]*after=[^"]*)">Older', page)
        path = more[1].replace("&amp;", "&") if more else ""

    assert sorted(found) == [f"Batch {number}" for number in range(5)]


def test_the_next_step_stands_open_with_its_numbers(client, batch):
    """What is done is folded, what comes later too."""
    page = client.get(f"/batches/{batch}").text

    assert current_step(page) == "Weigh the grain, 3.27 kg"
    assert "<summary>7 steps over</summary>" in page
    assert "<dt>drained grain</dt><dd>3.27 kg</dd>" in page
    assert "<dt>is good</dt><dd>3.09 kg to 3.54 kg</dd>" in page
    assert "Ready Sat 5 Dec to Wed 16 Dec, likely <strong>Wed 9 Dec</strong>" in page


@pytest.mark.parametrize(
    ("drained", "low", "high", "says"),
    [("3.27", 0.46, 0.50, "fill"), ("4.1", 0.56, 0.60, "dry longer"),
     ("2.7", 0.35, 0.40, "back into hot water")],
)  # fmt: skip
def test_weighing_tells_the_moisture(client, desk, batch, drained, low, high, says):
    """By weight: 1 - 0.88 · 1.99 · 0.97 / drained; the scale's advice follows the target."""
    page = enter(client, desk, batch, "weigh", "weigh-1", drained=drained, dry="1.99",
                 texture="pours").text  # fmt: skip

    likely = 1 - 0.88 * 1.99 * 0.97 / float(drained)
    assert low < likely < high
    assert f"By weight {likely * 100:.0f} % water" in page
    assert f"By the scale: <strong>{says}</strong>" in page
    assert current_step(page) == "Fill 7 jars"


@pytest.mark.parametrize(
    ("drained", "says"), [("4.1", "Too wet by the scale"), ("2.7", "Too dry by the scale")]
)
def test_grain_that_is_not_ready_is_said_before_the_filling(client, desk, batch, drained, says):
    """Above the steps, not among those that are over; and it can be weighed again from there."""
    page = enter(client, desk, batch, "weigh", "weigh-1", drained=drained, dry="1.99",
                 texture="pours").text  # fmt: skip
    above, step = page.split("<h2>Steps</h2>")

    assert says in above
    assert "Weigh again" in above
    assert re.search(r'value="pours" checked', step)


def test_grain_that_is_ready_holds_nothing_up(client, desk, batch):
    """No caution where the scale says: fill."""
    page = enter(client, desk, batch, "weigh", "weigh-1", drained="3.27", dry="1.99").text

    assert "by the scale:" not in page


def test_weighing_needs_something(client, desk, batch):
    """A form without a weight and without a texture keeps nothing."""
    answer = enter(client, desk, batch, "weigh", "weigh-1", drained="", dry="1.99")

    assert answer.status_code == 422
    assert "Give what the drained grain weighs, or how it feels" in answer.text
    assert re.search(r'name="dry"[^>]*value="1.99"', answer.text)
    assert tasks(desk.book, batch, NOW)["weigh-1"].done_at is None


def test_filled_jars_get_codes_to_write_on_lids(client, desk, batch):
    """Each with the plan's name beside it; the grain that was weighed is theirs; one step."""
    enter(client, desk, batch, "weigh", "weigh-1", drained="3.27", dry="1.99", texture="sticks")

    page = enter(client, desk, batch, "fill", "fill-1", jars="7", each="467", controls="1").text
    made = jars(desk, batch)

    assert [jar["name"] for jar in made] == [f"A{number}" for number in range(1, 8)]
    assert [bool(jar["is_control"]) for jar in made] == [False] * 6 + [True]
    assert {(jar["jar_kind"], jar["fill"], jar["grain_kg"]) for jar in made} == {
        ("quart", 0.7, 0.467)
    }
    for jar in made:
        assert f'<span class="code">{jar["code"]}</span>' in page
    with desk.book.read() as connection:
        (grain,) = current(connection, {jar["grain_batch"] for jar in made}).values()
    assert (grain["drained_kg"], grain["texture"]) == (3.27, "sticks")
    assert tasks(desk.book, batch, NOW)["fill-1"].done_at == NOW
    undo = re.search(r'action="(/undo/\w+)"', page)
    client.post(undo[1], data={"step": step_of(page)})
    assert jars(desk, batch) == []
    assert tasks(desk.book, batch, NOW)["fill-1"].done_at is None


def test_filling_without_weighing_keeps_the_texture(client, desk, batch):
    """Not everybody weighs; the jars still know their grain."""
    enter(client, desk, batch, "fill", "fill-1", jars="5", texture="pours")

    made = jars(desk, batch)
    with desk.book.read() as connection:
        (grain,) = current(connection, {jar["grain_batch"] for jar in made}).values()

    assert len(made) == 5
    assert (grain["grain"], grain["texture"], grain["drained_kg"]) == ("rye", "pours", None)


@pytest.mark.parametrize(("fields", "says"), [
    ({"jars": ""}, "How many jars were filled is missing"),
    ({"jars": "0"}, "0 jars cannot be filled"), ({"jars": "5000"}, "5000 jars cannot be filled"),
    ({"jars": "2.5"}, "it is counted in whole ones"), ({"jars": "3", "controls": "3"}, "3 control"),
    ({"jars": "x"}, "x"),
])  # fmt: skip
def test_a_number_of_jars_that_cannot_be(client, desk, batch, fields, says):
    """Said at the form, which keeps what was typed."""
    answer = enter(client, desk, batch, "fill", "fill-1", **({"each": "467"} | fields))

    assert answer.status_code == 422
    assert says in answer.text
    assert jars(desk, batch) == []


def test_filling_twice_is_one_filling(client, desk, batch):
    """The same form again gives the same jars; another one is refused while the step is done."""
    task = tasks(desk.book, batch, NOW)["fill-1"].id
    form = {"step": "0123456789abcdef", "jars": "4", "jar": "quart"}

    first = client.post(f"/batches/{batch}/fill/{task}", data=form)
    again = client.post(f"/batches/{batch}/fill/{task}", data=form)
    other = client.post(f"/batches/{batch}/fill/{task}", data=form | {"step": "fedcba9876543210"})

    assert (first.status_code, again.status_code, other.status_code) == (200, 200, 422)
    assert "is done already" in other.text
    assert len(jars(desk, batch)) == 4


def test_a_refused_form_does_not_lend_its_step_to_another(client, desk, batch):
    """Else what is then sent by the other form would count as sent before."""
    task = tasks(desk.book, batch, NOW)["fill-1"].id
    form = {"step": "0123456789abcdef", "jars": "x", "jar": "quart"}
    answer = client.post(f"/batches/{batch}/fill/{task}", data=form)

    steps = re.findall(r'name="step" value="(\w+)"', answer.text)

    assert steps.count("0123456789abcdef") == 1
    assert len(steps) == len(set(steps))


def test_the_canner_is_entered_on_the_page_of_its_run(client, desk, batch):
    """While a run goes on the batch leads to it; when it was begun its steps are met."""
    enter(client, desk, batch, "fill", "fill-1", jars="7")
    enter_weight = tasks(desk.book, batch, NOW)["weigh-1"]
    finish_task(desk.book, hand(NOW), enter_weight.id, NOW)
    before = client.get(f"/batches/{batch}").text
    made = {jar["id"]: "" for jar in jars(desk, batch)}
    run = book_run.begin_run(desk.book, hand(NOW), {"batch": batch}, made, NOW).record

    page = client.get(f"/batches/{batch}").text

    assert current_step(before) == "Load run A, 7 jars"
    assert f'href="/runs/new?batch={batch}"' in before
    assert f'href="/runs/{run}"' in page
    assert current_step(page) == "Inoculate 7 jars, 1.9 mL each"
    assert f'href="/inoculate?batch={batch}"' in page
    assert "by what was entered" in page


def test_two_phones_are_both_kept(client, desk, batch):
    """One says done, the other skipped, neither had seen the other; nothing is lost."""
    task = tasks(desk.book, batch, NOW)["weigh-1"]
    seen = " ".join(task.seen)

    client.post(f"/tasks/{task.id}/done", data={"step": "0123456789abcdef", "seen": seen})
    answer = client.post(f"/tasks/{task.id}/skip", data={"step": "fedcba9876543210", "seen": seen})

    assert answer.status_code == 200
    with desk.book.read() as connection:
        row = current(connection, [task.id])[task.id]
    assert row["disputed"]


def test_a_batch_gets_another_name_and_an_end(client, desk, batch):
    """And goes on again; its open steps wait only while it goes on."""
    page = client.get(f"/batches/{batch}").text
    seen = re.search(r'name="seen" value="([^"]*)"', form_of(page, f"/batches/{batch}/name"))[1]

    name = {"step": "0123456789abcde0", "name": "Spring", "seen": seen}
    named = client.post(f"/batches/{batch}/name", data=name)
    end = {"step": "0123456789abcde1", "note": "two green"}
    ended = client.post(f"/batches/{batch}/end", data=end)
    page = client.get(f"/batches/{batch}").text
    today = client.get("/").text

    assert "<h1>Spring</h1>" in named.text
    assert "No batch goes on" in ended.text
    assert "two green" in page
    assert current_step(page) == ""
    assert "Spring" in client.get("/batches?ended=1").text
    assert "Spring" not in today
    client.post(f"/batches/{batch}/go-on", data={"step": "0123456789abcde2"})
    assert current_step(client.get(f"/batches/{batch}").text) == "Weigh the grain, 3.27 kg"


def test_an_ended_batch_says_so(client, desk, batch):
    """Ending twice is said, not kept."""
    end_batch(desk.book, hand(NOW), batch, NOW)

    page = client.get(f"/batches/{batch}").text

    assert "ended Wed 25 Nov" in page
    assert "It goes on" in page
    assert "End this batch" not in page


@pytest.mark.parametrize("path", ["/batches/nonesuch", "/batches/nonesuch/codes"])
def test_a_batch_that_is_not_there(client, path):
    """A sentence and a way back."""
    answer = client.get(path)

    assert answer.status_code == 404
    assert "Back" in answer.text


def test_undoing_the_beginning_leads_back_to_the_list(client):
    """Not to a page that cannot be shown; and the undoing can be undone there."""
    page = client.post("/jars/new", data=FORM)
    undo = re.search(r'action="(/undo/\w+)"', page.text)[1]
    following = re.search(r'name="next" value="([^"]*)"', page.text)[1]

    gone = client.post(undo, data={"step": "0123456789abcde0", "next": following})
    again = re.search(r'action="(/undo/\w+)"', gone.text)[1]
    back = client.post(again, data={"step": "0123456789abcde1", "next": "/batches"})

    assert (gone.status_code, gone.url.path) == (200, "/batches")
    assert "No batch goes on" in gone.text
    assert "mane of 2026-11-15" in back.text


def test_a_batch_whose_jar_is_gone_from_the_kit_is_still_shown(client, desk, tmp_path):
    """A wish names a jar of the grower's own; the file with it may go, the batch stays."""
    from tests.web.shelf_book import record

    text = '[wish]\nspecies = "blue oyster"\njars = 3\nready_by = 2027-01-15\n'
    text += '[kit]\njar = "my jar"\njars_free = 3\ncanner = "two-layer"\n'
    batch = record(desk.book, "batch", {"name": "Old", "wish": text, "started_at": NOW})

    assert client.get(f"/batches/{batch}").status_code == 200


FORM = {"step": "0123456789abcdef", "count": "6", "species": "lions-mane", "jar": "quart",
        "filled": "2026-11-15", "inoculated": "2026-11-17", "shelf": "21", "grain": "rye",
        "fill": "70"}  # fmt: skip


def test_jars_that_stand_already(client, desk):
    """A batch without a plan, a culture, six jars with codes, all as one step."""
    answer = client.post("/jars/new", data=FORM)
    again = client.post("/jars/new", data=FORM)
    batch = answer.url.path.split("/")[2]
    made = jars(desk, batch)

    assert answer.url.path == again.url.path
    assert len(made) == 6
    assert answer.text.count('<span class="code">') == 6
    assert {(jar["fill"], jar["filled_at"][:10]) for jar in made} == {(0.7, "2026-11-15")}
    with desk.book.read() as connection:
        made_from = [row["id"] for row in all_cultures(connection)]
        assert list(jars_by_culture(connection, made_from).values()) == [(6, 0)]
    assert "Lion&#39;s mane of 2026-11-15" in client.get(f"/batches/{batch}").text
    assert "6 jars here" in client.get("/batches").text


@pytest.mark.parametrize(("changes", "says"), [
    ({"count": ""}, "How many jars is missing"), ({"count": "0"}, "0 jars cannot be taken in"),
    ({"filled": ""}, "When they were filled is missing"),
    ({"filled": "2027-01-01"}, "yet to come"), ({"inoculated": "2026-11-10"}, "after they are"),
    ({"inoculated": "2026-12-10"}, "yet to come"), ({"filled": "last week"}, "no date"),
    ({"fill": "half"}, "half"), ({"shelf": "7 m"}, "7 m"),
])  # fmt: skip
def test_jars_that_cannot_stand(client, desk, changes, says):
    """The sentence says which, and the form keeps what was typed."""
    answer = client.post("/jars/new", data=FORM | changes)

    assert answer.status_code == 422
    assert says in answer.text
    assert 'value="lions-mane" selected' in answer.text
    assert "No batch goes on" in client.get("/batches").text


def test_a_step_of_another_zone_is_shown_in_the_kits(client, desk, batch):
    """Times are the grower's, wherever the server's clock is."""
    from spawnwright.actions.own_kit.kit import change_kit

    change_kit({"time_zone": "Asia/Tokyo"})

    assert "Wed 25 Nov, 19:05" in client.get(f"/batches/{batch}").text


def test_hands_are_told_apart(desk, batch):
    """The history says who did it, on which device."""
    lids = tasks(desk.book, batch, NOW)["weigh-1"]
    finish_task(desk.book, Hand("Ben", "laptop", NOW + days(0.1)), lids.id, NOW + days(0.1))

    from spawnwright.actions.book.past import recent_steps

    with desk.book.read() as connection:
        last = recent_steps(connection, 1)[0].step
    assert (last.who, last.device, last.title) == (
        "Ben",
        "laptop",
        "done: Weigh the grain, 3.27 kg",
    )


def test_a_run_takes_elevation_and_canner_from_the_plan(client, desk, batch):
    """Nobody types them again, and the clock does not take the level of the sea for a mountain."""
    enter(client, desk, batch, "fill", "fill-1", jars="7", each="467")
    page = client.get(f"/runs/new?batch={batch}").text

    assert re.search(r'name="elevation"[^>]*value="500"', page)
    assert re.search(r'"two-layer" selected>two layer \(7 quart or 18 pint jars\)', page)


def test_inoculating_takes_its_dose_from_the_plan_and_comes_back_from_a_new_culture(
    client, desk, batch
):
    """The plan says 1.9 mL; a culture entered on the way leads back to the jars that wait."""
    enter(client, desk, batch, "fill", "fill-1", jars="7", each="467")
    empty = client.get(f"/inoculate?batch={batch}").text
    assert f'href="/cultures/new?batch={batch}"' in empty

    address = f"/cultures/new?batch={batch}"
    page = client.get(address).text
    assert re.search(r'<option value="blue-oyster" selected', page)
    form = {"step": step_of(page), "name": "Syringe 1", "form": "syringe",
            "species": "blue-oyster", "volume": "20"}  # fmt: skip
    answer = client.post(address, data=form)

    assert answer.url.path == "/inoculate"
    assert "Kept: culture Syringe 1" in answer.text
    assert re.search(r'name="dose"[^>]*value="1.9"', answer.text)
    assert answer.text.count('name="jar"') == 7
    assert "Syringe 1, 20 mL left</option>" in answer.text
