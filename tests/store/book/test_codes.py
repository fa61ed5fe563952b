"""Codes of jars: what the check character catches."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.errors import Unusable
from spawnwright.records.book.codes import SIGNS, code_of, nearest_codes, read_code

NUMBERS = st.integers(0, 12_167 + 279_841 + 6_000_000)
TYPED = string.digits + string.ascii_uppercase


def is_refused(code: str) -> bool:
    try:
        read_code(code)
    except Unusable:
        return True
    return False


@given(NUMBERS)
def test_one_wrong_sign_is_always_caught(number):
    """Every other digit or letter in every place."""
    code = code_of(number)

    assert read_code(code) == code
    for place, right in enumerate(code):
        for wrong in TYPED:
            if wrong != right:
                assert is_refused(code[:place] + wrong + code[place + 1 :])


@given(NUMBERS)
def test_a_swap_is_always_caught(number):
    """Of neighbors, and of any two signs that differ."""
    code = code_of(number)
    for one in range(len(code)):
        for two in range(one + 1, len(code)):
            signs = list(code)
            signs[one], signs[two] = signs[two], signs[one]
            if signs[one] != signs[two]:
                assert is_refused("".join(signs))


def test_each_jar_has_its_own_code_and_the_first_twelve_thousand_four_signs():
    """Short for a household, and enough for a spawn lab."""
    codes = [code_of(number) for number in range(120_000)]

    assert len(set(codes)) == len(codes)
    assert {len(code) for code in codes[:12_167]} == {4}
    assert {len(code) for code in codes[12_167:]} == {5}


def test_neighbors_on_the_shelf_differ_in_most_signs():
    """So that reading the next jar's code by mistake is noticed by eye as well."""
    for number in range(1000):
        one, two = code_of(number), code_of(number + 1)
        assert sum(a != b for a, b in zip(one, two, strict=True)) >= 3


def test_no_sign_looks_like_another_and_no_code_is_a_word():
    """No vowels; no 0, 1, I, L, O, Q, no B beside 8, G beside 6, S beside 5, Z beside 2."""
    assert not set("AEIOU01BGLQSZ") & set(SIGNS)
    assert len(SIGNS) == 23


def test_a_code_is_read_as_it_is_said_and_typed():
    """Small letters, spaces and a hyphen do not matter."""
    code = code_of(1)

    assert read_code(f" {code[:2].lower()}-{code[2:].lower()} ") == code


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "it has 0 signs"),
        ("222", "it has 3 signs"),
        ("B222", "no code has 'B'; perhaps it is 8"),
        ("2223", "one sign is wrong, or two are swapped"),
        ("２２２２", "no code has"),
        ("2" * 500, "it has 500 signs"),
    ],
)
def test_what_is_no_code_is_said_to_be_none(typed, says):
    with pytest.raises(Unusable, match=says):
        read_code(typed)


def test_there_is_an_end_to_the_numbers():
    with pytest.raises(Unusable, match="no code for jar number"):
        code_of(10**10)


def test_the_nearest_codes_on_file_are_offered():
    codes = [code_of(number) for number in range(50)]

    assert codes[7] in nearest_codes(codes[7][:-1] + "2", codes)
