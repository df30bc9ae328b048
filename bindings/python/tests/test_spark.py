"""Rulings by Spark's ``mapInArrow`` with two workers: the same as in one process, however the rows are cut. Needs Java and
pyspark; without them it is passed over, and says so."""

import os
import shutil
import sys

import pyarrow.parquet as pq
import pytest
import wherefore

pyspark = pytest.importorskip("pyspark", reason="pyspark is not installed")
if shutil.which("java") is None:
    pytest.skip("Java is not installed", allow_module_level=True)

ROWS = int(os.environ.get("WHEREFORE_SPARK_ROWS", "20000"))


@pytest.fixture(scope="module")
def spark():
    from pyspark.sql import SparkSession

    os.environ["PYSPARK_PYTHON"] = sys.executable
    master = os.environ.get("WHEREFORE_SPARK_MASTER", "local[2]")
    session = (
        SparkSession.builder.master(master)
        .config("spark.ui.enabled", "false")
        .config("spark.sql.shuffle.partitions", "4")
        .config("spark.driver.host", "127.0.0.1")
        .config("spark.driver.bindAddress", "127.0.0.1")
        .getOrCreate()
    )
    yield session
    session.stop()


def test_spark_rules_as_one_process(spark, command, root, tmp_path):
    from wherefore import spark as helper

    records, mapping = tmp_path / "records.parquet", root / "examples/larkspur/invented.toml"
    command("audit", "--program", "us-model", "--invent", str(ROWS), "--seed", "11", "--out", str(records))
    # Here, in one process.
    alone = wherefore.batches(mapping, "us-model")(pq.read_table(records)).to_pandas()
    wanted = alone.groupby(["program", "class", "verdict", "difference"], dropna=False, observed=True).size()
    wanted = {tuple(None if part != part else part for part in key): count for key, count in wanted.items()}
    frame = spark.read.parquet(str(records))
    for cut in [frame, frame.repartition(7), frame.repartition(3, "record")]:
        judged = helper.judge(cut, mapping, "us-model")
        rows = helper.summary(judged).collect()
        found = {(row["program"], row["class"], row["verdict"], row["difference"]): row["records"] for row in rows}
        assert found == wanted
    # Row by row, by the record's own id.
    judged = {row["record"]: row for row in helper.judge(frame, mapping, "us-model").collect()}
    assert len(judged) == ROWS
    for row in alone.to_dict("records"):
        for name in ["verdict", "class", "possible", "deciding", "reason", "set_aside"]:
            want = row[name] if row[name] == row[name] else None
            assert judged[row["record"]][name] == want, (row["record"], name)


def test_a_fault_of_the_mapping_is_told_by_the_driver(spark):
    from wherefore import spark as helper

    frame = spark.createDataFrame([("2026-11-28",)], ["date"])
    with pytest.raises(wherefore.MappingError, match="no_such_fact"):
        helper.judge(frame, {"columns": {"date": "no_such_fact"}}, "us-model")
