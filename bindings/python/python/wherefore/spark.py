"""Rulings in a Spark cluster: batches go to ``mapInArrow``, each worker judges its own.

A row's ruling depends on the row and the program alone, so that partitions, retries and the order of rows change nothing.
"""

from __future__ import annotations

import os

# What comes back, as Spark writes it; the columns of ``Batches``.
SCHEMA = (
    "record string, program string, test_date date, verdict string, class string, possible string, deciding string, "
    "recorded string, difference string, leans_on_weak boolean, reason string, so_far_as_read boolean, set_aside string"
)


def judge(df, mapping, program=None, *, texts=None, known_on=None, take=None):
    """A data frame of rulings, a row for each row of ``df``.

    ``mapping`` is the dict, the text or the path of a mapping; a file is read here, on the driver, and its text goes to
    the workers. ``texts`` are program files by name where they are not the built-in ones.
    """
    if isinstance(mapping, os.PathLike):
        with open(mapping, encoding="utf-8") as file:
            mapping = file.read()
    asked = {"known_on": known_on, "take": take}
    # A fault of the mapping is told here, not by a task.
    columns = _batches(mapping, program, texts, asked).columns
    columns = list(dict.fromkeys(columns))

    def work(batches):
        judging = _batches(mapping, program, texts, asked)
        for batch in batches:
            yield plain(judging.batch(batch))

    return df.select(*[df[f"`{name}`"] for name in columns]).mapInArrow(work, SCHEMA)


def summary(judged):
    """Counts of a data frame of rulings by program, class, verdict and difference; rows set aside have no class.

    Counts are sums, so that summaries of parts add up to that of the whole.
    """
    from pyspark.sql import functions as F

    return judged.groupBy("program", "class", "verdict", "difference").agg(F.count("*").alias("records"))


def _batches(mapping, program, texts, asked):
    from wherefore import Programs

    return Programs(texts).batches(mapping, program, **asked)


def plain(batch):
    """The batch with its dictionaries of texts as texts, which is what Spark takes."""
    import pyarrow as pa

    columns = [
        column.dictionary_decode() if pa.types.is_dictionary(column.type) else column for column in batch.columns
    ]
    return pa.RecordBatch.from_arrays(columns, names=batch.schema.names)
