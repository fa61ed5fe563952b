"""The code of a jar: short, easy to say and to type, with a check character.

23 signs, none of which looks like another and no vowel, so that no code is a word. 23 is prime;
the check character makes the sum of the signs, each times its place counted from the right,
divisible by 23. Then one wrong sign is always caught, since its place is no multiple of 23, and so
is a swap of two different signs, neighbors or not, since their places differ.
"""

from __future__ import annotations

from difflib import get_close_matches

from spawnwright.errors import Unusable

SIGNS = "23456789CDFHJKMNPRTVWXY"
SHORTEST = 4
LONGEST = 8
_VALUE = {sign: value for value, sign in enumerate(SIGNS)}
_LOOKS_LIKE = {"B": "8", "G": "6", "I": "J", "L": "J", "Q": "9", "S": "5", "U": "V", "Z": "2"}


def code_of(number: int) -> str:
    """The code of the jar of a number, 0 and up: four signs, five from number 12,167 on.

    >>> [code_of(number) for number in (0, 1, 2)]
    ['2222', 'CT36', 'RK46']
    """
    digits, first = SHORTEST - 1, 0
    while number - first >= 23**digits:
        first += 23**digits
        digits += 1
    if number < 0 or digits >= LONGEST:
        raise Unusable(f"There is no code for jar number {number}.")
    rest = (number - first) * _stride(digits) % 23**digits
    signs = ""
    for _ in range(digits):
        rest, value = divmod(rest, 23)
        signs = SIGNS[value] + signs
    return signs + _check_sign(signs)


def _stride(digits: int) -> int:
    """A step prime to 23, so that jars numbered one after the other differ in most signs."""
    step = 382 * int(23**digits) // 1000
    return step if step % 23 else step + 1


def _check_sign(signs: str) -> str:
    weighted = sum(_VALUE[sign] * place for place, sign in enumerate(reversed(signs), 2))
    return SIGNS[-weighted % 23]


def read_code(typed: str) -> str:
    """The code that was typed or said, in capitals; raises `Unusable` if it cannot be one.

    Spaces and hyphens are passed over. No sign is guessed: a letter that no code has is refused.
    """
    code = "".join(typed.upper().split()).replace("-", "")
    if not SHORTEST <= len(code) <= LONGEST:
        raise Unusable(
            f"{typed!r} is no code of a jar: it has {len(code)} signs, a code {SHORTEST} or more."
        )
    for sign in code:
        if sign not in _VALUE:
            like = f"; perhaps it is {_LOOKS_LIKE[sign]}" if sign in _LOOKS_LIKE else ""
            raise Unusable(f"{typed!r} is no code of a jar: no code has {sign!r}{like}.")
    if _check_sign(code[:-1]) != code[-1]:
        raise Unusable(
            f"{typed!r} is no code of a jar: one sign is wrong, or two are swapped. Read it again."
        )
    return code


def nearest_codes(typed: str, codes: list[str]) -> tuple[str, ...]:
    """The codes on file that look most like what was typed, at most three."""
    return tuple(get_close_matches("".join(typed.upper().split()), codes, 3, 0.5))
