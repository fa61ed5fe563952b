"""Lineage both ways, against networkx; quarantine, recall, generations."""

from __future__ import annotations

from collections import Counter

import networkx
import numpy as np
import pytest
from sqlalchemy import insert, select

from spawnwright.errors import UnknownName
from spawnwright.records.book.codes import code_of
from spawnwright.records.book.steps import Entry
from spawnwright.store.book import lineage, tables
from spawnwright.store.book.journal import keep
from tests.store.book.entering import START, at, change, enter, fresh, jar, step


def ids(relatives):
    return {each.id for each in relatives}


def fill_at_random(book, seed: int) -> networkx.DiGraph:
    """A random history of cultures, jars inoculated from them or from each other, and blocks.

    Returns the same lineage as a graph of networkx.
    """
    dice = np.random.default_rng(seed)
    graph = networkx.DiGraph()
    entries, jars, cultures = [], [], []

    def add(kind: str, **fields) -> str:
        record = fresh(kind)
        entries.append(Entry(record, kind, fields))
        graph.add_node(record)
        return record

    for _ in range(3):
        cultures.append(add("culture", name="c", form="syringe"))
    batches = [add("grain batch", made_at=at(), grain="rye") for _ in range(3)]
    runs = [add("sterilizer run", started_at=at(), purpose="sterilize") for _ in range(3)]
    for number in range(60):
        batch, run = (str(dice.choice(each)) for each in (batches, runs))
        code = code_of(10_000 + number)
        record = add("jar", code=code, jar_kind="quart", filled_at=at(), grain_batch=batch)
        graph.add_edge(batch, record)
        add("load", run=run, jar=record)
        graph.add_edge(run, record)
        for _ in range(int(dice.integers(0, 3))):
            if jars and dice.random() < 0.6:
                source = {"from_jar": str(dice.choice(jars))}
            else:
                source = {"culture": str(dice.choice(cultures))}
            add("inoculation", jar=record, at=at(), **source)
            graph.add_edge(next(iter(source.values())), record)
        jars.append(record)
    for _ in range(10):
        block = add("block", name="b", container="block", made_at=at())
        for used in dice.choice(jars, 2, replace=False):
            add("use", jar=str(used), block=block, at=at())
            graph.add_edge(str(used), block)
    keep(book, step(*entries), START)
    return graph


@pytest.mark.parametrize("seed", range(4))
def test_both_ways_agree_with_networkx_on_random_trees(book, seed):
    """An independent program walks the same links from every record that has any."""
    graph = fill_at_random(book, seed)
    records = [node for node in graph if graph.degree(node)]

    with book.read() as connection:
        for record in records[:: 1 if book.is_sqlite else 7]:
            below = lineage.descendants(connection, [record])
            above = lineage.ancestors(connection, [record])
            far = networkx.single_source_shortest_path_length(graph, record)

            assert ids(below) == networkx.descendants(graph, record)
            assert ids(above) == networkx.ancestors(graph, record)
            assert {each.id: each.steps for each in below} == {
                node: steps for node, steps in far.items() if node != record
            }


def test_a_circle_of_jars_ends(book):
    """Two entries may be wrong together; a walk still comes to an end."""
    one, two = jar(book), jar(book)
    enter(book, "inoculation", jar=two, at=at(), from_jar=one)
    enter(book, "inoculation", jar=one, at=at(), from_jar=two)

    with book.read() as connection:
        assert ids(lineage.descendants(connection, [one])) == {two}
        assert set(lineage.generations(connection, [one, two])) == {one, two}


def test_an_undone_or_corrected_link_no_longer_counts(book):
    """The syringe was another one: what descends from the first follows."""
    first, second = (enter(book, "culture", name=name, form="syringe") for name in "ab")
    record = jar(book)
    inoculation = enter(book, "inoculation", jar=record, at=at(), culture=first)

    change(book, "inoculation", inoculation, culture=second)

    with book.read() as connection:
        assert ids(lineage.descendants(connection, [first])) == set()
        assert ids(lineage.descendants(connection, [second])) == {record}


def test_a_quarantine_is_over_all_that_descends_also_what_comes_later(book):
    """A doubtful syringe marks its jars and jars made from those; lifting it frees them."""
    syringe = enter(book, "culture", name="a", form="syringe")
    first, second, other = jar(book), jar(book), jar(book)
    enter(book, "inoculation", jar=first, at=at(), culture=syringe)
    doubt = enter(book, "quarantine", record=syringe, at=at(), why="cloudy")
    enter(book, "inoculation", jar=second, at=at(), from_jar=first)

    with book.read() as connection:
        over = lineage.quarantines_over(connection, [syringe, first, second, other])
    assert over == {syringe: [doubt], first: [doubt], second: [doubt]}

    change(book, "quarantine", doubt, lifted_at=at(60), lifted_why="test clean")
    with book.read() as connection:
        assert lineage.quarantines_over(connection, [syringe, first, second]) == {}


