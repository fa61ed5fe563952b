"""How a record follows from what was said of it."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from spawnwright.records.book.steps import Said, fold, undone_steps


def test_one_entry_is_the_record():
    folded = fold([Said("a", {"x": 1})])

    assert (folded.fields, folded.tips, folded.disputed) == ({"x": 1}, ("a",), {})


def test_an_entry_made_without_seeing_another_stands_beside_it():
    """A fork, and an entry that has seen both ends of it."""
    fork = [Said("a", {"x": 1}), Said("b", {"x": 2}, ("a",)), Said("c", {"x": 3}, ("a",))]

    assert fold(fork).disputed == {"x": [("b", 2), ("c", 3)]}
    assert fold(fork).tips == ("b", "c")
    assert fold([*fork, Said("d", {"x": 2}, ("b", "c"))]).disputed == {}


def test_an_entry_that_has_seen_only_one_of_two_leaves_the_other_in_dispute():
    """Settling needs both to be seen."""
    folded = fold(
        [
            Said("a", {"x": 1}),
            Said("b", {"x": 2}, ("a",)),
            Said("c", {"x": 3}, ("a",)),
            Said("d", {"x": 4}, ("c",)),
        ]
    )

    assert folded.disputed == {"x": [("b", 2), ("d", 4)]}


def test_an_undone_entry_is_passed_over_but_what_it_had_seen_still_counts():
    """After the undo the value before it holds again; whoever saw the undone one saw the first."""
    said = [
        Said("a", {"x": 1}),
        Said("b", {"x": 2}, ("a",), undone=True),
        Said("c", {"y": 3}, ("b",)),
    ]

    assert fold(said).fields == {"x": 1, "y": 3}
    assert fold(said).disputed == {}


@given(st.integers(1, 30), st.randoms(use_true_random=False))
def test_writers_who_see_everything_never_disagree(count, dice):
    """Each entry has seen the tips: the last value holds, whatever was written."""
    said = [Said("0", {"x": 0, "y": 0})]
    for number in range(1, count):
        fields = {dice.choice("xy"): number}
        said.append(Said(str(number), fields, fold(said).tips))

    folded = fold(said)
    assert folded.disputed == {}
    for name in "xy":
        assert folded.fields[name] == [s.fields[name] for s in said if name in s.fields][-1]


@given(st.integers(2, 20))
def test_writers_who_see_only_the_beginning_all_stand(count):
    """No entry is lost to another, however many devices were offline."""
    said = [Said("0", {"x": 0})]
    said += [Said(str(number), {"x": number}, ("0",)) for number in range(1, count)]

    folded = fold(said)
    assert folded.tips == tuple(str(number) for number in range(1, count))
    assert folded.fields == {"x": count - 1}
    assert [value for _, value in folded.disputed.get("x", [("1", 1)])] == list(range(1, count))


@given(st.integers(1, 12))
def test_a_chain_of_undoing_alternates(length):
    """Undo, redo, undo: the last one decides."""
    chain = [(str(number + 1), str(number)) for number in range(length)]

    assert ("0" in undone_steps(chain)) == (length % 2 == 1)
