"""Python measured as the library itself is: ``python hosts.py SNAPSHOT MAPPING RECORDS`` prints nanoseconds, a name a line."""

import sys
import time
from pathlib import Path

import pyarrow as pa
import wherefore


def times(runs, work):
    taken = []
    for _ in range(runs):
        begun = time.perf_counter_ns()
        work()
        taken.append(time.perf_counter_ns() - begun)
    return sorted(taken)


text, mapping, file = Path(sys.argv[1]).read_text(), Path(sys.argv[2]), sys.argv[3]
with pa.OSFile(file) as opened:
    table = pa.ipc.open_file(opened).read_all()
(batch,) = table.to_batches()
program = wherefore.program("us-il")
judging = wherefore.batches(mapping, "us-model")
rows = batch.num_rows
print("ruling", times(300, lambda: program.judge(text).json())[150])
print("row", times(2000, lambda one=batch.slice(0, 1): judging.batch(one))[1000])
print("batch", times(20, lambda: judging.batch(batch))[0] // rows)
print("pyarrow", times(20, lambda: judging(table))[0] // rows)
try:
    import polars

    frame = polars.from_arrow(table)
    # What the frame costs to hand over, nothing judged: its stream of batches read to the end.
    print("polars alone", times(20, lambda: pa.RecordBatchReader.from_stream(frame).read_all())[0] // rows)
    print("polars", times(20, lambda: judging(frame))[0] // rows)
    # The arrays that it hands over, read beforehand: views in place of dictionaries. What the library takes for these kinds.
    held = pa.RecordBatchReader.from_stream(frame).read_all()
    print("polars held", times(20, lambda: judging(held))[0] // rows)
except ImportError:
    pass
try:
    import pandas

    other = table.to_pandas(types_mapper=pandas.ArrowDtype)
    print("pandas", times(20, lambda: judging(other))[0] // rows)
except ImportError:
    pass
try:
    import duckdb

    relation = duckdb.connect()
    relation.register("lent", table)
    read = lambda: pa.RecordBatchReader.from_stream(relation.sql("select * from lent")).read_all()
    print("duckdb alone", times(20, read)[0] // rows)
    # Plain texts in place of dictionaries.
    held = read()
    print("duckdb held", times(20, lambda: judging(held))[0] // rows)
    print("duckdb", times(20, lambda: judging(relation.sql("select * from lent")))[0] // rows)
except ImportError:
    pass
