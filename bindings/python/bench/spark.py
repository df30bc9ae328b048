"""Spark in a cluster of two workers on this machine against ``wherefore audit``: the same records, counted and compared to the
last one, and timed. ``python bench/spark.py [RECORDS]`` in an environment with the wheel, pyspark and duckdb.

WHEREFORE_BINARY is the command (built for release, as the wheel has to be). Times of the clock; the machine may be shared.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "bindings/python/tests"))
RECORDS = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000
BINARY = os.environ["WHEREFORE_BINARY"]
MAPPING = ROOT / "examples/larkspur/invented.toml"
MASTER = os.environ.get("WHEREFORE_SPARK_MASTER", "local-cluster[2,1,2048]")


def timed(name, work):
    begun = time.perf_counter()
    made = work()
    took = time.perf_counter() - begun
    print(f"{name}: {took:.1f} s, {RECORDS / took / 1e6:.2f} million records a second", flush=True)
    return made, took


def audit(*arguments):
    done = subprocess.run([BINARY, "audit", *arguments], capture_output=True, text=True, check=False)
    assert done.returncode != 2, done.stderr
    return done.stdout


def main(folder):
    import duckdb
    from pyspark.sql import SparkSession
    from spoiled import spoil
    from test_spark import wanted
    from wherefore import spark as rulings

    whole, records, out = (str(folder / name) for name in ["whole.parquet", "records.parquet", "out.parquet"])
    audit("--program", "us-model", "--invent", str(RECORDS), "--seed", "11", "--out", whole)
    spoil(whole, records)
    os.remove(whole)
    asked = ["--mapping", str(MAPPING), "--program", "us-model", "--skip-questions", "--threads", "2", "--format", "json"]
    text, alone = timed("audit, two threads, to the summary", lambda: audit(*asked, records))
    timed("audit, two threads, with outcomes written", lambda: audit(*asked, "--out", out, records))
    want = wanted(json.loads(text))
    assert want["read"] == RECORDS and want["set_aside"] > 0 and want["differ"] > 0

    os.environ["PYSPARK_PYTHON"] = sys.executable
    os.environ["SPARK_LOCAL_IP"] = "127.0.0.1"
    spark = (
        SparkSession.builder.master(MASTER)
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.executor.memory", "2048m")
        .config("spark.sql.shuffle.partitions", "4")
        .config("spark.driver.host", "127.0.0.1")
        .config("spark.driver.bindAddress", "127.0.0.1")
        .getOrCreate()
    )
    spark.sparkContext.setLogLevel("ERROR")
    frame = spark.read.parquet(records)
    mapping = MAPPING.read_text()
    rulings.totals(rulings.summary(rulings.judge(frame.limit(20_000), mapping, "us-model")))  # everything started
    columns = rulings._judging(json.dumps([mapping, "us-model", None, None, None])).columns

    def hands_over(batches):
        """The rulings of the first batch for each: what goes through the pipes is the same, and nothing is judged."""
        kept = None
        for batch in batches:
            if kept is None or kept.num_rows < batch.num_rows:
                judging = rulings._judging(json.dumps([mapping, "us-model", None, None, None]))
                kept = rulings.plain(judging.batch(batch))
            yield kept.slice(0, batch.num_rows)

    def over():
        handed = frame.select(*columns).mapInArrow(hands_over, rulings.SCHEMA)
        return rulings.totals(rulings.summary(handed))

    handed, without = timed("Spark, handing over alone, counted", over)
    assert handed["read"] == RECORDS
    found, whole = timed(
        "Spark, judged, counted", lambda: rulings.totals(rulings.summary(rulings.judge(frame, mapping, "us-model")))
    )
    assert found == want, (found, want)
    print(f"handing over is {without / whole:.0%} of it; {whole / alone:.1f} times the audit")

    fell = folder / "fell"
    fell.mkdir()

    def falls(batches):
        from pyspark import TaskContext

        task = TaskContext.get()
        for number, batch in enumerate(batches):
            if number == 5 and task.attemptNumber() == 0 and task.partitionId() % 3 == 0:
                (fell / str(task.partitionId())).touch()
                raise RuntimeError("the worker is made to fall")
            yield batch

    cut = frame.repartition(16)
    cut = cut.mapInArrow(falls, cut.schema)
    again, _ = timed(
        "Spark, in 16 other parts, 6 tasks made to fall, judged, counted",
        lambda: rulings.totals(rulings.summary(rulings.judge(cut, mapping, "us-model"))),
    )
    assert again == want and len(list(fell.iterdir())) == 6

    written = str(folder / "judged")
    judged = rulings.judge(frame, mapping, "us-model")
    timed("Spark, judged, written", lambda: judged.write.parquet(written))
    base = duckdb.connect()
    base.execute("set memory_limit = '4GB'")
    names = "record, program, test_date, verdict, class, possible, deciding, recorded, difference, reason"
    marks = ["leans_on_weak", "so_far_as_read"]
    ours = f"select {names}, {', '.join(marks)} from '{written}/*.parquet' where set_aside is null"
    theirs = f"select {names}, {', '.join(f'{mark} = $$yes$$ as {mark}' for mark in marks)} from '{out}'"
    for one, other in [(ours, theirs), (theirs, ours)]:
        (left,) = base.sql(f"select count(*) from (({one}) except all ({other}))").fetchall()[0]
        assert left == 0, f"{left} records differ"
    (aside,) = base.sql(f"select count(*) from '{written}/*.parquet' where set_aside is not null").fetchall()[0]
    assert aside == want["set_aside"]
    print(f"equal to the last record: {want['judged']} judged, {aside} set aside, {want['differ']} differ from what was recorded")
    spark.stop()


with tempfile.TemporaryDirectory() as place:
    main(Path(place))
