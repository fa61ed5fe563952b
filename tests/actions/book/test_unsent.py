"""Files of unsent entries are read whole or refused with the place in them."""

from __future__ import annotations

import json
from copy import deepcopy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.actions.book.unsent import is_unsent, read_unsent, unsent_of
from spawnwright.errors import BadFile

ENTRY = {
    "step": "0123456789abcdef", "address": "/look", "title": "Look: CT36",
    "made_at": "2026-11-25T09:30:00+01:00", "fields": [["step", "0123456789abcdef"], ["far", "40"]],
    "files": [{"field": "photo", "name": "jar.jpg", "kind": "image/jpeg", "base64": "/9g="}],
}  # fmt: skip
WHOLE = {
    "format": "spawnwright unsent entries", "version": 1, "saved_at": "2026-11-25T10:00:00+01:00",
    "from": "http://bench.local:8377", "device": "kitchen phone", "entries": [ENTRY],
}  # fmt: skip


def test_a_file_is_read_whole(tmp_path):
    """Fields in their order, pictures as they were."""
    source = tmp_path / "bench.unsent.json"
    source.write_text(json.dumps(WHOLE), encoding="utf-8")
    found = read_unsent(source)

    assert is_unsent(source)
    assert found.device == "kitchen phone"
    assert found.entries[0].fields == (("step", "0123456789abcdef"), ("far", "40"))
    assert found.entries[0].pictures[0].content == b"\xff\xd8"
    assert found.entries[0].made_at.utcoffset().total_seconds() == 3600


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("step", None, "entry 1 is damaged"),
        ("step", "another", "entry 1 is damaged"),
        ("made_at", "2026-11-25T09:30:00", "entry 1 is damaged"),  # without its offset
        ("made_at", "yesterday", "entry 1 is damaged"),
        ("fields", [["far"]], "entry 1 is damaged"),
        ("fields", {"far": 40}, "entry 1 is damaged"),
        ("fields", [["far", 40]], "entry 1 is damaged"),
        ("files", [{"field": "photo"}], "entry 1 is damaged"),
        ("files", [ENTRY["files"][0] | {"base64": "%%%"}], "entry 1 is damaged"),
    ],
)
def test_a_damaged_entry_is_named(name, value, said):
    """Nothing is guessed."""
    told = deepcopy(WHOLE)
    told["entries"][0][name] = value

    with pytest.raises(BadFile, match=said):
        unsent_of(json.dumps(told), "bench.unsent.json")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no JSON"), ("[" * 100_000, "no JSON"), ("[]", "no unsent entries"),
        ('{"format": "spawnwright record book"}', "no unsent entries"),
        (json.dumps(WHOLE | {"version": 2}), "another version"),
        (json.dumps(WHOLE | {"entries": None}), "no list"),
        (json.dumps(WHOLE)[:-20], "cut off"),
    ],
)  # fmt: skip
def test_another_file_is_refused(text, said):
    """An export of a book above all, which ends the same."""
    with pytest.raises(BadFile, match=said):
        unsent_of(text, "x.json")


def test_a_missing_file_is_said(tmp_path):
    """By its name."""
    with pytest.raises(BadFile, match="There is no file"):
        read_unsent(tmp_path / "none.unsent.json")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=12,
)


@given(st.dictionaries(st.sampled_from([*ENTRY, "x"]), JSON))
def test_no_content_is_a_mistake_of_the_program(changes):
    """Whatever stands in an entry, it is read or refused."""
    told = json.dumps(WHOLE | {"entries": [ENTRY | changes]})
    try:
        found = unsent_of(told, "x")
    except BadFile:
        return
    assert len(found.entries) == 1
