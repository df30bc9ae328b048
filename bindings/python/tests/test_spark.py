"""Rulings by Spark's ``mapInArrow`` in a cluster of two workers on this machine: the same as by ``wherefore audit``, record by
record and count by count, however the rows are cut and whatever has to be done again."""

import json
import os
import shutil
import sys

import pyarrow.parquet as pq
import pytest
import wherefore
from spoiled import spoil

if os.environ.get("WHEREFORE_SPARK") == "no":
    pytest.skip("WHEREFORE_SPARK=no", allow_module_level=True)
pyspark = pytest.importorskip("pyspark", reason="pyspark is not installed")
if shutil.which("java") is None:
    pytest.skip("Java is not installed", allow_module_level=True)

ROWS = int(os.environ.get("WHEREFORE_SPARK_ROWS", "100000"))


@pytest.fixture(scope="module")
def spark():
    from pyspark.sql import SparkSession

    # The workers' interpreter: this one, which has the wheel.
    os.environ["PYSPARK_PYTHON"] = sys.executable
    os.environ["SPARK_LOCAL_IP"] = "127.0.0.1"
    master = os.environ.get("WHEREFORE_SPARK_MASTER", "local-cluster[2,1,1024]")
    session = (
        SparkSession.builder.master(master)
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.shuffle.partitions", "4")
        .config("spark.driver.host", "127.0.0.1")
        .config("spark.driver.bindAddress", "127.0.0.1")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    yield session
    session.stop()


@pytest.fixture(scope="module")
def audited(command, root, tmp_path_factory):
    """Invented records, their mapping, the audit's summary, and its outcome of each record by the record's own id."""
    folder = tmp_path_factory.mktemp("spark")
    whole, records, out = folder / "whole.parquet", folder / "records.parquet", folder / "out.jsonl"
    mapping = root / "examples/larkspur/invented.toml"
    command("audit", "--program", "us-model", "--invent", str(ROWS), "--seed", "11", "--out", str(whole))
    spoil(whole, records)
    asked = ["--mapping", str(mapping), "--program", "us-model", "--format", "json", "--out", str(out)]
    summary = json.loads(command("audit", *asked, str(records)))
    assert summary["read"] == ROWS and summary["set_aside"] > 0 and summary["recorded"]["differ"] > 0
    with open(out, encoding="utf-8") as lines:
        rows = {row["record"]: row for row in map(json.loads, lines)}
    return records, mapping, summary, rows


def wanted(summary):
    """The audit's counts as ``totals`` has them."""
    return {
        "read": summary["read"],
        "judged": summary["judged"],
        "set_aside": summary["set_aside"],
        "differ": summary["recorded"]["differ"],
        "on_weak_lines": summary["on_weak_lines"],
        "so_far_as_read": summary["so_far_as_read"],
        "classes": summary["classes"],
        "deciding": {(it["program"], it["clause"]): it["records"] for it in summary["deciding"]},
        "differences": {it["kind"]: it["records"] for it in summary["differences"]},
    }


def test_there_are_two_workers(spark):
    if not spark.sparkContext.master.startswith("local-cluster"):
        pytest.skip("asked for another master")

    def where(_):
        # Each worker's processes run in a folder of its own.
        yield os.getcwd()

    folders = spark.sparkContext.parallelize(range(16), 16).mapPartitions(where).distinct().collect()
    assert len(folders) == 2


@pytest.mark.parametrize("cut", ["as it lies", "seven", "by id", "one"])
def test_counts_are_the_audits(spark, audited, cut):
    from wherefore import spark as rulings

    records, mapping, summary, _ = audited
    frame = spark.read.parquet(str(records))
    frame = {
        "as it lies": lambda: frame,
        "seven": lambda: frame.repartition(7),
        "by id": lambda: frame.repartition(3, "record"),
        "one": lambda: frame.coalesce(1),
    }[cut]()
    assert rulings.totals(rulings.summary(rulings.judge(frame, mapping, "us-model"))) == wanted(summary)


def test_summaries_of_parts_merge(spark, audited):
    from wherefore import spark as rulings

    records, mapping, summary, _ = audited
    frame = spark.read.parquet(str(records))
    halves = frame.randomSplit([0.3, 0.7], seed=5)
    parts = [rulings.summary(rulings.judge(half, program="us-model", mapping=mapping)) for half in halves]
    assert rulings.totals(*parts) == rulings.totals(*reversed(parts)) == wanted(summary)


def test_every_record_is_the_audits(spark, audited):
    from wherefore import spark as rulings

    records, mapping, summary, rows = audited
    frame = spark.read.parquet(str(records)).repartition(5)
    judged = rulings.judge(frame, mapping, "us-model").collect()
    assert len(judged) == ROWS
    aside = 0
    for row in judged:
        want = rows.get(row["record"])
        if want is None:
            assert row["set_aside"] and row["verdict"] is None, row
            aside += 1
            continue
        for name in ["program", "verdict", "class", "recorded", "difference", "reason", "leans_on_weak", "so_far_as_read"]:
            assert row[name] == want[name], (row["record"], name)
        assert row["possible"].split() == want["possible"]
        assert row["deciding"].split() == want["deciding"]
        assert str(row["test_date"]) == want["test_date"]
    assert aside == summary["set_aside"] == ROWS - len(rows)


def test_a_task_that_is_done_again_changes_nothing(spark, audited, tmp_path):
    from wherefore import spark as rulings

    records, mapping, summary, _ = audited
    frame = spark.read.parquet(str(records)).repartition(4)
    fell = tmp_path / "fell"
    fell.mkdir()

    def falls(batches):
        """Every other task stops at its first try, with a batch already handed on."""
        from pyspark import TaskContext

        task = TaskContext.get()
        for number, batch in enumerate(batches):
            if number == 1 and task.attemptNumber() == 0 and task.partitionId() % 2 == 0:
                (fell / str(task.partitionId())).touch()
                raise RuntimeError("the worker is made to fall")
            yield batch

    judged = rulings.judge(frame.mapInArrow(falls, frame.schema), mapping, "us-model")
    assert rulings.totals(rulings.summary(judged)) == wanted(summary)
    assert len(list(fell.iterdir())) == 2


def test_rulings_are_those_of_one_process(spark, audited):
    from wherefore import spark as rulings

    records, mapping, _, _ = audited
    alone = rulings.plain(wherefore.batches(mapping, "us-model").batch(pq.read_table(records).to_batches()[0]))
    alone = {row["record"]: row for row in alone.to_pylist()}
    judged = rulings.judge(spark.read.parquet(str(records)).limit(1000), mapping, "us-model").collect()
    assert judged and all(row.asDict() == alone[row["record"]] for row in judged if row["record"] in alone)


def test_whole_rulings_are_those_expected(spark, cases):
    """Snapshot documents through the workers, which hand back whole rulings."""

    def ruled(batches):
        import pyarrow as pa

        for batch in batches:
            texts = []
            for row in batch.to_pylist():
                asked = json.loads(row["request"])
                take = asked.pop("takes", None)
                texts.append(wherefore.judge(row["snapshot"], row["program"], take=take, **asked).json())
            yield pa.RecordBatch.from_arrays([batch["place"], pa.array(texts)], names=["place", "ruling"])

    rows = [(at, it["program"], json.dumps(it["request"]), json.dumps(it["snapshot"])) for at, it in enumerate(cases)]
    frame = spark.createDataFrame(rows, "place int, program string, request string, snapshot string").repartition(4)
    found = {row["place"]: row["ruling"] for row in frame.mapInArrow(ruled, "place int, ruling string").collect()}
    assert len(found) == len(cases)
    for at, case in enumerate(cases):
        assert found[at] == case["ruling"], f"{case['program']}: {case['case']}"


def test_a_fault_of_the_mapping_is_told_by_the_driver(spark):
    from wherefore import spark as rulings

    frame = spark.createDataFrame([("2026-11-28",)], ["date"])
    with pytest.raises(wherefore.MappingError, match="no_such_fact"):
        rulings.judge(frame, {"columns": {"date": "no_such_fact"}}, "us-model")
