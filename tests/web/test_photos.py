"""Photos: sent with a look or alone, kept in one step, served for good, refused with a reason."""

from __future__ import annotations

import io
import re

import pytest
from PIL import Image

from spawnwright.actions.book.past import recent_steps
from tests.web.conftest import step_of
from tests.web.shelf_book import ShelfBook


@pytest.fixture
def shelf(desk):
    """Four jars on day 10 with their forecast."""
    made = ShelfBook(desk)
    made.forecast()
    return made


def jpeg(color=(90, 140, 90), size=(320, 240)) -> bytes:
    """A photo of one color."""
    file = io.BytesIO()
    Image.new("RGB", size, color).save(file, "JPEG")
    return file.getvalue()


def sent(data: bytes, name: str = "jar.jpg"):
    """A file as a form sends it."""
    return ("photo", (name, data, "image/jpeg"))


def test_a_photo_comes_with_its_look_in_one_step(client, shelf, desk):
    """Undoing the step takes back both."""
    address = f"/j/{shelf.codes[0]}/look"
    step = step_of(client.get(address).text)
    answer = client.post(
        address, data={"step": step, "far": "50", "sign": "white"},
        files=[sent(jpeg()), sent(jpeg((10, 20, 30)))],
    )  # fmt: skip
    names = set(re.findall(r'src="/photos/([0-9a-f]{64})"', answer.text))
    with desk.book.read() as connection:
        last = recent_steps(connection, 1)[0].step
    client.post(f"/undo/{step}", data={"step": "f" * 20})

    assert last.id == step
    assert len(names) == 2
    assert shelf.looks() == []
    assert "/photos/" not in re.sub(r'"/photos/of/', "", client.get(f"/j/{shelf.codes[0]}").text)


def test_a_picture_is_served_for_good(client, shelf):
    """Its address is its content, so that it may be kept for ever; by paired devices only."""
    page = client.get(f"/j/{shelf.codes[0]}").text
    step = re.search(r'action="/photos/of/.*?name="step" value="([0-9a-f]+)"', page, re.DOTALL)
    assert step
    answer = client.post(
        f"/photos/of/{shelf.codes[0]}", data={"step": step[1], "note": "from above"},
        files=[sent(jpeg())],
    )  # fmt: skip
    name = re.search(r'src="/photos/([0-9a-f]{64})"', answer.text)
    assert name
    picture = client.get(f"/photos/{name[1]}")

    assert "from above" in answer.text
    assert picture.headers["content-type"] == "image/jpeg"
    assert picture.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert picture.headers["x-content-type-options"] == "nosniff"
    assert Image.open(io.BytesIO(picture.content)).size == (320, 240)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<html>no photo</html>", "This is no photo that can be read"),
        (jpeg()[:200], "damaged"),
        (jpeg() + b"\0" * 8_100_000, "up to 8 MB are taken"),
    ],
)
def test_what_is_no_photo_is_refused_and_the_look_is_not_half_kept(client, shelf, data, words):
    """The page again, with the sentence and what was tapped."""
    address = f"/j/{shelf.codes[0]}/look"
    step = step_of(client.get(address).text)
    answer = client.post(
        address, data={"step": step, "far": "50", "note": "dense"}, files=[sent(data)]
    )

    assert answer.status_code == 422
    assert words in answer.text
    assert "dense" in answer.text
    assert shelf.looks() == []


def test_limits_are_said_before(client, shelf):
    """On the page, beside the box, which offers camera and album alike."""
    page = client.get(f"/j/{shelf.codes[0]}/look").text

    assert "up to 8 MB and 40 megapixels each" in page
    assert "where they were taken is removed" in page
    assert "capture" not in page


def test_too_many_photos_are_refused(client, shelf):
    """Four at once."""
    address = f"/j/{shelf.codes[0]}/look"
    step = step_of(client.get(address).text)
    answer = client.post(address, data={"step": step}, files=[sent(jpeg())] * 5)

    assert answer.status_code == 422
    assert "up to 4 are taken at once" in answer.text


def test_no_photo_by_itself_is_refused(client, shelf):
    """The box was left empty."""
    answer = client.post(f"/photos/of/{shelf.codes[0]}", data={"step": "a" * 20})

    assert answer.status_code == 422
    assert "Choose one photo" in answer.text


@pytest.mark.parametrize("name", ["0" * 64, "nonsense", "..%2fsecret", "0" * 5000])
def test_a_picture_that_is_not_there(client, name):
    """A sentence, no mistake."""
    assert client.get(f"/photos/{name}").status_code == 404
