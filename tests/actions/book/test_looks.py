"""Looks, rounds, photos and shakes."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from PIL import Image
from sqlalchemy import select

from spawnwright.actions.book.looks import (
    add_look,
    add_photo,
    add_shake,
    photo_picture,
    round_as_expected,
)
from spawnwright.actions.book.photo import MOST_BYTES, prepared
from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.store.book.history import latest_steps
from spawnwright.store.book.pictures import contents
from spawnwright.store.book.shelf import story_of
from spawnwright.store.book.tables import LOOKS
from tests.actions.book.entering import HAND, filled, hand, row, sent
from tests.store.book.entering import START, change


def looks(book) -> list[tuple]:
    with book.read() as connection:
        query = select(LOOKS.c.jar, LOOKS.c.sign, LOOKS.c.percent).where(~LOOKS.c.undone)
        return [tuple(each) for each in connection.execute(query)]


def test_a_look_is_kept_once_however_often_it_arrives(book):
    (jar,) = filled(book, 1)
    by = sent(50)

    first = add_look(book, by, jar, {"percent": 30, "sign": "white"}, START)
    again = add_look(book, by, jar, {"percent": 30, "sign": "white"}, START)

    assert again.record == first.record
    assert (first.kept.was_there, again.kept.was_there) == (False, True)
    assert looks(book) == [(jar, "white", 30.0)]
    assert row(book, first.record)["at"] == "2026-01-12T20:00:00.000000Z"


def test_no_smell_where_mold_may_be(book):
    """It is refused with the reason, and taken with any other sign."""
    (jar,) = filled(book, 1)
    with pytest.raises(Unusable, match="do not smell at it"):
        add_look(book, HAND, jar, {"sign": "green", "smell": "musty"}, START)

    add_look(book, HAND, jar, {"sign": "slime", "smell": "sour"}, START)
    add_look(book, HAND, jar, {"sign": "green"}, START)
    assert len(looks(book)) == 2


def test_a_look_needs_a_jar_that_is_there(book):
    with pytest.raises(UnknownName):
        add_look(book, HAND, "no-such-jar", {"percent": 3}, START)


def test_a_round_is_one_step_with_a_look_for_each_jar(book):
    """Exceptions with what was seen instead; sent again it is kept once."""
    jars = filled(book, 5)
    by = sent(100)
    others = {jars[3]: {"sign": "green", "place": "at the bottom"}, jars[4]: {"percent": 5}}

    round_as_expected(book, by, jars, START, others)
    assert round_as_expected(book, by, jars, START, others).was_there

    seen = {jar: (sign, percent) for jar, sign, percent in looks(book)}
    assert len(looks(book)) == 5
    assert [seen[jar] for jar in jars] == [
        ("as expected", None), ("as expected", None), ("as expected", None), ("green", None),
        (None, 5.0),
    ]  # fmt: skip
    with book.read() as connection:
        assert latest_steps(connection)[0].title == "round of 5 jars"


def test_a_jar_that_had_its_outcome_by_then_is_no_part_of_a_round(book):
    """A round that was made before, and arrives late, is taken."""
    jars = filled(book, 3)
    change(book, "jar", jars[1], outcome="spoiled", outcome_at=hand(50).at)

    with pytest.raises(Contradiction, match=r"\(spoiled\): no longer on the shelf"):
        round_as_expected(book, hand(60), jars, START)
    assert looks(book) == []

    round_as_expected(book, hand(40), jars, START)
    assert len(looks(book)) == 3


def test_a_round_names_each_jar_once_and_its_exceptions_are_of_it(book):
    jars = filled(book, 2)
    with pytest.raises(Contradiction, match="each jar once"):
        round_as_expected(book, HAND, [jars[0], jars[0]], START)
    with pytest.raises(Contradiction, match="exceptions are jars of the round"):
        round_as_expected(book, HAND, [jars[0]], START, {jars[1]: {"percent": 1}})
    with pytest.raises(Unusable, match="1 to 2000"):
        round_as_expected(book, HAND, [], START)
    with pytest.raises(Unusable, match="says something"):
        round_as_expected(book, HAND, jars, START, {jars[1]: {"place": "top"}})
    assert looks(book) == []


def test_jars_are_shaken_in_one_step(book):
    jars = filled(book, 2)
    add_shake(book, hand(200), jars, START)

    with book.read() as connection:
        assert len(story_of(connection, jars[0])["shake"]) == 1
        assert latest_steps(connection)[0].title.startswith("shake ")


def jpeg(width: int, height: int, **how) -> bytes:
    """Left half red, right half blue, as a camera would write it."""
    image = Image.new("RGB", (width, height), "red")
    image.paste("blue", (width // 2, 0, width, height))
    file = io.BytesIO()
    image.save(file, "JPEG", quality=90, **how)
    return file.getvalue()


def tagged() -> Image.Exif:
    """Tags as a phone writes them: turned, a place, a camera, a remark."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "An invented camera"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 26.0), 3: "W", 4: (0.0, 7.0, 39.0)})
    return exif


