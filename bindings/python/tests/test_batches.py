"""Many records: batches of four libraries in, rulings out, each the command line's on the same records."""

import json
import subprocess
import sys
import threading
import time
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import wherefore
from spoiled import spoil

ROWS = 20_000


@pytest.fixture(scope="session")
def invented(command, root, tmp_path_factory):
    """Invented records as Parquet, their mapping, and what the command line makes of them."""
    folder = tmp_path_factory.mktemp("records")
    whole, records, out = folder / "whole.parquet", folder / "records.parquet", folder / "out.jsonl"
    mapping = root / "examples/larkspur/invented.toml"
    command("audit", "--program", "us-model", "--invent", str(ROWS), "--seed", "7", "--out", str(whole))
    spoil(whole, records)
    command("audit", "--mapping", str(mapping), "--program", "us-model", "--out", str(out), str(records))
    wanted = {}
    for line in out.read_text().splitlines():
        row = json.loads(line)
        wanted[row["row"] - 1] = row
    assert 0 < len(wanted) < ROWS
    return pq.read_table(records), mapping, wanted


def check(judged, wanted):
    assert judged.num_rows == ROWS
    rows = judged.to_pylist()
    for place, row in enumerate(rows):
        want = wanted.get(place)
        if want is None:
            assert row["set_aside"] and row["verdict"] is None, row
            continue
        assert row["set_aside"] is None
        for name in ["verdict", "class", "program", "recorded", "difference", "reason", "leans_on_weak", "so_far_as_read"]:
            assert row[name] == want[name], (place, name)
        assert row["possible"].split() == want["possible"]
        assert row["deciding"].split() == want["deciding"]
        assert str(row["test_date"]) == want["test_date"]


def test_pyarrow(invented):
    table, mapping, wanted = invented
    judging = wherefore.batches(mapping, "us-model")
    check(judging(table), wanted)
    # As batches of any size, sliced at odd places, the last one empty.
    parts = [judging.batch(part) for part in table.combine_chunks().to_batches(max_chunksize=777)]
    check(pa.Table.from_batches(parts).unify_dictionaries(), wanted)
    assert judging.batch(table.slice(5, 0).to_batches()[0] if table.slice(5, 0).to_batches() else
                         pa.RecordBatch.from_pylist([], table.schema)).num_rows == 0
    check(pa.Table.from_batches(judging.stream(table)).unify_dictionaries(), wanted)


def test_polars(invented):
    polars = pytest.importorskip("polars")
    table, mapping, wanted = invented
    check(wherefore.batches(mapping, "us-model")(polars.from_arrow(table)), wanted)


def test_pandas(invented):
    pandas = pytest.importorskip("pandas")
    table, mapping, wanted = invented
    frame = table.to_pandas(types_mapper=pandas.ArrowDtype)
    check(wherefore.batches(mapping, "us-model")(frame), wanted)


def test_duckdb(invented):
    duckdb = pytest.importorskip("duckdb")
    table, mapping, wanted = invented
    relation = duckdb.connect().from_arrow(table)
    check(wherefore.batches(mapping, "us-model")(relation), wanted)


