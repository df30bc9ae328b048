"""Rulings in a Spark cluster: batches go to ``mapInArrow``, each worker judges its own.

A row's ruling depends on the row and the program alone, so that partitions, retries and the order of rows change nothing.
"""

from __future__ import annotations

import functools
import json
import os
from collections import Counter

# What comes back, as Spark writes it; the columns of ``Batches``.
SCHEMA = (
    "record string, program string, test_date date, verdict string, class string, possible string, deciding string, "
    "recorded string, difference string, leans_on_weak boolean, reason string, so_far_as_read boolean, set_aside string"
)

# What summaries are counted by.
KEYS = [
    "program", "class", "verdict", "possible", "deciding", "recorded", "difference", "leans_on_weak", "so_far_as_read",
]  # fmt: skip


def judge(df, mapping, program=None, *, texts=None, known_on=None, take=None):
    """A data frame of rulings, a row for each row of ``df``.

    ``mapping`` is the dict, the text or the path of a mapping; a file is read here, on the driver, and its text goes to
    the workers. ``texts`` are program files by name where they are not the built-in ones. Workers read text alone:
    each reads the program once and keeps it.
    """
    if isinstance(mapping, os.PathLike):
        with open(mapping, encoding="utf-8") as file:
            mapping = file.read()
    asked = json.dumps([mapping, program, texts, known_on, take], default=str)
    # A fault of the mapping is told here, not by a task.
    columns = list(dict.fromkeys(_judging(asked).columns))

    def work(batches):
        judging = _judging(asked)
        for batch in batches:
            yield plain(judging.batch(batch))

    return df.select(*[df[f"`{name}`"] for name in columns]).mapInArrow(work, SCHEMA)


def summary(judged):
    """Counts of a data frame of rulings: by program, class, verdict, possible verdicts, deciding clauses, recorded result,
    difference and the two marks, and whether the rows were set aside.

    Counts are sums and keys are names, so that summaries of parts merge: ``totals`` takes any number of them, in any
    order.
    """
    from pyspark.sql import functions as F

    aside = F.col("set_aside").isNotNull().alias("set_aside")
    return judged.groupBy(*KEYS, aside).agg(F.count("*").alias("records"))


def totals(*summaries):
    """What ``wherefore audit --format json`` counts, under its keys, of one summary or of several of parts.

    ``read``, ``judged``, ``set_aside``; ``classes``; ``deciding`` (records by program and clause); ``differences``
    (records by kind) with ``differ``, their sum; ``on_weak_lines`` and ``so_far_as_read``.
    """
    counts = Counter()
    classes, deciding, differences = Counter(), Counter(), Counter()
    for part in summaries:
        for row in part.collect():
            records = row["records"]
            counts["read"] += records
            if row["set_aside"]:
                counts["set_aside"] += records
                continue
            counts["judged"] += records
            classes[row["class"]] += records
            for clause in row["deciding"].split():
                deciding[row["program"], clause] += records
            if row["difference"] is not None:
                counts["differ"] += records
                differences[row["difference"]] += records
            counts["on_weak_lines"] += records * row["leans_on_weak"]
            counts["so_far_as_read"] += records * row["so_far_as_read"]
    names = ["read", "judged", "set_aside", "differ", "on_weak_lines", "so_far_as_read"]
    whole = {name: counts[name] for name in names}
    return whole | {"classes": dict(classes), "deciding": dict(deciding), "differences": dict(differences)}


@functools.lru_cache(maxsize=8)
def _judging(asked):
    """What judges, made of text and kept for as long as the process lives."""
    from wherefore import Programs

    mapping, program, texts, known_on, take = json.loads(asked)
    return Programs(texts).batches(mapping, program, known_on=known_on, take=take)


def plain(batch):
    """The batch with its dictionaries of texts as texts, which is what Spark takes."""
    import pyarrow as pa

    columns = [
        column.dictionary_decode() if pa.types.is_dictionary(column.type) else column for column in batch.columns
    ]
    return pa.RecordBatch.from_arrays(columns, names=batch.schema.names)