def test_generations_follow_from_the_links(book):
    """G1 from liquid culture, one more from each jar to the next."""
    syringe = enter(book, "culture", name="a", form="syringe")
    jars = [jar(book) for _ in range(4)]
    enter(book, "inoculation", jar=jars[0], at=at(), culture=syringe)
    enter(book, "inoculation", jar=jars[1], at=at(), from_jar=jars[0])
    enter(book, "inoculation", jar=jars[2], at=at(), from_jar=jars[1])

    with book.read() as connection:
        assert lineage.generations(connection, jars) == dict(zip(jars, (1, 2, 3, 0), strict=True))


def test_a_spoiled_jar_in_a_run_of_its_own_does_not_come_from_that_run(book):
    """Killing it is no origin."""
    record = jar(book)
    run = enter(book, "sterilizer run", started_at=at(), purpose="spoiled jars")
    enter(book, "load", run=run, spoiled_jar=record)

    with book.read() as connection:
        assert lineage.ancestors(connection, [record]) == []


def test_a_record_that_is_not_there_is_said_to_be_unknown(book):
    with pytest.raises(UnknownName, match="no-such-jar"), book.read() as connection:
        lineage.descendants(connection, ["no-such-jar"])


def test_a_tree_of_a_hundred_thousand_is_walked_whole(file_book):
    """Every one of them is found, in as many questions as there are generations."""
    count, dice = 100_000, np.random.default_rng(5)
    above = np.concatenate([[0], (np.arange(1, count) * dice.random(count - 1)).astype(int)])
    links = [{"parent": int(p) + 1, "child": n + 1, "via": n + 1} for n, p in enumerate(above) if n]
    with file_book.write() as connection:
        connection.execute(insert(tables.LINKS), links)
    with file_book.read() as connection:
        reached = lineage.walk(connection, [1], "down")

    depth = np.zeros(count, int)
    for number in range(1, count):
        depth[number] = depth[above[number]] + 1
    assert len(reached) == count
    assert all(reached[number + 1] == depth[number] for number in range(count))


@pytest.mark.parametrize("seed", [5, 6])
def test_quarantines_over_many_records_agree_with_networkx(book, seed):
    """Three doubts somewhere in a random history, asked for all records at once."""
    graph = fill_at_random(book, seed)
    nodes = sorted(graph.nodes)
    dice = np.random.default_rng(seed)
    bad = [str(each) for each in dice.choice(nodes, 3, replace=False)]
    doubts = {enter(book, "quarantine", record=each, at=at(), why="?"): each for each in bad}

    with book.read() as connection:
        over = lineage.quarantines_over(connection, nodes)

    expected = {
        node: sorted(q for q, root in doubts.items() if node == root or nx_leads(graph, root, node))
        for node in nodes
    }
    assert over == {node: found for node, found in expected.items() if found}


def nx_leads(graph, above, below):
    return networkx.has_path(graph, above, below)


@pytest.mark.parametrize("few", [0, 2000])
def test_what_a_recall_counts_agrees_with_networkx_in_both_ways_of_asking(book, monkeypatch, few):
    """Few records are looked up one by one; of many, the kinds are asked."""
    graph = fill_at_random(book, 7)
    monkeypatch.setattr(lineage, "FEW", few)
    gone = sorted(each for each in graph if each.startswith("jar"))[::3]
    for place, record in enumerate(gone):
        outcome = ("used", "given away")[place % 2]
        change(book, "jar", record, outcome=outcome, outcome_at=at(9))

    with book.read() as connection:
        rows = {row.id: row for row in connection.execute(select(tables.JARS))}
        for root in sorted(graph)[::7]:
            below = networkx.descendants(graph, root)
            reached = lineage.below(connection, root)
            kinds = Counter(each.rsplit("-", 1)[0].replace("-", " ") for each in below)
            jars = [rows[each] for each in below if each in rows]
            wanted = {row.code for row in jars if row.outcome in (None, "given away")}

            assert lineage.kinds_among(connection, reached) == dict(sorted(kinds.items()))
            listed = lineage.jars_among(connection, reached, [None, "given away"])
            assert {each["code"] for each in listed} == wanted
            assert len(listed) == len(wanted)
            outcomes = [each["outcome"] for each in listed]
            assert outcomes == sorted(outcomes, key=lambda each: each is not None)
            assert {each["code"] for each in lineage.jars_among(connection, reached)} == {
                row.code for row in jars
            }
            assert set(lineage.blocks_among(connection, reached)) == {
                each for each in below if each.startswith("block")
            }
            named, count = lineage.nearest(connection, root, "down", 10)
            assert count == len(below)
            assert ids(named) <= below
            assert len(named) == min(10, count)