def test_threads_share_it(invented):
    table, mapping, wanted = invented
    judging = wherefore.batches(mapping, "us-model")
    made = [None] * 3

    def work(place):
        made[place] = judging(table)

    threads = [threading.Thread(target=work, args=(place,)) for place in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for judged in made:
        check(judged, wanted)


def test_the_interpreter_is_free_while_records_are_judged(invented):
    table, mapping, _ = invented
    judging = wherefore.batches(mapping, "us-model")
    (batch,) = pa.concat_tables([table] * 5).combine_chunks().to_batches()
    judging.batch(batch.slice(0, 10))
    ticks, is_done = [], threading.Event()

    def tick():
        while not is_done.wait(0.0005):
            ticks.append(time.perf_counter())

    thread = threading.Thread(target=tick)
    thread.start()
    begun = time.perf_counter()
    judging.batch(batch)
    ended = time.perf_counter()
    is_done.set()
    thread.join()
    within = sum(begun + (ended - begun) * 0.1 < at < ended - (ended - begun) * 0.1 for at in ticks)
    assert within >= 3, f"{within} ticks in {ended - begun:.3f} s"


def test_what_makes_the_batches_may_need_the_interpreter(invented):
    duckdb = pytest.importorskip("duckdb")
    table, mapping, wanted = invented
    base = duckdb.connect()
    base.execute("set threads = 2")

    def same(years):
        return years

    base.create_function("same", same, ["INTEGER"], "INTEGER", type="arrow")
    base.register("lent", table)
    relation = base.sql("select * replace (same(model_year) as model_year) from lent")
    check(wherefore.batches(mapping, "us-model")(relation), wanted)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is told by /proc")
def test_a_slice_of_a_large_batch_takes_no_copy_of_it(root):
    """In a process of its own: the most memory it ever had does not grow by what the large batch holds."""
    program = """
import re, sys
import pyarrow as pa, wherefore

def most():
    return int(re.search(r"VmHWM:\\s+(\\d+) kB", open("/proc/self/status").read())[1])

rows = 16_000_000
year = pa.repeat(pa.scalar(2016, pa.int32()), rows)
date = pa.repeat(pa.scalar(20785, pa.int32()), rows).view(pa.date32())
batch = pa.RecordBatch.from_arrays([date, year], names=["date", "year"])
judging = wherefore.batches({"columns": {"date": "visit.date", "year": "vehicle.model_year"}}, "us-model")
judging.batch(batch.slice(0, 5000))
before = most()
made = [judging.batch(batch.slice(at, 5000)).num_rows for at in range(1000, rows, rows // 4)]
assert made == [5000] * 4, made
print(most() - before, batch.nbytes // 1024)
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    grown, size = map(int, done.stdout.split())
    assert size > 100_000 and grown < size // 5, (grown, size)


CAR = {"date": ["2026-11-28", "2026-11-28", "soon"], "year": [2016, 1899, 2016], "lamp": ["Y", "N", "N"]}
COLUMNS = {"columns": {"date": "visit.date", "year": "vehicle.model_year",
                       "lamp": {"fact": "lamp.commanded", "words": {"Y": "yes", "N": "no"}}}}


def test_a_mapping_may_be_a_dict_and_rows_are_set_aside_with_why():
    judged = wherefore.batches(COLUMNS, "us-model")(pa.table(CAR)).to_pylist()
    assert judged[0]["set_aside"] is None and judged[0]["verdict"]
    assert "1899" in judged[1]["set_aside"] and "year" in judged[1]["set_aside"]
    assert "soon" in judged[2]["set_aside"] and judged[2]["verdict"] is None


def test_a_single_row_is_what_judge_says():
    row = wherefore.batches(COLUMNS, "us-model")(pa.table({name: values[:1] for name, values in CAR.items()}))
    alone = wherefore.judge(
        {"visit": {"date": "2026-11-28"}, "vehicle": {"model_year": 2016}, "lamp": {"commanded": True}}, "us-model"
    )
    assert row.to_pylist()[0]["possible"].split() == [verdict.name for verdict in alone.possible]


@pytest.mark.parametrize(
    "mapping, what",
    [
        ({"columns": {"jear": "vehicle.model_year", "date": "visit.date"}}, "jear"),
        ({"columns": {"year": "vehicle.model_jear"}}, "model_jear"),
        ({"columns": {"year": "vehicle.model_year"}}, "visit.date"),
        ("no = toml = at all", "TOML"),
    ],
)
def test_faults_of_a_mapping(mapping, what):
    with pytest.raises(wherefore.MappingError, match=what):
        wherefore.batches(mapping, "us-model")(pa.table(CAR))


def test_types_that_no_mapping_reads():
    with pytest.raises(wherefore.MappingError, match="number is expected"):
        wherefore.batches(COLUMNS, "us-model")(pa.table(CAR | {"year": [True, False, True]}))


def test_what_is_no_table():
    with pytest.raises(TypeError):
        wherefore.batches(COLUMNS, "us-model")([1, 2, 3])