def test_a_photo_loses_its_place_and_every_tag_after_it_was_turned(book):
    """Orientation 6: the camera lay on its side; its left edge is the upper one."""
    (jar,) = filled(book, 1)
    look = add_look(book, HAND, jar, {"percent": 5}, START).record
    data = jpeg(400, 200, exif=tagged(), comment=b"a remark")
    assert b"invented camera" in data

    photo = add_photo(book, hand(3), jar, look, data, START).record

    kept = row(book, photo)
    assert (kept["width"], kept["height"], kept["look"]) == (200, 400, look)
    assert kept["taken_at"] == "2026-01-10T21:00:00.000000Z"
    found = photo_picture(book, photo)
    assert found.content == kept["content"]
    for trace in (b"Exif", b"invented", b"remark", b"GPS"):
        assert trace not in found.data
    with Image.open(io.BytesIO(found.data)) as shown:
        assert (shown.format, shown.size, dict(shown.getexif())) == ("JPEG", (200, 400), {})
        top, bottom = shown.getpixel((100, 50)), shown.getpixel((100, 350))
    assert top[0] > 200 > 60 > top[2]
    assert bottom[2] > 200 > 60 > bottom[0]


def test_a_large_photo_is_made_small_and_a_small_one_is_left(book):
    """1600 pixels on the longer side show a speck of green; the shape stays."""
    small, large = prepared(jpeg(300, 200)), prepared(jpeg(4000, 3000))

    assert (small.width, small.height) == (300, 200)
    assert (large.width, large.height) == (1600, 1200)
    assert len(large.data) < 200_000


@pytest.mark.parametrize(("mode", "form"), [("RGBA", "PNG"), ("P", "PNG"), ("L", "WEBP"),
                                            ("CMYK", "JPEG"), ("I;16", "PNG")])  # fmt: skip
def test_other_kinds_of_picture_become_a_jpeg(mode, form):
    """What is clear becomes white."""
    file = io.BytesIO()
    Image.new(mode, (40, 30)).save(file, form)

    found = prepared(file.getvalue())

    with Image.open(io.BytesIO(found.data)) as shown:
        assert (shown.format, shown.mode, shown.size) == ("JPEG", "RGB", (40, 30))
        if mode == "RGBA":
            assert min(shown.getpixel((5, 5))) > 250


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is huge."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no photo that can be read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no photo that can be read"),
        (b"GIF89a" + bytes(50), "no photo that can be read"),
        (bytes(MOST_BYTES + 1), "up to 8 MB are taken"),
        (bomb(8000, 5001), r"\(8000 by 5001 pixels\) is larger than 40 megapixels"),
        (bomb(12000, 12000), "larger than 40 megapixels"),
        (bomb(60000, 60000), "larger than 40 megapixels"),
        (jpeg(400, 300)[:2000], "is damaged"),
        (bomb(100, 100), "is damaged"),
    ],
)
def test_what_is_no_photo_is_too_large_or_damaged_is_refused_and_leaves_nothing(book, data, says):
    """A bomb is known by its header, before anything is unpacked."""
    (jar,) = filled(book, 1)

    with pytest.raises(Unusable, match=says) as refusal:
        add_photo(book, HAND, jar, None, data, START)

    assert len(str(refusal.value)) < 600
    with book.read() as connection:
        assert contents(connection) == []


def test_a_photo_sent_twice_is_kept_once_and_one_of_another_jars_look_is_refused(book):
    one, two = filled(book, 2)
    look = add_look(book, HAND, one, {"percent": 5}, START).record
    by, data = sent(), jpeg(40, 30)

    first = add_photo(book, by, one, look, data, START)
    assert add_photo(book, by, one, look, data, START).record == first.record
    with pytest.raises(Contradiction, match="at another jar"):
        add_photo(book, HAND, two, look, data, START)

    with book.read() as connection:
        assert len(contents(connection)) == 1
    assert photo_picture(book, "no-such-photo") is None
    assert photo_picture(book, one) is None
