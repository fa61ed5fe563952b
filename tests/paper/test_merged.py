"""One text for the same step of several soaks or runs."""

import pytest

from spawnwright.paper.merged import merged


@pytest.mark.parametrize(
    ("texts", "expected"),
    [
        (["Drain"], "Drain"),
        (["Drain", "Drain"], "Drain"),
        (["Soak 2 kg", "Soak 1.5 kg"], "Soak 2 / 1.5 kg"),
        (["until Tue 16 Mar 10:00", "until Wed 17 Mar 10:00"],
         "until Tue 16 / Wed 17 Mar 10:00"),
        (["7 jars"] * 4 + ["5 jars"], "7 (4×) / 5 jars"),
        (["Load run A, 7 jars", "Load run B, 7 jars"], "Load run A / B, 7 jars"),
        (["Keep cold", "Keep warm"], "1: Keep cold 2: Keep warm"),
        (["Dry", "Dry for 1 h", "Dry"], "1, 3: Dry 2: Dry for 1 h"),
    ],
)  # fmt: skip
def test_what_is_shared_stands_once(texts, expected):
    """Numbers and dates stand side by side; other differences keep the texts apart."""
    names = [str(number) for number in range(1, len(texts) + 1)]

    assert merged(texts, names) == expected


def test_no_value_is_lost():
    """Whatever differs, each text's own words are in the result."""
    texts = [
        f"{n} kg in {2 * n} L at {18 + n} °C, {n} h, {n} times, {n} min, {n} g" for n in (1, 2)
    ]

    said = merged(texts, ["1", "2"])
    assert all(text in said for text in texts)
